//! A board on a serial port, played over a pseudo-terminal: a run and a replay are those of the core on the host, and a pulled cable ends safe.
#![cfg(unix)]

use std::io::{Read, Write};
use std::os::fd::AsFd;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use nix::fcntl::{OFlag, open};
use nix::poll::{PollFd, PollFlags, PollTimeout, poll};
use nix::pty::{PtyMaster, grantpt, posix_openpt, ptsname_r, unlockpt};
use nix::sys::stat::Mode;
use nix::sys::termios::{SetArg, cfmakeraw, tcgetattr, tcsetattr};
use serde_json::Value;
use valvewright_core::frame::{Actuator, Actuators, Outputs, RawFrame};
use valvewright_core::port::link::Took;
use valvewright_core::port::remote::{Session, Step, Wires};
use valvewright_core::station::Station;
use valvewright_core::units::Instant;

use crate::cli_bench::Bench;
use crate::line_faults::client;

/// A board without adapters. From a scan on, one that loses an output.
#[derive(Default)]
struct Plain {
    frame: RawFrame,
    on: Actuators,
    scans: u32,
    broken_from: Option<u32>,
}

impl Wires for Plain {
    fn begin(&mut self) {
        self.scans = 0;
        self.make_safe();
    }
    fn load(&mut self, frame: &RawFrame) {
        self.frame = frame.clone();
    }
    fn scan(&mut self, station: &mut Station, now: Instant) -> (Outputs, Took) {
        let outputs = station.tick(now, &self.frame);
        self.on = outputs.on;
        if self.broken_from.is_some_and(|from| self.scans >= from) {
            self.on = self.on.without(Actuators::of(&[Actuator::K1]));
        }
        self.scans += 1;
        (outputs, Took::default())
    }
    fn pins(&self) -> Actuators {
        self.on
    }
    fn make_safe(&mut self) {
        self.on = Actuators::SAFE;
    }
}

/// Both ends of a pseudo-terminal: one to speak through, the name of the other, and that other end kept open, without which
/// nothing could be said before it is opened by its name. No program that is started meanwhile inherits them: it would keep
/// a cable plugged in.
fn terminal() -> (PtyMaster, String, std::os::fd::OwnedFd) {
    let flags = OFlag::O_RDWR | OFlag::O_NOCTTY | OFlag::O_CLOEXEC;
    let near = posix_openpt(flags).expect("a pseudo-terminal");
    grantpt(&near).and_then(|()| unlockpt(&near)).expect("its other end");
    let name = ptsname_r(&near).expect("its name");
    let far = open(name.as_str(), flags, Mode::empty()).expect("its other end opens");
    let mut settings = tcgetattr(&far).expect("its settings");
    cfmakeraw(&mut settings);
    tcsetattr(&far, SetArg::TCSANOW, &settings).expect("its settings");
    (near, name, far)
}

/// What has come within 20 ms; `None` once nothing more can come.
fn heard(from: &mut PtyMaster, bytes: &mut [u8]) -> Option<usize> {
    let mut ready = [PollFd::new(from.as_fd(), PollFlags::POLLIN)];
    match poll(&mut ready, PollTimeout::from(20_u8)) {
        Ok(0) => Some(0),
        _ => from.read(bytes).ok().filter(|count| *count > 0),
    }
}

/// The board's end of the cable, and the name of the other.
struct Cable {
    port: String,
    _end: std::os::fd::OwnedFd,
    stop: Arc<AtomicBool>,
    scans: Arc<AtomicU32>,
    board: Option<JoinHandle<()>>,
}

impl Cable {
    /// A board that is unplugged after so many scans, says this first, and goes wrong from a scan on.
    fn new(unplugged_after: u32, greeting: &'static [u8], broken_from: Option<u32>) -> Self {
        let (mut near, port, end) = terminal();
        let (stop, scans) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicU32::new(0)));
        let (stopped, counted) = (Arc::clone(&stop), Arc::clone(&scans));
        let board = std::thread::spawn(move || {
            let (mut session, mut wires) = (Session::new(), Plain { broken_from, ..Plain::default() });
            let mut bytes = [0; 256];
            if !greeting.is_empty() {
                // As a boot loader does.
                std::thread::sleep(Duration::from_millis(300));
                near.write_all(greeting).expect("the greeting goes out");
            }
            while !stopped.load(Ordering::Relaxed) {
                let Some(count) = heard(&mut near, &mut bytes) else { return };
                for byte in &bytes[..count] {
                    let answer = match session.take(*byte, Instant(0), &mut wires) {
                        Step::Send(answer) => answer.to_vec(),
                        _ => continue,
                    };
                    counted.store(wires.scans, Ordering::Relaxed);
                    if wires.scans >= unplugged_after {
                        return;
                    }
                    if near.write_all(&answer).is_err() {
                        return;
                    }
                }
            }
        });
        Self { port, _end: end, stop, scans, board: Some(board) }
    }
}

impl Drop for Cable {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        let done = self.board.take().map(JoinHandle::join);
        assert!(done.is_none_or(|done| done.is_ok()) || std::thread::panicking());
    }
}

const OPTIONS: [&str; 5] = ["--trace", "none", "--no-report", "--force", "--json"];

fn run(bench: &Bench, driver: &[&str], code: i32) -> Value {
    bench.run(&[&["run", "large_leak"], driver, &OPTIONS].concat()).exits(code).json()
}

