//! Vacuum decay, judged by shape: a leak rises straight, moisture and oil rise and flatten.
//!
//! Starts in vacuum with PT-4 in range. The gauge must move when XV-6 shuts, else it is not believed. The rise of the first
//! thirds is held against the last. Done with a verdict; a wet verdict sends the order back to evacuating, twice at most.
//! It is a gross test: 5e-3 Pa m3/s is some 5 kg of refrigerant a year, and a tight verdict says no more than the limit.

use super::{Ctx, DONE, GiveUp, LeakResult, LeakVerdict, Status, failed};
use crate::fluid::Refrigerant;
use crate::frame::{Actuator, Actuators};
use crate::talk::Notice;
use crate::units::*;

/// Pressures even out along hoses and circuit before the clock starts.
const EQUALISE: Millis = Millis::from_secs(60);
const IN_RANGE: AbsPa = AbsPa(9_500);
/// The gauge must have moved by this much since XV-6 shut, or be seen to flicker.
const LIVE: i32 = 2;
const VALVES: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::K1]);

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LeakCheck {
    entered: bool,
    running: bool,
    begun: Millis,
    at_shut: Option<AbsPa>,
    moved: bool,
    sum: i64,
    count: u32,
    marks: [AbsPa; 4],
    next: u8,
}

impl LeakCheck {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.want = VALVES;
        if !self.entered {
            self.entered = true;
            c.link.hold_anew();
        }
        let Some(p) = c.r.pt4.usable() else {
            return if c.r.pt4.is_bad() { failed(GiveUp::ReadingBad) } else { self.out_of_range(c) };
        };
        if p > IN_RANGE {
            return self.out_of_range(c);
        }
        let first = *self.at_shut.get_or_insert(p);
        if first.minus(p).0.saturating_abs() >= LIVE {
            self.moved = true;
        }
        let whole = EQUALISE.plus(c.order.leak_hold);
        c.progress_by_time(whole);
        if !self.running {
            if c.t >= EQUALISE {
                self.running = true;
                self.begun = c.t;
            }
            return Status::Running;
        }
        self.collect(c, p);
        if self.next >= 4 { self.verdict(c) } else { Status::Running }
    }

    /// Above the gauge's span within the hold: far beyond any limit.
    fn out_of_range(&self, c: &mut Ctx<'_>) -> Status {
        if c.t < EQUALISE && self.at_shut.is_none() {
            return if c.t > Millis(20_000) { failed(GiveUp::PressureForVacuum) } else { Status::Running };
        }
        let rise = IN_RANGE.minus(self.at_shut.unwrap_or_default());
        let q = throughput(held_volume(c), rise, c.t);
        conclude(c, LeakVerdict::Leak, q)
    }

    /// Keeps the mean of five seconds at the start and at each third of the hold.
    fn collect(&mut self, c: &Ctx<'_>, p: AbsPa) {
        let third = c.order.leak_hold.0 / 3;
        let due = self.begun.plus(Millis(third.saturating_mul(u32::from(self.next))));
        if c.t >= due {
            self.sum = self.sum.saturating_add(i64::from(p.0));
            self.count = self.count.saturating_add(1);
            if c.t >= due.plus(Millis(5_000)) {
                let mean = self.sum.checked_div(i64::from(self.count)).unwrap_or(0);
                if let Some(slot) = self.marks.get_mut(usize::from(self.next)) {
                    *slot = AbsPa(i32::try_from(mean).unwrap_or(i32::MAX));
                }
                (self.sum, self.count) = (0, 0);
                self.next = self.next.saturating_add(1);
            }
        }
    }

    fn verdict(&self, c: &mut Ctx<'_>) -> Status {
        let [p0, p1, p2, p3] = self.marks;
        let third = Millis(c.order.leak_hold.0 / 3);
        let volume = held_volume(c);
        let [q1, q2, q3] = [(p0, p1), (p1, p2), (p2, p3)].map(|(a, b)| throughput(volume, b.minus(a), third));
        if !self.moved && p3.minus(p0).0.saturating_abs() < LIVE {
            return failed(GiveUp::GaugeNotLive);
        }
        conclude(c, shape(q1, q2, q3, c.cfg.leak_limit), q3)
    }
}

