//! Looks on while a job runs and takes down why it stops: every stop with its causes, from the first until the work goes on.
//!
//! It sees notices, outputs, what the operator does, and the core's readings in that scan. Of another controller it takes down what that
//! tells and puts out.

use valvewright_core::frame::Actuators;
use valvewright_core::interlock::table::Latch;
use valvewright_core::interlock::{FirstOut, RowId, RowSet};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::talk::{Command, Notice, Question};

use super::open::{Hands, Open, goes_on};
use super::stand::{Slow, Stands};
use super::{cause, devices, moments};
use crate::display::Sentence;
use crate::report::data::{Cause, CauseKind, Moment, Stop};
use crate::run::{Observe, Seen, words};
use crate::say;

/// What the operator did within this time before a stop belongs to it, s (own choice).
const LED_TO: f64 = 30.0;
/// Stops that are taken down; what comes after them is counted only (own choice: nobody reads more).
const MOST: usize = 200;
/// Findings of a phase that are told with its end (own choice).
const FOUND: usize = 6;

/// Takes down why a run stops.
#[derive(Default)]
pub struct Explainer {
    on: Actuators,
    hands: Option<Hands>,
    latched: RowSet,
    job: usize,
    stands: Stands,
    phase: Option<PhaseKind>,
    found: Vec<Moment>,
    recent: Vec<Moment>,
    doubted: Vec<(&'static str, f64)>,
    question: Option<Question>,
    slow: Slow,
    open: Option<Open>,
    done: Vec<Stop>,
    /// Stops beyond [`MOST`].
    left_out: usize,
}

impl Observe for Explainer {
    fn scan(&mut self, seen: &Seen<'_>) {
        let latched = seen.core.map_or(RowSet::NONE, |core| core.interlocks().latched());
        let hands = Hands::of(seen.truth);
        let quiet = seen.notices.is_empty() && seen.frame.command.is_none() && latched == self.latched;
        // A restart that tells nothing leaves a core without an order.
        let forgot = self.stands.busy() && seen.core.is_some_and(|core| core.job().state() == JobState::Idle);
        let due = self.open.as_ref().and_then(|open| open.settles).is_some_and(|t| seen.t_s >= t);
        if !quiet || due || forgot || self.hands != Some(hands) {
            self.look(seen, hands, latched);
        }
        self.slow.look(seen);
        self.on = seen.outputs.on;
    }
}

impl Explainer {
    fn look(&mut self, seen: &Seen<'_>, hands: Hands, latched: RowSet) {
        self.by_hand(seen.t_s, hands);
        self.by_command(seen);
        for notice in seen.notices {
            self.hear(notice, seen);
        }
        if self.stands.busy() && seen.core.is_some_and(|core| core.job().state() == JobState::Idle) {
            self.stands = Stands::Lost;
            let what = "the controller started anew and has forgotten the order";
            self.because(cause::other(CauseKind::Controller, seen.t_s, what));
        }
        for id in latched.without(self.latched).iter() {
            self.latches(id, seen);
        }
        self.latched = latched;
        self.settle(seen);
        self.close_where_over(seen);
    }

    /// Takes down something that happened.
    fn moment(&mut self, t_s: f64, who: &'static str, text: impl Into<Sentence>) {
        let one = Moment { t_s, who, text: text.into() };
        match &mut self.open {
            Some(open) => open.moment(one),
            None => {
                self.recent.retain(|old| old.t_s >= t_s - LED_TO);
                self.recent.push(one);
            }
        }
    }

    fn by_hand(&mut self, t: f64, now: Hands) {
        let Some(before) = self.hands.replace(now) else { return };
        for text in before.changes(now) {
            self.moment(t, moments::OPERATOR, text);
        }
    }

    /// A command, with what became of it in the same scan.
    fn by_command(&mut self, seen: &Seen<'_>) {
        let Some(command) = &seen.frame.command else { return };
        if matches!(command, Command::Confirm(_) | Command::Decline(_)) {
            if let Some(asked) = self.question.take().filter(|_| self.open.is_some()) {
                self.moment(seen.t_s, moments::OPERATOR, moments::answered(command, asked));
            }
            return;
        }
        if let Some(text) = moments::command(command, seen.notices) {
            self.moment(seen.t_s, moments::OPERATOR, text);
        }
    }

    /// Begins a stop where none is open.
    fn open(&mut self, t_s: f64) -> &mut Open {
        let (recent, job, phase) = (&mut self.recent, self.job, self.phase);
        self.open.get_or_insert_with(|| {
            let course = recent.drain(..).filter(|one| one.t_s >= t_s - LED_TO).collect();
            let phase = phase.map(words::phase);
            let stop = Stop { t_s, job, phase, course, ..Stop::default() };
            Open::at(stop)
        })
    }

    fn because(&mut self, mut one: Cause) {
        for input in &mut one.inputs {
            input.doubted_since_s = self.doubted.iter().find(|(tag, _)| *tag == input.tag).map(|(_, t)| *t);
        }
        self.open(one.t_s).stop.causes.push(one);
    }

