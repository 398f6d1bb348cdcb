//! Charge to the gram: fast fill, learned cut-off, tail pulses, hose content taken off, stalls met one remedy at a time.
//!
//! Starts with a leak verdict younger than thirty minutes and enough liquid above the heel. Done when the vehicle holds the
//! target within [`CLOSE`], by the vessel scale's difference less what hoses and manifold will keep. What is out of the usual is asked for a
//! second time (I09). XV-5 and XV-10 shut
//! first, the line empties towards the vehicle, then XV-1 and XV-2 shut (rule of I04); what stays in the hoses is drawn in
//! when they are cleared ([`super::clear`]). A station without heater has one remedy less. Given up when none brings flow back.

use super::amounts::{backs, hose_content, hoses_full, short_supply, swallows, usual};
use super::bounds;
use super::context::{Ctx, DONE, Status, at_rest, failed};
use super::ledger::Ledger;
use super::pulse::{Pace, Pulse, coming, flow};
use super::step::Stepped;
use super::witness::Witness;
use crate::frame::{Actuator, Actuators};
use crate::order::Sides;
use crate::sense::Readings;
use crate::talk::{Notice, Question};
use crate::units::*;
use crate::verdict::GiveUp;

/// What may be missing at the end.
pub const CLOSE: Milligram = Milligram(2_500);
/// The fast fill ends this far before the target; pulses do the rest.
const TAIL: Milligram = Milligram(22_000);
/// A platform that is not at rest by then is leant on (own choice).
const WEIGH_MAX: Millis = Millis::from_secs(90);
/// Rest is judged over two seconds: before this they reach back to when the charge valves shut (own choice).
const REST_LEAST: Millis = Millis(3_000);
/// Less than this is no flow: noise of the rate over one second (own figure).
const STALL_RATE: MilligramPerS = MilligramPerS(400);
/// A hose that fills, or a cold valve, pauses for some seconds (own choice).
const STALL_TIME: Millis = Millis::from_secs(12);
/// Liquid in the hoses has run into the vehicle or evaporated by then (own figure: some 40 s).
const EQUALISE: Millis = Millis::from_secs(60);
/// With the charge valves shut the scale stands; what moves more in [`EQUALISE`] has moved all through the charge (as I20, own choice).
const DRIFT: Milligram = Milligram(5_000);
/// 300 W warm a full vessel by some 12 K in this time, which is 3 bar of head (own figures).
const WARM_MAX: Millis = Millis::from_secs(900);
/// A charge takes two to five; forty are a valve that passes next to nothing.
const MAX_PULSES: u8 = 40;
/// What the hoses still took up in the last minute is charged after; the third time it is below 2 g (own figures).
const MAX_ROUNDS: u8 = 5;
/// Vessel pressure wanted above saturation at ambient before the charge starts, and after warming for a stall.
const HEAD_START: AbsPa = AbsPa(15_000);
/// Head wanted after a stall: ten times what the flow model calls flow (own choice).
const HEAD_WARM: AbsPa = AbsPa(70_000);

/// From this share of the vessel's pressure on, in tenths, there may be liquid in the hoses; liquid that runs freely leaves 0.3 to 0.6 of
/// it in them (own figures).
const BACKED: i64 = 7;
/// And from this on, before the vehicle can be half full of gas, they lead nowhere,
const DEAD_END: i64 = 9;
/// held for so long (own choices).
const DEAD_END_HELD: Millis = Millis(1_000);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Charge {
    step: Stepped<Step>,
    pace: Pace,
    pulses: u8,
    rounds: u8,
    warmings: u8,
    low_side_only: bool,
    /// Inside what is usual, or confirmed a second time (I09).
    confirmed: bool,
    witness: Witness,
    /// What hoses and manifold are taken to keep in the end.
    content: Milligram,
    /// The hoses stand near the vessel's pressure: what is in them may be liquid.
    backed: bool,
    /// As long as less has gone, a vehicle on the hoses stands far below the vessel; and how long it did not.
    swallows: Milligram,
    dead_end: Millis,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Enter,
    Confirm,
    Weigh,
    /// With the time without flow, and how long the charge valves have been open without a break.
    Fill {
        slow: Millis,
        open: Millis,
    },
    /// With the pulse of which the resting scale is to tell.
    Settle {
        after: Option<Pulse>,
    },
    Pulse(Pulse),
    Warm,
    Ask,
    /// With what had gone when the charge valves shut for the last minute.
    Equalise {
        shut_at: Milligram,
    },
}

