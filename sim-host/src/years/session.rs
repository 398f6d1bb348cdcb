//! One time that the station is switched on: an order on a vehicle, or codes typed at an idle panel, with the power cuts that fall into it.
//!
//! Promises: whoever stands at the panel does what a person would: resets what is latched, goes on after a trip that has cleared, gives up
//! when it does not clear. What the store acknowledged is copied outside and held against every start.

use std::collections::VecDeque;

use valvewright_core::job::flow::JobState;
use valvewright_core::kept::{Boot, Kept, Memory};
use valvewright_core::talk::{Command, Notice};
use valvewright_core::token::CodeFault;
use valvewright_core::units::Millis;

use super::codes::{Codes, Sort, Typing};
use super::judge::{self, Breach};
use super::service::Cut;
use crate::run::{Platform, RunError, Scene, Seams, Simulation, Stand};

/// A person looks at the panel so often, scans.
const LOOKS: u64 = 40;
/// The panel is used from then on after a start, s: the self-test is over.
const READY: f64 = 12.0;
/// After a start that followed a power cut the person waits so long before going on, s: the station counts its starts within a minute.
const SETTLED: f64 = 64.0;
/// A trip that holds the order is reset after so long, s, so often; then the order is given up.
const PATIENCE: f64 = 30.0;
const TRIES: u8 = 4;
/// A cut that nobody planned for this session (a write of the one before never came) lasts so long, s.
const OFF: f64 = 10.0;

/// What the store has acknowledged, copied outside.
#[derive(Clone, Debug)]
pub struct Outside {
    /// The newest acknowledged state.
    pub acknowledged: Kept,
    /// The newest state that was handed to the store.
    handed: Kept,
    /// The station has started since: its state is another, whatever its number.
    started: bool,
}

impl Outside {
    /// At commissioning.
    pub const fn new(kept: Kept) -> Self {
        Self { handed: Kept { ..Kept::COMMISSIONED }, acknowledged: kept, started: true }
    }

    /// A scan with power is over.
    fn look(&mut self, sim: &Simulation) {
        let kept = sim.station().kept();
        if self.acknowledged.number != self.handed.number && sim.frame().machine.stored == self.handed.number {
            self.acknowledged = self.handed.clone();
        }
        // A start that power broke off and the one after it give the same number to two states.
        if std::mem::take(&mut self.started) || self.handed.number != kept.number {
            self.handed = kept.clone();
        }
        debug_assert_eq!(self.handed, *kept, "a state of the station has changed and its number has not");
    }
}

/// What came of a session.
#[derive(Clone, Debug, Default)]
pub struct Came {
    /// Power cuts, and starts after them.
    pub cuts: u32,
    pub starts: u32,
    /// Codes and how they were answered.
    pub codes: Vec<(Typing, Result<(), CodeFault>)>,
    /// The order was cut off.
    pub cut_off: bool,
    /// Times that a person pressed reset.
    pub resets: u32,
    /// What did not hold.
    pub breaches: Vec<Breach>,
}

/// What a person does beside the scenario's operator.
pub struct Session<'a> {
    cuts: VecDeque<Cut>,
    typing: VecDeque<Typing>,
    codes: &'a mut Codes,
    outside: &'a mut Outside,
    came: Came,
    /// An order is given by the scenario's operator.
    order: bool,
    armed: bool,
    off_until: Option<(f64, Boot)>,
    /// Time of the last start, s since the session began.
    started: f64,
    heard: usize,
    waiting: Option<(Typing, f64)>,
    not_before: f64,
    command: Option<Command>,
    paused_since: Option<f64>,
    tries: u8,
    looked: f64,
    /// Orders that a start found cut off, and those that were told so.
    owed: Vec<u16>,
    told_cut: Vec<u16>,
}

