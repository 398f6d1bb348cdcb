//! Identify the gas before anything is drawn in: the vessel has no second chance (hazard H04).
//!
//! Starts coupled. Takes samples between 1.7 and 16 bar (common practice, no source), waits 20 s more below that, needs the
//! operator's word that the sample filter is free of oil, and two samples that agree. Given up after two silent retries
//! or a third disagreement.

use super::bounds;
use super::context::{Ctx, DONE, Status, failed};
use super::step::Stepped;
use crate::fluid::Refrigerant;
use crate::sense::GasReport;
use crate::talk::{Notice, Question};
use crate::units::*;
use crate::verdict::{GasVerdict, GiveUp};

/// Pressure at which a sample flows as it should: 1.7 to 16 bar (common practice, no source).
const WINDOW: (AbsPa, AbsPa) = (AbsPa(170_000), AbsPa(1_600_000));
/// Below this not even the extra wait helps: the sample would be hose air.
const LEAST: AbsPa = AbsPa(125_000);
/// Extra settling below the window (common practice, no source).
const EXTRA_WAIT: Millis = Millis::from_secs(20);
/// A circuit that is too hot may cool for so long (own choice).
const PRESSURE_WAIT: Millis = Millis::from_secs(300);
/// Warm-up and one analysis take some 80 s (own choice of a device); a second sample queues behind none.
const REPORT_WAIT: Millis = Millis::from_secs(180);
/// Two samples agree when the named share differs by no more than this.
const AGREE: i32 = 15;
/// SAE J2099 precondition: 98 % of the named refrigerant.
const PURE: i32 = 980;
/// SAE J2927: more than 2 % hydrocarbon raises the alarm.
const HYDROCARBON: i32 = 20;
/// Air above this is not compressed (own choice; the evacuated way is open instead).
const AIR: i32 = 100;
/// With this much air the circuit is open: there is no refrigerant in it whose kind would matter (I11).
const OPEN: i32 = 950;

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Identify {
    step: Stepped<Step>,
    id: u16,
    first: Option<GasReport>,
    tries: u8,
    told: bool,
    begun: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Pressure,
    Ask,
    Request,
    Wait,
}

step_words!(Identify: Pressure => "pressure", Ask => "ask", Request => "request", Wait => "wait");

/// Share of the declared refrigerant in a report.
pub fn named_share(report: &GasReport, declared: Refrigerant) -> Permille {
    match declared {
        Refrigerant::R1234yf => report.r1234yf,
        Refrigerant::R134a => report.r134a,
    }
}

/// What one report means for a station built for `declared`.
pub fn judge(report: &GasReport, declared: Refrigerant) -> GasVerdict {
    if !report.healthy {
        GasVerdict::Inconclusive
    } else if report.hydrocarbon.0 > HYDROCARBON {
        GasVerdict::FlammableForeign
    } else if report.air.0 >= OPEN {
        // Of so little refrigerant no share can be told.
        GasVerdict::Air
    } else if named_share(report, declared).0 < PURE {
        GasVerdict::Foreign
    } else if report.air.0 > AIR {
        GasVerdict::Air
    } else {
        GasVerdict::Pure
    }
}

impl Identify {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        if !c.r.switches.closed(crate::frame::Switches::ZS2_COUPLED) {
            return failed(GiveUp::NotCoupled);
        }
        if !self.begun {
            self.begun = true;
            c.link.identify_anew();
        }
        c.progress_by_time(Millis::from_secs(80));
        let spent = self.step.spent(c.t);
        match self.step.at {
            Step::Pressure => self.pressure(c, spent),
            Step::Ask => {
                match c.ask(Question::SampleFilterClean) {
                    Some(true) => self.step.go(Step::Request, c.t),
                    Some(false) => return failed(GiveUp::SampleFilterOily),
                    None if spent > bounds::ANSWER_WAIT => return failed(GiveUp::NoAnswer),
                    None => {}
                }
                Status::Running
            }
            Step::Request => {
                // Ids start from the tick so that a device that kept an old report can't match by chance.
                self.id = if self.id == 0 { (c.now.0 >> 4) as u16 | 1 } else { self.id.wrapping_add(1).max(1) };
                c.sample = Some(self.id);
                self.step.go(Step::Wait, c.t);
                Status::Running
            }
            Step::Wait => match c.r.gas {
                Some(report) => self.report(c, report),
                None if spent > REPORT_WAIT => self.again(c),
                None => Status::Running,
            },
        }
    }

    fn pressure(&mut self, c: &mut Ctx<'_>, spent: Millis) -> Status {
        let Some(p) = c.vehicle_pressure() else { return failed(GiveUp::ReadingBad) };
        if p > WINDOW.1 {
            return if spent > PRESSURE_WAIT { failed(GiveUp::PressureTooHigh) } else { Status::Running };
        }
        if p >= WINDOW.0 {
            self.step.go(Step::Ask, c.t);
            return Status::Running;
        }
        if !self.told {
            self.told = true;
            c.tell(Notice::LowSamplePressure(p));
        }
        if spent >= EXTRA_WAIT {
            if p < LEAST {
                return failed(GiveUp::PressureTooLow);
            }
            self.step.go(Step::Ask, c.t);
        }
        Status::Running
    }

    fn again(&mut self, c: &mut Ctx<'_>) -> Status {
        self.tries = self.tries.saturating_add(1);
        if self.tries > 2 {
            let stands = c.link.gas_judged(GasVerdict::Inconclusive, false);
            c.tell(Notice::Gas(stands));
            return failed(GiveUp::IdentifierUnsure);
        }
        self.step.go(Step::Request, c.t);
        Status::Running
    }

    fn report(&mut self, c: &mut Ctx<'_>, report: GasReport) -> Status {
        let declared = c.cfg.refrigerant;
        c.tell(Notice::Sampled(named_share(&report, declared), report.air));
        let verdict = judge(&report, declared);
        if verdict == GasVerdict::Inconclusive {
            // What a device out of its bands said before is in doubt too (I16).
            self.first = None;
            return self.again(c);
        }
        let Some(first) = self.first else {
            self.first = Some(report);
            self.step.go(Step::Request, c.t);
            return Status::Running;
        };
        let apart = named_share(&first, declared).0.saturating_sub(named_share(&report, declared).0).saturating_abs();
        if judge(&first, declared) != verdict || apart > AGREE {
            self.first = Some(report);
            return self.again(c);
        }
        let stands = c.link.gas_judged(verdict, report.air.0 >= OPEN && first.air.0 >= OPEN);
        c.tell(Notice::Gas(stands));
        match stands {
            GasVerdict::Pure => DONE,
            // Nothing that would have to be recovered, and nothing for the vessel either.
            GasVerdict::Air if c.link.open_to_air() => DONE,
            _ if verdict == GasVerdict::Pure => failed(GiveUp::RefusalStands(stands)),
            _ => failed(GiveUp::GasRefused(stands)),
        }
    }
}