step_words!(Charge: Enter => "enter", Confirm => "confirm", Weigh => "weigh", Fill => "fill", Settle => "settle", Pulse => "pulse", Warm => "warm", Ask => "ask", Equalise => "equalise");

impl Step {
    /// A fill at its beginning.
    const FILL: Self = Self::Fill { slow: Millis(0), open: Millis(0) };
    /// Waiting for rest where no pulse went before.
    const SETTLE: Self = Self::Settle { after: None };
}

impl Charge {
    /// Whether this much may be charged (I09).
    pub(super) const fn confirmed(&self) -> bool {
        self.confirmed
    }

    fn sides(&self, c: &Ctx<'_>) -> Actuators {
        if self.low_side_only { Actuators::of(&[Actuator::Xv1, Actuator::K1]) } else { c.couplers() }
    }

    fn open(&self, c: &Ctx<'_>) -> Actuators {
        self.sides(c).with(Actuator::Xv5).with(Actuator::Xv10)
    }

    fn dispensed(c: &Ctx<'_>) -> Option<Milligram> {
        c.vessel_mass().map(|m| c.ledger.charge_start.minus(m))
    }

    fn missing(&self, c: &Ctx<'_>, dispensed: Milligram) -> Milligram {
        c.order.charge.plus(self.content).minus(dispensed)
    }

    pub(super) fn book(&self, r: &Readings, ledger: &mut Ledger) {
        if let (true, Some(mass)) = (ledger.charge_begun, r.wt1.mass.usable()) {
            ledger.dispensed = ledger.charge_start.minus(mass);
            ledger.in_hoses = self.content;
        }
    }

