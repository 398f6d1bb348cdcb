//! The emulator as a process: started, spoken to over its standard streams, watched so that a mute board cannot hang us.

use std::io::{Read, Write};
use std::process::{Child, ChildStderr, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

use valvewright_core::port::link::{Receiver, Up};

use super::spec::{BoardError, BoardSpec, Line, MUTE, Parting};

const LOOK_EVERY: Duration = Duration::from_millis(250);

/// Counts what the watcher needs to know.
#[derive(Debug, Default)]
struct Pulse {
    /// Odd while somebody waits for the board; grows with every wait.
    waits: AtomicU64,
}

/// The process and its streams.
#[derive(Debug)]
pub struct Emulator {
    child: Arc<Mutex<Child>>,
    to: Option<ChildStdin>,
    from: ChildStdout,
    errors: Option<ChildStderr>,
    receiver: Receiver,
    buffer: Box<[u8]>,
    /// Bytes of the buffer that were not looked at yet.
    fresh: std::ops::Range<usize>,
    pulse: Arc<Pulse>,
}

fn locked(child: &Mutex<Child>) -> MutexGuard<'_, Child> {
    child.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Stops the process when a wait lasts too long; ends with the last other holder of the pulse.
fn watch(child: &Arc<Mutex<Child>>, pulse: &Arc<Pulse>) {
    let (child, pulse) = (Arc::clone(child), Arc::downgrade(pulse));
    std::thread::spawn(move || {
        let (mut seen, mut still) = (0, Duration::ZERO);
        loop {
            std::thread::sleep(LOOK_EVERY);
            let Some(waits) = pulse.upgrade().map(|pulse| pulse.waits.load(Ordering::Relaxed)) else { return };
            still = if waits == seen && waits % 2 == 1 { still + LOOK_EVERY } else { Duration::ZERO };
            seen = waits;
            if still >= MUTE {
                // Gone already is as good.
                let _gone = locked(&child).kill();
                return;
            }
        }
    });
}

impl Emulator {
    /// Starts it with the image of `spec`.
    pub fn start(spec: &BoardSpec) -> Result<Self, BoardError> {
        let mut command = Command::new("qemu-system-arm");
        command.args(["-M", "mps2-an386", "-display", "none", "-monitor", "none"]);
        command.args(["-semihosting-config", "enable=on,target=native"]);
        command.args(["-serial", if spec.line == Line::Uart { "stdio" } else { "none" }]);
        if spec.count {
            command.args(["-icount", "shift=10,sleep=off"]);
        }
        command.arg("-kernel").arg(&spec.firmware);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().map_err(BoardError::NoEmulator)?;
        let missing = || BoardError::NoEmulator(std::io::Error::other("no stream to it"));
        let (to, errors) = (child.stdin.take(), child.stderr.take());
        let from = child.stdout.take().ok_or_else(missing)?;
        let child = Arc::new(Mutex::new(child));
        let pulse = Arc::new(Pulse::default());
        watch(&child, &pulse);
        let buffer = vec![0; 1 << 14].into_boxed_slice();
        Ok(Self { child, to, from, errors, receiver: Receiver::new(), buffer, fresh: 0..0, pulse })
    }

    /// Sends bytes as they are.
    pub fn send(&mut self, bytes: &[u8]) -> Result<(), BoardError> {
        let sent = self.to.as_mut().is_some_and(|to| to.write_all(bytes).and_then(|()| to.flush()).is_ok());
        if sent { Ok(()) } else { Err(self.gone()) }
    }

    /// The end that sends, for another thread.
    pub fn sender(&mut self) -> Option<ChildStdin> {
        self.to.take()
    }

    /// Gives the end that sends back.
    pub fn give_back(&mut self, to: ChildStdin) {
        self.to = Some(to);
    }

    /// Waits for the next packet.
    pub fn receive(&mut self) -> Result<(u32, Up), BoardError> {
        loop {
            for at in self.fresh.by_ref() {
                match self.receiver.feed(self.buffer[at]) {
                    None => {}
                    Some(Ok(packet)) => return Ok(packet),
                    Some(Err(_)) => return Err(BoardError::Garbled("what is no packet".to_owned())),
                }
            }
            self.pulse.waits.fetch_add(1, Ordering::Relaxed);
            let got = self.from.read(&mut self.buffer);
            self.pulse.waits.fetch_add(1, Ordering::Relaxed);
            match got {
                Ok(0) | Err(_) => return Err(self.gone()),
                Ok(count) => self.fresh = 0..count,
            }
        }
    }

    /// Pulls the plug: the board's side of the line sees its end.
    pub fn unplug(&mut self) {
        self.to = None;
    }

    /// Stops it at once.
    pub fn stop(&mut self) {
        // Gone already is as good.
        let _gone = locked(&self.child).kill();
    }

    fn gone(&mut self) -> BoardError {
        let parting = self.leave();
        // Stopped by the watcher: a signal, so no code.
        if parting.code.is_none() { BoardError::Mute } else { BoardError::Gone(parting.code, parting.said) }
    }

    /// Waits for the board to leave, and hears its last words. Our end stays open until its end is reached, because bytes
    /// on their way through the emulator are dropped when we hang up first.
    pub fn leave(&mut self) -> Parting {
        self.pulse.waits.fetch_add(1, Ordering::Relaxed);
        let mut rest = Vec::new();
        let _unread = self.from.read_to_end(&mut rest);
        self.to = None;
        let mut said = String::new();
        if let Some(mut errors) = self.errors.take() {
            let _unreadable = errors.read_to_string(&mut said);
        }
        let code = locked(&self.child).wait().ok().and_then(|status| status.code());
        self.pulse.waits.fetch_add(1, Ordering::Relaxed);
        Parting { code, said: said.trim().to_owned() }
    }
}

impl Drop for Emulator {
    fn drop(&mut self) {
        let mut child = locked(&self.child);
        let _gone = child.kill();
        let _reaped = child.wait();
    }
}
