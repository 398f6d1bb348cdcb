//! The thread of the run: so many scans as its speed wants, a frame some forty times a second, wishes between two scans.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use serde_json::json;

use super::asked::{Asked, Until};
use super::drawing;
use super::frame::{self, Going};
use super::odds;
use super::order;
use super::session::Session;
use super::start::Start;
use super::wire::{Newest, Wish};
use crate::display::Language;

/// Between two frames: forty a second, so that a page that misses some still shows thirty.
const FRAME: Duration = Duration::from_millis(25);
/// Scans are made so long at a stretch before wishes are heard.
const STRETCH: Duration = Duration::from_millis(20);
/// Wishes that are heard between two stretches, so that whoever sends them without end holds nothing up.
const HEARD: usize = 32;
/// Fastest pace that can be asked for, and the longest time that is made up for after a wait, s.
const FASTEST: f64 = 10_000.0;
const OWED: f64 = 0.2;

/// The run and how fast it goes.
struct Pace {
    session: Session,
    running: bool,
    /// Times life; 0 as fast as it goes.
    speed: f64,
    /// Goes on until one of these is told; so many notices were looked at.
    jump: Option<(Until, usize)>,
    /// Simulated time that is still owed, s.
    owed: f64,
    /// What was measured: simulated over real time in the last half second.
    went: f64,
    wrong: Option<String>,
    /// Rises with each run from time 0.
    number: u32,
}

/// Runs until nobody is there any more.
pub fn go(session: Session, wishes: &Receiver<Wish>, newest: &Newest) {
    let mut pace =
        Pace { session, running: false, speed: 10.0, jump: None, owed: 0.0, went: 0.0, wrong: None, number: 0 };
    pace.show(newest);
    let (mut last, mut since) = (Instant::now(), (Instant::now(), pace.session.run().time()));
    loop {
        let wait = if pace.running { FRAME.saturating_sub(last.elapsed()) } else { Duration::from_secs(3600) };
        // A frame that is due comes before the next wish; some wishes are heard after each.
        let next = if wait.is_zero() { Err(RecvTimeoutError::Timeout) } else { wishes.recv_timeout(wait) };
        match next {
            Ok(Wish::End) | Err(RecvTimeoutError::Disconnected) => return,
            Ok(wish) => {
                let still = !pace.running;
                pace.hear(wish, newest);
                if still {
                    (last, since) = (Instant::now(), (Instant::now(), pace.session.run().time()));
                }
            }
            Err(RecvTimeoutError::Timeout) => {
                let passed = last.elapsed().as_secs_f64();
                last = Instant::now();
                pace.stretch(passed);
                if since.0.elapsed() > Duration::from_millis(500) || !pace.running {
                    pace.went = (pace.session.run().time() - since.1) / since.0.elapsed().as_secs_f64().max(1e-3);
                    since = (Instant::now(), pace.session.run().time());
                }
                pace.show(newest);
                for wish in wishes.try_iter().take(HEARD) {
                    if matches!(wish, Wish::End) {
                        return;
                    }
                    pace.hear(wish, newest);
                }
            }
        }
    }
}

impl Pace {
    fn show(&self, newest: &Newest) {
        let going = Going {
            running: self.running,
            speed: self.speed,
            went: if self.running { self.went } else { 0.0 },
            wrong: self.wrong.as_deref(),
            number: self.number,
        };
        newest.send_replace(Arc::from(frame::of(&self.session, &going).to_string()));
    }

    /// Scans of one frame.
    fn stretch(&mut self, passed: f64) {
        let began = Instant::now();
        let most = if self.jump.is_some() { 0.0 } else { self.speed };
        let scan = f64::from(self.session.run().config().scan.0) * 1e-3;
        self.owed = if most > 0.0 { (self.owed + passed * most).min((OWED * most).max(scan)) } else { f64::INFINITY };
        while self.running && self.owed >= scan && began.elapsed() < STRETCH {
            self.owed -= scan;
            self.scan();
        }
        if most == 0.0 {
            self.owed = 0.0;
        }
    }