impl<'a> Session<'a> {
    /// A session with these cuts; with codes to be typed it is one without an order.
    pub fn new(cuts: &[Cut], typing: Vec<Typing>, codes: &'a mut Codes, outside: &'a mut Outside) -> Self {
        outside.started = true;
        Self {
            cuts: cuts.iter().copied().collect(),
            order: typing.is_empty(),
            typing: typing.into(),
            codes,
            outside,
            came: Came::default(),
            armed: false,
            off_until: None,
            started: 0.0,
            heard: 0,
            waiting: None,
            not_before: 0.0,
            command: None,
            paused_since: None,
            tries: 0,
            looked: f64::NEG_INFINITY,
            owed: Vec::new(),
            told_cut: Vec::new(),
        }
    }

    /// Runs it to its end.
    ///
    /// # Errors
    /// As [`Simulation::scan`].
    pub fn run(mut self, sim: &mut Simulation) -> Result<Came, RunError> {
        loop {
            let since = sim.time() - sim.began();
            let platform = self.power(sim, since);
            let stand = if platform == Platform::default() && self.command.is_none() {
                sim.step()?
            } else {
                self.disturbed(sim, platform)?
            };
            if self.off_until.is_none() {
                self.outside.look(sim);
                self.hear(sim, since);
                if sim.scans().is_multiple_of(LOOKS) {
                    self.look(sim, since);
                }
            }
            if stand == Stand::Over && self.is_owed_a_start(sim, since) {
                sim.go_on();
                continue;
            }
            if stand != Stand::Running || self.is_done(sim, since) {
                let unsaid = self.owed.iter().filter_map(|order| judge::interrupted(*order, &self.told_cut));
                self.came.breaches.extend(unsaid);
                if stand == Stand::Broken {
                    let why = sim.plant().fault().map_or_else(|| "the run ended".to_owned(), ToString::to_string);
                    self.came.breaches.push(judge::broken(why));
                }
                return Ok(self.came);
            }
        }
    }