    /// It ended short of its plan: nothing led the hoses out, and where liquid may stand in them they count as full.
    pub(super) fn left(&mut self, ledger: &mut Ledger) {
        if ledger.charge_begun && self.backed {
            self.content = ledger.hoses_most;
            ledger.in_hoses = self.content;
        }
    }

    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        let spent = self.step.spent(c.t);
        let status = match self.step.at {
            Step::Enter => self.enter(c),
            Step::Confirm => self.confirm(c, spent),
            Step::Weigh => self.weigh(c, spent),
            Step::Fill { slow, open } => self.fill(c, slow, open),
            Step::Settle { after } => self.settle(c, spent, after),
            Step::Pulse(pulse) => self.pulse(c, spent, pulse),
            Step::Warm => self.warm(c, spent),
            Step::Ask => self.ask(c, spent),
            Step::Equalise { shut_at } => self.equalise(c, spent, shut_at),
        };
        if !c.ledger.charge_begun {
            return status;
        }
        let out = Self::dispensed(c);
        if let Some(out) = out {
            self.report(c, out);
        }
        self.backed = backs(c, BACKED);
        let most = c.order.charge.plus(self.content);
        if status == Status::Running && self.witness.disbelieves(c, out, most) {
            return failed(GiveUp::ScaleDisagrees);
        }
        if self.witness.waits() && matches!(self.step.at, Step::Fill { .. } | Step::Pulse(_)) {
            // Only at rest a load is told from a knock.
            c.want = self.sides(c);
            self.step.go(Step::SETTLE, c.t);
        }
        status
    }

    fn report(&self, c: &mut Ctx<'_>, out: Milligram) {
        let done = (i64::from(out.0) * 1000).checked_div(i64::from(c.order.charge.0.max(1))).unwrap_or(0);
        c.progress.done = Permille(i32::try_from(done.clamp(0, 1000)).unwrap_or(1000));
        let left = i64::from(self.missing(c, out).0.max(0)).saturating_mul(1000);
        let ms = left.checked_div(i64::from(self.pace.least().0)).unwrap_or(0);
        c.progress.remaining = Millis(u32::try_from(ms).unwrap_or(u32::MAX)).plus(EQUALISE);
    }

    fn enter(&mut self, c: &mut Ctx<'_>) -> Status {
        if !c.link.may_charge() {
            return failed(GiveUp::NoLeakVerdict);
        }
        let Some(mass) = c.vessel_mass() else { return failed(GiveUp::ReadingBad) };
        if let Some(short) = short_supply(c.order, mass, Milligram(0), c.cfg.vessel_heel) {
            return failed(short);
        }
        if let Some(most) = usual(c).filter(|_| !self.confirmed) {
            c.tell(Notice::UnusualCharge(c.order.charge, most));
            self.step.go(Step::Confirm, c.t);
            return Status::Running;
        }
        self.confirmed = true;
        // Here and not when the fill begins: the look-ups of that scan are enough for one.
        c.ledger.hoses_most = hoses_full(c);
        self.swallows = swallows(c);
        let Some(p) = c.r.pt1.usable() else { return failed(GiveUp::ReadingBad) };
        if c.cfg.heats() && p < c.cfg.refrigerant.p_sat(c.ambient()).plus(HEAD_START) {
            c.tell(Notice::WarmingVessel);
            self.step.go(Step::Warm, c.t);
        } else {
            self.step.go(Step::Weigh, c.t);
        }
        Status::Running
    }

    fn confirm(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        match c.ask(Question::UnusualCharge) {
            Some(true) => {
                self.confirmed = true;
                self.step.go(Step::Enter, c.t);
                Status::Running
            }
            Some(false) => failed(GiveUp::Declined),
            None if spent > bounds::ANSWER_WAIT => failed(GiveUp::NoAnswer),
            None => Status::Running,
        }
    }

    fn weigh(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
            // A pause may have lasted since the phase began.
            Ok(_) if !c.link.may_charge() => failed(GiveUp::NoLeakVerdict),
            Ok(mass) => {
                (c.ledger.charge_start, c.ledger.charge_begun) = (mass, true);
                c.link.charge_begins();
                self.content = hose_content(c);
                self.step.go(Step::FILL, c.t);
                Status::Running
            }
            Err(status) => status,
        }
    }

    fn fill(&mut self, c: &mut Ctx<'_>, slow: Millis, open: Millis) -> Status {
        c.want = self.open(c);
        let open = if c.on.has(Actuator::Xv5) { open.plus(c.dt) } else { Millis(0) };
        let Some(out) = Self::dispensed(c) else {
            // The scale is doubtful (I20, I08): shut and wait for it in Settle.
            c.want = self.sides(c);
            self.step.go(Step::SETTLE, c.t);
            return Status::Running;
        };
        let rate = flow(c);
        if self.missing(c, out.plus(coming(c))) <= TAIL {
            self.pace.filled(Some(rate).filter(|rate| *rate > STALL_RATE), open);
            c.want = self.sides(c);
            self.step.go(Step::SETTLE, c.t);
            return Status::Running;
        }
        // Couplers that are off or shut by hand: what goes in meets no vehicle (F047).
        let dead = out < self.swallows && backs(c, DEAD_END);
        self.dead_end = if dead { self.dead_end.plus(c.dt) } else { Millis(0) };
        if self.dead_end >= DEAD_END_HELD {
            return failed(GiveUp::NotCoupled);
        }
        let flowing = !c.on.has(Actuator::Xv5) || rate > STALL_RATE;
        let slow = if flowing { Millis(0) } else { slow.plus(c.dt) };
        self.step.at = Step::Fill { slow, open };
        if slow > STALL_TIME {
            return self.stalled(c, out);
        }
        Status::Running
    }

    fn stalled(&mut self, c: &mut Ctx<'_>, out: Milligram) -> Status {
        c.want = self.sides(c);
        c.tell(Notice::ChargeStall(self.missing(c, out)));
        if self.warmings < 3 && c.cfg.heats() {
            self.warmings = self.warmings.saturating_add(1);
            c.tell(Notice::WarmingVessel);
            self.step.go(Step::Warm, c.t);
        } else if !self.low_side_only && c.order.sides != Sides::High {
            self.step.go(Step::Ask, c.t);
        } else {
            return failed(GiveUp::ChargeStalled);
        }
        Status::Running
    }

    /// Warms until the vessel stands well above the pressure it must overcome.
    fn warm(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        c.want = Actuators::HEATER.with(Actuator::K1);
        if c.ledger.charge_begun {
            // What stands in the line keeps its way out (I04).
            c.want = c.want.or(self.sides(c));
        }
        let saturation = c.cfg.refrigerant.p_sat(c.ambient());
        let Some(p) = c.r.pt1.usable() else { return failed(GiveUp::ReadingBad) };
        let against = c.vehicle_pressure().filter(|_| c.ledger.charge_begun).unwrap_or(saturation);
        // Each further warming asks for more head than the last, since the last was not enough.
        let head = HEAD_WARM.0.saturating_mul(i32::from(self.warmings.max(1)));
        if p >= against.plus(AbsPa(head)) || spent > WARM_MAX {
            c.want = Actuators::SAFE;
            self.step.go(if c.ledger.charge_begun { Step::FILL } else { Step::Weigh }, c.t);
        }
        Status::Running
    }

    fn ask(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        match c.ask(Question::RunVehicleCompressor) {
            Some(true) => {
                self.low_side_only = true;
                c.ledger.vehicle_runs = true;
                self.step.go(Step::FILL, c.t);
                Status::Running
            }
            Some(false) => failed(GiveUp::ChargeStalled),
            None if spent > bounds::ANSWER_WAIT => failed(GiveUp::ChargeStalled),
            None => Status::Running,
        }
    }

    fn settle(&mut self, c: &mut Ctx<'_>, spent: Millis, after: Option<Pulse>) -> Status {
        c.want = self.sides(c);
        if spent < REST_LEAST {
            return Status::Running;
        }
        let mass = match at_rest(&c.r.wt1, spent, WEIGH_MAX) {
            Ok(mass) => mass,
            Err(status) => return status,
        };
        let out = c.ledger.charge_start.minus(mass);
        if self.witness.loaded(out) {
            return failed(GiveUp::ScaleDisagrees);
        }
        if let Some(pulse) = after {
            self.pace.learn(pulse.length, out.minus(pulse.before));
        }
        let missing = self.missing(c, out);
        if missing <= CLOSE || self.pulses >= MAX_PULSES {
            self.step.go(Step::Equalise { shut_at: out }, c.t);
            return Status::Running;
        }
        if missing > TAIL.plus(TAIL) && !self.pace.weak() {
            self.step.go(Step::FILL, c.t);
            return Status::Running;
        }
        if self.pace.stalls() {
            return self.stalled(c, out);
        }
        self.pulses = self.pulses.saturating_add(1);
        self.step.go(Step::Pulse(Pulse { length: self.pace.length(missing), before: out }), c.t);
        Status::Running
    }

    fn pulse(&mut self, c: &mut Ctx<'_>, spent: Millis, pulse: Pulse) -> Status {
        // What flows much faster than it was taken to is seen before the pulse is over.
        let enough = Self::dispensed(c).is_some_and(|out| self.missing(c, out.plus(coming(c))) <= Milligram(0));
        if spent >= pulse.length || enough {
            c.want = self.sides(c);
            let pulse = pulse.cut(spent);
            self.step.go(Step::Settle { after: Some(pulse) }, c.t);
        } else {
            c.want = self.open(c);
        }
        Status::Running
    }

    fn equalise(&mut self, c: &mut Ctx<'_>, spent: Millis, shut_at: Milligram) -> Status {
        c.want = self.sides(c);
        if spent < EQUALISE {
            return Status::Running;
        }
        let mass = match at_rest(&c.r.wt1, spent, EQUALISE.plus(WEIGH_MAX)) {
            Ok(mass) => mass,
            Err(status) => return status,
        };
        let out = c.ledger.charge_start.minus(mass);
        if out.minus(shut_at).0.saturating_abs() > DRIFT.0 {
            return failed(GiveUp::ScaleDisagrees);
        }
        if self.missing(c, out) > CLOSE && self.rounds < MAX_ROUNDS {
            self.rounds = self.rounds.saturating_add(1);
            self.step.go(Step::SETTLE, c.t);
            return Status::Running;
        }
        c.ledger.dispensed = out;
        c.ledger.in_hoses = self.content;
        c.tell(Notice::Charged(c.ledger.charged()));
        c.want = Actuators::SAFE;
        DONE
    }
}