#[test]
fn a_run_on_a_serial_board_is_the_run_of_the_core() {
    let (bench, cable) = (Bench::new(), Cable::new(u32::MAX, b"", None));
    let host = run(&bench, &[], 0);
    let board = run(&bench, &["--board", &format!("serial:{}", cable.port), "--patience", "20000"], 0);
    assert_eq!(board["trace_hash"], host["trace_hash"]);
    assert_eq!(board["verdict"], host["verdict"]);
    assert_eq!(board["controller"]["joined"], "serial");
    assert_eq!(u64::from(cable.scans.load(Ordering::Relaxed)), host["ticks"].as_u64().expect("a count"));
}

#[test]
fn a_board_that_talks_while_it_starts_is_heard_when_it_is_ready() {
    let (bench, cable) = (Bench::new(), Cable::new(u32::MAX, b"boot 1.2\r\nready\r\n\0\x07\x01", None));
    let board = run(&bench, &["--board", &format!("serial:{}@921600", cable.port), "--patience", "20000"], 0);
    assert_eq!(board["controller"]["joined"], "serial");
}

#[test]
fn a_replay_on_a_serial_board_compares_every_scan() {
    let (bench, cable) = (Bench::new(), Cable::new(u32::MAX, b"", None));
    let place = format!("serial:{}", cable.port);
    let told = bench.run(&["replay", "large_leak", "proof_that_fails", "--board", &place, "--json"]).exits(0).json();
    assert_eq!((&told["identical"], &told["jobs"][1]["identical"]), (&true.into(), &true.into()));
    assert!(told["scans"].as_u64().is_some_and(|scans| scans > 10_000), "{told}");
}

#[test]
fn a_serial_board_that_differs_is_found_in_its_scan() {
    let (bench, cable) = (Bench::new(), Cable::new(u32::MAX, b"", Some(700)));
    let place = format!("serial:{}", cable.port);
    let answer = bench.run(&["replay", "large_leak", "--board", &place]).exits(1);
    assert!(answer.out.contains("DIFFERS in scan 700 ") && answer.out.contains("outputs.on"), "{}", answer.out);
    let options = ["run", "large_leak", "--board", &place, "--patience", "20000"];
    bench.run(&options).exits(3).complains(&["scan 700 ", "outputs.on"]);
}

#[test]
fn a_cable_that_is_pulled_ends_safe_with_its_reason() {
    for driver in ["--board", "--controller"] {
        let (bench, cable) = (Bench::new(), Cable::new(1_500, b"", None));
        let told = run(&bench, &[driver, &format!("serial:{}", cable.port), "--patience", "20000"], 2);
        let fault = &told["controller"]["fault"];
        assert!(fault["why"].as_str().is_some_and(|why| why.contains(&cable.port) && why.contains("gone")), "{told}");
        assert_eq!(fault["on"], serde_json::json!(["K-1"]));
        assert!(fault["t_s"].as_f64().is_some_and(|t| (t - 74.95).abs() < 0.2), "{fault}");
    }
}

#[test]
fn the_core_on_a_port_may_drive_without_being_compared() {
    let (bench, cable) = (Bench::new(), Cable::new(u32::MAX, b"", None));
    let host = run(&bench, &[], 0);
    let told = run(&bench, &["--controller", &format!("serial:{}", cable.port), "--patience", "20000"], 0);
    assert_eq!((&told["controller"]["core"], &told["controller"]["name"]), (&false.into(), &"valvewright-core".into()));
    assert_eq!(told["trace_hash"], host["trace_hash"]);
}

#[test]
fn a_python_client_speaks_over_a_serial_device_too() {
    // The host's end of one pseudo-terminal is joined to the client's end of another by a thread each way.
    let (ours, port, _end) = terminal();
    let (theirs, device, _device) = terminal();
    let twin = |of: &PtyMaster| std::fs::File::from(of.as_fd().try_clone_to_owned().expect("a handle"));
    let (to_ours, to_theirs) = (twin(&ours), twin(&theirs));
    let stop = Arc::new(AtomicBool::new(false));
    let threads: Vec<_> = [(ours, to_theirs), (theirs, to_ours)]
        .into_iter()
        .map(|(mut from, mut to)| {
            let stop = Arc::clone(&stop);
            std::thread::spawn(move || {
                let mut bytes = [0; 512];
                while !stop.load(Ordering::Relaxed) {
                    match heard(&mut from, &mut bytes) {
                        Some(count) if to.write_all(&bytes[..count]).is_ok() => {}
                        _ => return,
                    }
                }
            })
        })
        .collect();
    let words = shlex::split(&client("naive")).expect("a command");
    let mut python =
        std::process::Command::new(&words[0]).args(&words[1..]).arg(&device).spawn().expect("python3 starts");
    let bench = Bench::new();
    let answer = bench.run(
        &[
            &["run", "vessel_nearly_full", "--controller", &format!("serial:{port}"), "--patience", "20000"],
            &OPTIONS[..],
        ]
        .concat(),
    );
    // It leaves when it hears `Bye`.
    let left = (0..500).find_map(|_| {
        std::thread::sleep(Duration::from_millis(20));
        python.try_wait().expect("a process of ours")
    });
    if left.is_none() {
        python.kill().expect("a process of ours");
    }
    stop.store(true, Ordering::Relaxed);
    for thread in threads {
        thread.join().expect("a copy ends");
    }
    let told = answer.exits(1).json();
    assert_eq!((&told["controller"]["name"], &told["controller"]["joined"]), (&"naive".into(), &"serial".into()));
    assert!(left.is_some_and(|left| left.success()), "it did not leave in 10 s: {left:?}");
}