    /// Opens the last stop again where this is the same row for the same cause in the same phase, and nothing else was in it.
    fn open_again(&mut self, one: &Cause) {
        let place = (self.job, self.phase.map(words::phase));
        let same = self.done.last().is_some_and(|last| goes_on(last, one, place));
        if let (None, true, Some(mut stop)) = (&self.open, same, self.done.pop_if(|_| same)) {
            (stop.end_t_s, stop.fate) = (None, Sentence::default());
            self.open = Some(Open::again(stop));
        }
    }

    fn trips(&mut self, id: RowId, first: Option<FirstOut>, seen: &Seen<'_>) {
        let one = cause::tripped(id, first, seen, self.on);
        self.open_again(&one);
        let open = self.open(seen.t_s);
        open.standing = open.standing.with(id);
        let known = open
            .stop
            .causes
            .iter_mut()
            .find(|old| old.row == one.row && old.watch == one.watch && old.kind == one.kind);
        match known {
            Some(old) => {
                old.again_t_s.push(seen.t_s);
                old.cleared_t_s = None;
            }
            None => self.because(one),
        }
    }

    fn clears(&mut self, id: RowId, t: f64) {
        let Some(open) = &mut self.open else { return };
        open.standing = open.standing.without(RowSet::one(id));
        for one in open.stop.causes.iter_mut().filter(|one| one.row == Some(id.as_str())) {
            one.cleared_t_s = Some(t);
        }
        self.moment(t, moments::STATION, say![format!("{id} let go")]);
    }

    /// A row that lets go by itself has latched.
    fn latches(&mut self, id: RowId, seen: &Seen<'_>) {
        if matches!(id.row().map(|row| row.latch), Some(Latch::After(_))) {
            self.because(cause::now_latched(id, seen));
        }
    }

    fn gives_up(&mut self, kind: PhaseKind, why: GiveUp, seen: &Seen<'_>) {
        if let GiveUp::NotReached(_) = why {
            self.moment(seen.t_s, moments::STATION, say!["the ", words::phase(kind), " was ", words::reason(why)]);
            return;
        }
        let found = std::mem::take(&mut self.found);
        let skip = found.len().saturating_sub(FOUND);
        let found = found.into_iter().skip(skip).collect();
        let one = cause::gave_up(kind, why, seen, found, self.slow.holding(), self.on);
        self.because(one);
        if let Some(open) = &mut self.open {
            (open.held, open.gave_up) = (true, true);
        }
    }

    fn hear(&mut self, notice: &Notice, seen: &Seen<'_>) {
        let t = seen.t_s;
        self.stands.hear(notice);
        match *notice {
            Notice::Tripped(id, first) => self.trips(id, first, seen),
            Notice::Cleared(id) => self.clears(id, t),
            Notice::OrderStarted(id) => {
                self.close(t);
                self.job = usize::from(id);
                (self.phase, self.question) = (None, None);
                self.recent.clear();
            }
            Notice::PhaseStarted(kind) => self.begins(kind, t),
            Notice::PhaseEnded(kind, outcome) => self.ends(kind, outcome, seen),
            Notice::Paused => self.pauses(seen),
            Notice::Resumed => self.moment(t, moments::STATION, "the work goes on"),
            Notice::AirNotProven => {
                let mut one = cause::other(CauseKind::GiveUp, t, words::notice(notice).1);
                one.inputs = cause::air(seen);
                self.because(one);
            }
            Notice::Interrupted(..) => self.because(cause::other(CauseKind::Controller, t, words::notice(notice).1)),
            Notice::Refused(why)
                if matches!(seen.frame.command, Some(Command::Start { .. })) && !self.stands.busy() =>
            {
                let what = say!["the order was not taken: ", words::refusal(why)];
                self.because(cause::other(CauseKind::Refusal, t, what));
            }
            Notice::Asked(asked) => {
                self.question = Some(asked.question);
                if self.open.is_some() {
                    self.moment(t, moments::STATION, say!["asked: ", words::question(asked.question)]);
                }
            }
            Notice::Unsound(input, _) => {
                self.doubted.push((input.tag(), t));
                self.moment(t, moments::INPUT, words::notice(notice).1);
            }
            Notice::Sound(input) => {
                self.doubted.retain(|(tag, _)| *tag != input.tag());
                self.moment(t, moments::INPUT, words::notice(notice).1);
            }
            Notice::OrderEnded(well) => self.order_ends(well, seen),
            ref other if moments::is_finding(other) => {
                let text = words::notice(other).1;
                if self.open.is_some() && moments::of_the_end(other) {
                    self.moment(t, moments::STATION, text.clone());
                }
                self.found.push(Moment { t_s: t, who: moments::STATION, text });
            }
            _ => {}
        }
    }