    fn scan(&mut self) {
        match self.session.step() {
            Ok(true) => {}
            Ok(false) => self.stop(),
            Err(why) => {
                self.wrong = Some(why);
                self.stop();
            }
        }
        if let Some((until, seen)) = &mut self.jump
            && self.session.told_since(*until, seen)
        {
            self.stop();
        }
    }

    fn stop(&mut self) {
        (self.running, self.jump, self.owed) = (false, None, 0.0);
    }

    fn hear(&mut self, wish: Wish, newest: &Newest) {
        // Who asked may be gone: then nobody hears the answer.
        match wish {
            Wish::Do(asked, answer) => {
                let done = self.obey(asked);
                // Who has the answer sees what came of it.
                self.show(newest);
                drop(answer.send(done));
            }
            Wish::History(from, answer) => drop(answer.send(self.session.history().told(from).to_string())),
            Wish::Drawing(answer) => {
                let drawn = drawing::of(self.session.scenario()).unwrap_or_else(|why| json!({ "wrong": why }));
                drop(answer.send(drawn.to_string()));
            }
            Wish::Odds(question, answer) => {
                let found = odds::ask(&self.session, &question);
                drop(answer.send(found.map(|found| serde_json::to_string(&found).unwrap_or_default())));
            }
            Wish::Order(answer) => drop(answer.send(order::shown(&self.session).to_string())),
            Wish::Records(answer) => drop(answer.send(self.session.records().map(|all| all.to_string()))),
            Wish::AtHand(answer) => drop(answer.send((self.session.start().clone(), self.session.altered().clone()))),
            Wish::Result(answer) => drop(answer.send(self.session.result().map(|result| result.to_string()))),
            Wish::Written(answer) => drop(answer.send(self.session.written())),
            Wish::End => {}
        }
    }

    fn obey(&mut self, asked: Asked) -> Result<(), String> {
        match asked {
            Asked::Run => (self.running, self.jump) = (true, None),
            Asked::Pause => self.stop(),
            Asked::Scan => {
                self.stop();
                self.scan();
            }
            Asked::Speed { x } if x.is_finite() && (0.0..=FASTEST).contains(&x) => (self.speed, self.owed) = (x, 0.0),
            Asked::Speed { x } => return Err(format!("x: {x}; accepted: 0 (as fast as it goes) to {FASTEST}")),
            Asked::Jump { to } => {
                (self.running, self.jump) = (true, Some((to, self.session.run().told_since(0).len())))
            }
            Asked::Exchange { part, code } => return self.session.exchange(&part, &code),
            Asked::Act { act } => return self.session.act(&act),
            Asked::Break { id, mode, tag, severity } => {
                return self.session.break_now(&[("id", &id), ("mode", &mode), ("tag", &tag), ("severity", &severity)]);
            }
            Asked::Heal { place } => return self.session.heal(place),
            Asked::Without { row, off } => return self.session.leave_out(&row, off),
            Asked::SetPoint { watch, to } => return self.session.set_point(&watch, to),
            Asked::Back { t } => {
                self.stop();
                return self.session.back(t);
            }
            Asked::Restart { scenario, by_hand } => {
                let start = self.session.start().another(scenario.as_deref(), by_hand)?;
                return self.anew(start);
            }
            Asked::Order { text, begin } => {
                let start = self.session.start().with_order(self.session.scenario(), &text)?;
                if begin {
                    return self.anew(start);
                }
            }
            Asked::Lesson { name } => {
                let start = self.session.start().to_lesson(&name)?;
                return self.anew(start);
            }
            Asked::Hint => return self.session.learn()?.0.hint(),
            Asked::Answer { text } => {
                let (learning, run) = self.session.learn()?;
                return learning.answer(&text, run);
            }
            Asked::Language { to } => {
                let found = Language::ALL.into_iter().find(|one| one.code() == to);
                self.session.tell_in(
                    found.ok_or_else(|| format!("`{to}` is no language of the notices; accepted: en, de, es, fr"))?,
                );
            }
        }
        Ok(())
    }

    /// Another run takes the place of the one at hand.
    fn anew(&mut self, start: Start) -> Result<(), String> {
        let language = self.session.language();
        self.session = Session::new(start)?;
        self.session.tell_in(language);
        self.stop();
        self.wrong = None;
        self.number += 1;
        Ok(())
    }
}