/// What stands under vacuum: the circuit, and both hoses and the manifold with it, since XV-1 and XV-2 are open.
fn held_volume(c: &Ctx<'_>) -> Microlitre {
    c.order.circuit.plus(c.cfg.hose).plus(c.cfg.hose).plus(c.cfg.manifold)
}

/// Judges three successive throughputs against the limit (all in 1e-6 Pa m3/s).
///
/// Straight means that each third keeps at least three quarters of the one before; anything that bends more is still
/// drying. A bend that has ended in a straight rise above the limit (the last two thirds alike) is a leak that began wet.
pub const fn shape(q1: i32, q2: i32, q3: i32, limit: i32) -> LeakVerdict {
    if q3 > limit {
        if (q3 as i64) * 4 >= (q2 as i64) * 3 { LeakVerdict::Leak } else { LeakVerdict::Moisture }
    } else if q1 > limit || q2 > limit {
        LeakVerdict::Moisture
    } else {
        LeakVerdict::Tight
    }
}

/// Q = V dp/dt in 1e-6 Pa m3/s: 1 uL is 1e-9 m3 and 1 ms is 1e-3 s.
///
/// ```
/// use valvewright_core::{job::leak::throughput, units::*};
/// // 3 L, 2 inHg (6 773 Pa) in 5 min: 6.77e-2 Pa m3/s
/// assert_eq!(throughput(Microlitre(3_000_000), AbsPa(6_773), Millis(300_000)), 67_730);
/// ```
pub fn throughput(volume: Microlitre, rise: AbsPa, time: Millis) -> i32 {
    let product = i64::from(volume.0).saturating_mul(i64::from(rise.0));
    let q = product.checked_div(i64::from(time.0)).unwrap_or(0);
    i32::try_from(q).unwrap_or(if q < 0 { i32::MIN } else { i32::MAX })
}

/// Refrigerant mass per year at 20 degC for a throughput: Q M / (R T) x 365.25 d, in mg.
///
/// ```
/// use valvewright_core::{fluid::Refrigerant, job::leak::milligram_per_year};
/// // 5 g/a of R-134a is 3.785e-6 Pa m3/s, so 1e-4 Pa m3/s is 132 g/a
/// let mg = milligram_per_year(100, Refrigerant::R134a);
/// assert!((131_900..=132_300).contains(&mg), "{mg}");
/// ```
pub const fn milligram_per_year(micro: i32, fluid: Refrigerant) -> i64 {
    // M / (R 293.15 K) x 31 557 600 s: 1 321.0 kg/a per Pa m3/s for R-134a (102.03 g/mol), 1 476.5 for R-1234yf (114.04).
    let mg_per_year_per_micro_e1 = match fluid {
        Refrigerant::R134a => 13_210,
        Refrigerant::R1234yf => 14_765,
    };
    (micro as i64) * mg_per_year_per_micro_e1 / 10
}

fn conclude(c: &mut Ctx<'_>, verdict: LeakVerdict, micro: i32) -> Status {
    let result = LeakResult {
        verdict,
        micro_pa_m3_per_s: micro,
        milligram_per_year: milligram_per_year(micro.max(0), c.cfg.refrigerant),
    };
    let stands = c.link.leak_judged(result);
    c.tell(Notice::Leak(result));
    match stands {
        LeakVerdict::Leak if verdict != LeakVerdict::Leak => failed(GiveUp::LeakStands),
        LeakVerdict::Tight => DONE,
        LeakVerdict::Moisture => failed(GiveUp::StillWet),
        LeakVerdict::Leak | LeakVerdict::Unknown => failed(GiveUp::Leaks),
    }
}