    fn disturbed(&mut self, sim: &mut Simulation, platform: Platform) -> Result<Stand, RunError> {
        let command = &mut self.command;
        let mut hand = |scene: &mut Scene<'_>| {
            *scene.platform = platform;
            if scene.operator.command.is_none() && !platform.unpowered {
                scene.operator.command = command.take();
            }
        };
        sim.scan(&mut Seams { faults: Some(&mut hand), observer: None })
    }

    /// What becomes of the supply in this scan.
    fn power(&mut self, sim: &mut Simulation, since: f64) -> Platform {
        if let Some((until, boot)) = self.off_until {
            if since < until {
                return Platform { unpowered: true, ..Platform::default() };
            }
            let found = sim.would_find();
            self.came.breaches.extend(judge::start(&self.outside.acknowledged, &found));
            if let Memory::Sound(found) = found {
                self.owed.extend((found.order != 0).then_some(found.order));
            }
            self.off_until = None;
            (self.started, self.paused_since, self.tries) = (since, None, 0);
            self.came.starts += 1;
            self.outside.started = true;
            if let Some((typing, _)) = self.waiting.take() {
                self.typing.push_front(Typing { again: true, ..typing });
            }
            return Platform { restart: Some(boot), ..Platform::default() };
        }
        let due = self.cuts.front().copied().filter(|cut| since >= cut.at);
        let mut goes = sim.store().is_off();
        match due {
            Some(Cut { write: Some(done), .. }) if !self.armed && !goes => {
                self.armed = true;
                sim.cut_next_write(done);
            }
            Some(Cut { write: None, .. }) => goes = true,
            _ => {}
        }
        if !goes {
            return Platform::default();
        }
        let planned = due.inspect(|_| {
            self.cuts.pop_front();
        });
        self.armed = false;
        self.off_until =
            Some((since + planned.map_or(OFF, |cut| cut.off), planned.map_or(Boot::PowerOn, |cut| cut.boot)));
        self.came.cuts += 1;
        self.came.cut_off |= sim.station().job().busy();
        self.command = None;
        Platform { unpowered: true, ..Platform::default() }
    }

    /// Answers to codes.
    fn hear(&mut self, sim: &Simulation, since: f64) {
        let told = sim.told_since(self.heard);
        self.heard += told.len();
        for (_, notice) in told {
            if let Notice::Interrupted(order, _) = notice {
                self.told_cut.push(*order);
            }
            let Some((typing, _)) = self.waiting else { continue };
            match *notice {
                Notice::Exchanged(..) => {
                    self.waiting = None;
                    self.came.breaches.extend(judge::taken(&mut self.codes.taken, typing.code.number()));
                    self.answered(typing, Ok(()), since);
                }
                Notice::CodeRefused(_, fault) => {
                    self.waiting = None;
                    self.answered(typing, Err(fault), since);
                }
                Notice::Refused(_) => {
                    // Not looked at: tried again later.
                    self.waiting = None;
                    self.not_before = since + PATIENCE;
                    self.typing.push_front(typing);
                }
                _ => {}
            }
        }
    }

    fn answered(&mut self, typing: Typing, answer: Result<(), CodeFault>, since: f64) {
        self.came.codes.push((typing, answer));
        self.came.breaches.extend(judge::answer(typing.sort, answer, typing.again));
        let own = matches!(typing.sort, Sort::Own | Sort::Release);
        match answer {
            Ok(()) => self.codes.use_up(typing),
            Err(CodeFault::Wait(Millis(ms))) => {
                self.not_before = since + f64::from(ms) * 1e-3 + 1.0;
                self.typing.push_front(typing);
            }
            Err(CodeFault::NotStored) if own => self.typing.push_front(Typing { again: true, ..typing }),
            Err(CodeFault::UsedBefore) if own => {
                // A cut burnt it before its part had its life: the supplier sends another.
                self.codes.use_up(typing);
                let fresh = self.codes.fresh(typing.part, false);
                self.typing.push_front(fresh);
            }
            Err(_) => {}
        }
    }

    /// A person looks at the panel.
    fn look(&mut self, sim: &Simulation, since: f64) {
        let on = since - self.started;
        let core = sim.station();
        if self.command.is_some() || on < READY {
            return;
        }
        let after_cut = self.came.starts > 0;
        let latched = !core.interlocks().latched().is_empty();
        let job = core.job();
        if latched && since - self.looked > PATIENCE && (!after_cut || on > SETTLED - 4.0) {
            self.looked = since;
            self.came.resets += 1;
            self.command = Some(Command::Reset);
            return;
        }
        if job.state() == JobState::Paused {
            let from = *self.paused_since.get_or_insert(since);
            if since - from > PATIENCE * f64::from(self.tries + 1) {
                self.tries += 1;
                self.command = Some(if self.tries > TRIES { Command::Abort } else { Command::Resume });
            }
        } else {
            self.paused_since = None;
        }
        if !self.order
            && self.waiting.is_none()
            && since >= self.not_before
            && !job.busy()
            && let Some(next) = self.typing.pop_front()
        {
            self.waiting = Some((next, since));
            self.command = Some(Command::Exchanged { part: next.part, code: next.code });
        }
    }

    /// Power is away, or a start after it has not said yet what it found: no session ends so, even where the order has.
    fn is_owed_a_start(&self, sim: &Simulation, since: f64) -> bool {
        let fresh = self.came.starts > 0 && since - self.started <= SETTLED;
        self.off_until.is_some() || sim.store().is_off() || fresh
    }

    fn is_done(&self, sim: &Simulation, since: f64) -> bool {
        if self.off_until.is_some() || sim.store().is_off() {
            return false;
        }
        let settled = self.command.is_none() && sim.frame().machine.stored == sim.station().kept().number;
        if self.order {
            self.came.starts > 0 && !sim.station().job().busy() && since - self.started > SETTLED + 8.0 && settled
        } else {
            let typed = self.typing.is_empty() && self.waiting.is_none() && since > self.not_before;
            typed && settled && since - self.started > SETTLED
        }
    }
}
