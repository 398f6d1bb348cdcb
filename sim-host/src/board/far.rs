//! The far end of a line, a program or a serial port: bytes to it, bytes from it, and no wait without a limit.
//!
//! A thread reads and hands over through a channel of a few pieces. A far end that floods is held back by it, so memory stays small.

use std::io::{ErrorKind, Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TryRecvError, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::fault::{Ending, Fault};
use super::spec::{BoardError, Port};

/// Pieces that wait in the channel, and bytes of one.
const PIECES: usize = 8;
const PIECE: usize = 4_096;
/// Packets that a program may leave unread beyond what its pipe holds.
const UNREAD: usize = 64;
/// How much of a program's standard error is kept for the reason of its end.
const KEPT: usize = 2_048;
/// How long a program that shut its output or heard `Bye` may take to leave.
const PARTING: Duration = Duration::from_millis(500);
/// How often a reader of a serial port looks whether it is still wanted, and how long a packet may take to be written.
const LOOK: Duration = Duration::from_millis(100);
const WRITE: Duration = Duration::from_secs(2);

/// A piece of what came, or its end and why.
enum Piece {
    Bytes(Vec<u8>),
    End(String),
}

/// What is at the far end.
enum Kind {
    Program { child: Child, said: Arc<Mutex<Tail>>, heard: Receiver<()> },
    Port(String),
}

/// The last bytes of a stream.
#[derive(Default)]
struct Tail(Vec<u8>);

impl Tail {
    fn push(&mut self, bytes: &[u8]) {
        self.0.extend_from_slice(bytes);
        let over = self.0.len().saturating_sub(KEPT);
        self.0.drain(..over);
    }

    /// The last lines on one.
    fn words(&self) -> String {
        let text = String::from_utf8_lossy(&self.0);
        let lines: Vec<_> = text.lines().map(str::trim_end).filter(|line| !line.trim().is_empty()).collect();
        lines.join(" | ")
    }
}

/// The far end of a line.
pub struct FarEnd {
    to: Option<Box<dyn Write + Send>>,
    from: Receiver<Piece>,
    kind: Kind,
    stop: Arc<AtomicBool>,
    /// Why nothing comes any more, once that is known.
    ended: Option<Fault>,
}

impl std::fmt::Debug for FarEnd {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("FarEnd").field("ended", &self.ended).finish_non_exhaustive()
    }
}

/// Writes to a program that may not read: what it does not take waits in a channel, and a full one is an error instead of a wait.
struct Patient(SyncSender<Vec<u8>>);

impl Patient {
    fn new(mut to: impl Write + Send + 'static) -> Self {
        let (tell, hear) = sync_channel::<Vec<u8>>(UNREAD);
        std::thread::spawn(move || {
            // A program that has gone is told by its other streams.
            while let Ok(bytes) = hear.recv()
                && to.write_all(&bytes).and_then(|()| to.flush()).is_ok()
            {}
        });
        Self(tell)
    }
}

impl Write for Patient {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        match self.0.try_send(bytes.to_vec()) {
            Ok(()) => Ok(bytes.len()),
            Err(TrySendError::Full(_)) => Err(std::io::Error::other("it does not read what is sent to it")),
            Err(TrySendError::Disconnected(_)) => Err(ErrorKind::BrokenPipe.into()),
        }
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Reads to the end, to an error, or until nobody wants it any more.
fn read_all(mut from: impl Read, to: &SyncSender<Piece>, stop: &AtomicBool) {
    let mut buffer = vec![0; PIECE];
    let why = loop {
        match from.read(&mut buffer) {
            Ok(0) => break "it was closed".to_owned(),
            Ok(count) => {
                if to.send(Piece::Bytes(buffer[..count].to_vec())).is_err() {
                    return;
                }
            }
            Err(why) if matches!(why.kind(), ErrorKind::TimedOut | ErrorKind::Interrupted | ErrorKind::WouldBlock) => {}
            Err(why) => break why.to_string(),
        }
        if stop.load(Ordering::Relaxed) {
            return;
        }
    };
    // Nobody hears it when the other end of the channel has gone.
    let _unheard = to.send(Piece::End(why));
}

impl FarEnd {
    /// Starts a program; its standard streams are the line.
    ///
    /// # Errors
    /// The command cannot be split into words, names nothing, or cannot be started.
    pub fn program(command: &str) -> Result<Self, BoardError> {
        let no = |why: String| BoardError::NoProgram { command: command.to_owned(), why };
        let words =
            shlex::split(command).ok_or_else(|| no("a quote is not closed, or it ends in a backslash".to_owned()))?;
        let (first, rest) = words.split_first().ok_or_else(|| no("it names no program".to_owned()))?;
        let mut start = Command::new(first);
        start.args(rest).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        // An interrupt at the terminal is for us; the program hears `Bye`.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut start, 0);
        let mut child = start.spawn().map_err(|why| no(why.to_string()))?;
        let streams = (child.stdin.take(), child.stdout.take(), child.stderr.take());
        let (Some(to), Some(from), Some(mut errors)) = streams else { return Err(no("it has no streams".to_owned())) };
        let (said, (tell, heard)) = (Arc::new(Mutex::new(Tail::default())), sync_channel(1));
        let tail = Arc::clone(&said);
        std::thread::spawn(move || {
            let mut buffer = [0; 512];
            while let Ok(count @ 1..) = errors.read(&mut buffer) {
                tail.lock().unwrap_or_else(PoisonError::into_inner).push(&buffer[..count]);
            }
            // Nobody waits for it when the program is not asked for its last words.
            let _unheard = tell.send(());
        });
        Ok(Self::new(Box::new(Patient::new(to)), from, Kind::Program { child, said, heard }))
    }