    fn begins(&mut self, kind: PhaseKind, t: f64) {
        self.phase = Some(kind);
        self.found.clear();
        self.moment(t, moments::STATION, say!["the ", words::phase(kind), " began"]);
        if let Some(open) = &mut self.open {
            // Hoses are cleared on the way to the order's end; anything else is the work again.
            open.gave_up &= kind == PhaseKind::ClearHoses;
        }
    }

    fn ends(&mut self, kind: PhaseKind, outcome: Outcome, seen: &Seen<'_>) {
        match outcome {
            Outcome::Failed(why) => self.gives_up(kind, why, seen),
            Outcome::Aborted => {
                let off = self.on.without(seen.outputs.on);
                let what = say!["the operator ended the order in the ", words::phase(kind)];
                let mut one = cause::other(CauseKind::Operator, seen.t_s, what);
                one.phase = Some(words::phase(kind));
                if !off.is_empty() {
                    one.did.push(say![devices::off(off)]);
                }
                self.because(one);
                if let Some(open) = &mut self.open {
                    (open.held, open.gave_up) = (true, true);
                }
            }
            Outcome::Done | Outcome::Skipped(_) => {
                if self.open.is_some() {
                    self.moment(
                        seen.t_s,
                        moments::STATION,
                        say!["the ", words::phase(kind), " ended: ", words::outcome(outcome)],
                    );
                }
            }
        }
        self.phase = None;
    }

    fn pauses(&mut self, seen: &Seen<'_>) {
        if self.open.is_none() {
            self.because(cause::other(CauseKind::Operator, seen.t_s, "the operator paused the work"));
        }
        if let Some(open) = &mut self.open {
            open.held = true;
        }
        let phase = self.phase.map_or("before its first phase".into(), |kind| say!["in the ", words::phase(kind)]);
        self.moment(seen.t_s, moments::STATION, say!["the work is held ", phase, ", with everything shut"]);
    }

    fn order_ends(&mut self, well: bool, seen: &Seen<'_>) {
        self.phase = None;
        self.slow.keep(seen);
        if !well && self.open.is_none() {
            self.because(cause::other(CauseKind::GiveUp, seen.t_s, "the order ended before its plan was met"));
        }
        let text = if well { "the order was done to its end" } else { "the order ended before its plan was met" };
        if let Some(open) = &mut self.open {
            open.stop.end_t_s = Some(seen.t_s);
            open.stop.course.push(Moment { t_s: seen.t_s, who: moments::STATION, text: text.into() });
        }
    }

    /// What is on once all has settled.
    fn settle(&mut self, seen: &Seen<'_>) {
        let t = seen.t_s;
        let Some(open) = &mut self.open else { return };
        if open.settles.is_some_and(|due| t >= due) {
            open.settles = None;
            self.slow.keep(seen);
            let still = devices::still_on(seen.outputs.on);
            open.stop.course.push(Moment { t_s: t, who: moments::STATION, text: still });
        }
    }

    /// Closes the stop where the work goes on and no row is tripped.
    fn close_where_over(&mut self, seen: &Seen<'_>) {
        let over = self
            .open
            .as_ref()
            .is_some_and(|open| open.standing.is_empty() && !open.gave_up && self.stands == Stands::Running);
        if over {
            self.slow.keep(seen);
            if let Some(open) = &mut self.open {
                let how = if open.held { "the work went on" } else { "the work was not held and went on meanwhile" };
                open.stop.fate = how.into();
                open.stop.end_t_s = Some(seen.t_s);
            }
            self.close(seen.t_s);
        }
    }

    /// Puts the open stop to the others.
    fn close(&mut self, t: f64) {
        let Some((mut stop, standing)) = self.open.take().map(|open| open.over(t)) else { return };
        if stop.fate.is_empty() {
            let (fate, end) = self.stands.fate(standing);
            stop.fate = fate;
            stop.end_t_s = stop.end_t_s.or(end.then_some(t));
        }
        stop.refrigerant = self.slow.refrigerant(self.stands);
        if self.done.len() < MOST {
            self.done.push(stop);
        } else {
            self.left_out += 1;
        }
    }

    /// Every stop of the run; the last may still be open.
    pub(super) fn into_stops(mut self, cut: Option<Cause>) -> (Vec<Stop>, usize) {
        if let Some(one) = cut {
            self.because(one);
        }
        let t = self.slow.t_s();
        self.close(t);
        (self.done, self.left_out)
    }

    /// What a run that was cut off was waiting for.
    pub(super) fn waits_for(&self) -> Sentence {
        match self.question {
            Some(asked) if self.stands.busy() => say!["nobody answered: ", words::question(asked)],
            _ if self.stands.is_held() => match self.open.as_ref().map(|open| open.standing) {
                Some(rows) if !rows.is_empty() => {
                    "the rows above to be cleared, each as it says, and then to be told to go on".into()
                }
                _ => "to be told to go on, which nobody did".into(),
            },
            _ => cause::withheld(self.slow.holding()),
        }
    }
}