    /// Opens a serial port.
    ///
    /// # Errors
    /// It is not there, in use, not allowed, or no serial port.
    pub fn port(port: &Port) -> Result<Self, BoardError> {
        let no = |why: serialport::Error| BoardError::NoPort { path: port.path.clone(), why: why.to_string() };
        let mut to = serialport::new(&port.path, port.baud).timeout(WRITE).open().map_err(no)?;
        let mut from = to.try_clone().map_err(no)?;
        from.set_timeout(LOOK).map_err(no)?;
        to.set_timeout(WRITE).map_err(no)?;
        // What a board said before it was spoken to is of no use; where it cannot be dropped, it is passed over later.
        let _kept = to.clear(serialport::ClearBuffer::Input);
        Ok(Self::new(Box::new(to), from, Kind::Port(port.path.clone())))
    }

    fn new(to: Box<dyn Write + Send>, from: impl Read + Send + 'static, kind: Kind) -> Self {
        let (stop, (tell, hear)) = (Arc::new(AtomicBool::new(false)), sync_channel(PIECES));
        let wanted = Arc::clone(&stop);
        std::thread::spawn(move || read_all(from, &tell, &wanted));
        Self { to: Some(to), from: hear, kind, stop, ended: None }
    }

    /// How it is joined, as in [`crate::controller::Who::joined`].
    pub const fn joined(&self) -> &'static str {
        match self.kind {
            Kind::Program { .. } => "program",
            Kind::Port(_) => "serial",
        }
    }

    /// Whether bytes can get lost or changed on the way.
    pub const fn may_lose(&self) -> bool {
        matches!(self.kind, Kind::Port(_))
    }

    /// Sends bytes.
    ///
    /// # Errors
    /// The far end has gone.
    pub fn send(&mut self, bytes: &[u8]) -> Result<(), Fault> {
        let sent = self.to.as_mut().map(|to| to.write_all(bytes).and_then(|()| to.flush()));
        match sent {
            Some(Ok(())) => Ok(()),
            Some(Err(why)) => Err(self.gone(&why.to_string())),
            None => Err(self.gone("it was closed")),
        }
    }

    /// What comes next, or `None` where nothing came until then.
    ///
    /// # Errors
    /// The far end has gone.
    pub fn wait(&mut self, until: Instant) -> Result<Option<Vec<u8>>, Fault> {
        match self.from.recv_timeout(until.saturating_duration_since(Instant::now())) {
            Ok(Piece::Bytes(bytes)) => Ok(Some(bytes)),
            Ok(Piece::End(why)) => Err(self.gone(&why)),
            // A child of a program that has ended may hold its streams open.
            Err(RecvTimeoutError::Timeout) if self.left() => Err(self.gone("it ended")),
            Err(RecvTimeoutError::Timeout) => Ok(None),
            Err(RecvTimeoutError::Disconnected) => Err(self.gone("it was closed")),
        }
    }

    /// What has come already.
    ///
    /// # Errors
    /// The far end has gone.
    pub fn waiting(&mut self) -> Result<Option<Vec<u8>>, Fault> {
        match self.from.try_recv() {
            Ok(Piece::Bytes(bytes)) => Ok(Some(bytes)),
            Ok(Piece::End(why)) => Err(self.gone(&why)),
            Err(TryRecvError::Empty) => Ok(None),
            Err(TryRecvError::Disconnected) => Err(self.gone("it was closed")),
        }
    }

    /// Whether a program has ended.
    fn left(&mut self) -> bool {
        let Kind::Program { child, .. } = &mut self.kind else { return false };
        matches!(child.try_wait(), Ok(Some(_)))
    }

    /// Why it has gone, with what it said last.
    fn gone(&mut self, why: &str) -> Fault {
        if let Some(fault) = &self.ended {
            return fault.clone();
        }
        let fault = match &mut self.kind {
            Kind::Port(port) => Fault::Unplugged { port: port.clone(), why: why.to_owned() },
            Kind::Program { child, said, heard } => {
                let how = ending(child, PARTING);
                // A child of the program's may hold its standard error open.
                let _shut = heard.recv_timeout(PARTING);
                Fault::Ended { how, said: said.lock().unwrap_or_else(PoisonError::into_inner).words() }
            }
        };
        self.ended = Some(fault.clone());
        fault
    }

    /// Shuts our end.
    pub fn hang_up(&mut self) {
        self.to = None;
    }
}

/// Waits so long for a program to end.
fn ending(child: &mut Child, patience: Duration) -> Ending {
    let until = Instant::now() + patience;
    loop {
        if let Ok(Some(status)) = child.try_wait() {
            return status.code().map_or_else(|| Ending::Signal(signal(&status)), Ending::Code);
        }
        if Instant::now() >= until {
            return Ending::RunsOn;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

#[cfg(unix)]
fn signal(status: &std::process::ExitStatus) -> i32 {
    std::os::unix::process::ExitStatusExt::signal(status).unwrap_or(0)
}

#[cfg(not(unix))]
fn signal(_: &std::process::ExitStatus) -> i32 {
    0
}

impl Drop for FarEnd {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        self.hang_up();
        if let Kind::Program { child, .. } = &mut self.kind
            && (self.ended.is_some() || ending(child, PARTING) == Ending::RunsOn)
        {
            // Gone already is as good.
            let _gone = child.kill();
            let _reaped = child.wait();
        }
    }
}
