//! Vacuum decay, judged by shape: a leak rises straight, moisture and oil rise and flatten.
//!
//! Starts in vacuum with PT-4 in range. The rise of the first thirds is held against the last. Done with a verdict; a wet
//! verdict sends the order back to evacuating, twice at most.
//!
//! PT-4 is believed for a pass only where it is proven (I14): it moved since XV-6 shut by more than its noise, or it fell from
//! the top of its span on this connection, and the hose gauges show no rise that it missed.
//! It is a gross test: 5e-3 Pa m3/s is some 5 kg of refrigerant a year, and a tight verdict says no more than the limit.

use super::context::{Ctx, DONE, Status, failed};
use super::evacuate::{HOSE_CLASS, PLATEAU};
use super::step::Stepped;
use crate::fluid::p_sat_water;
use crate::order::Sides;
use crate::sense::{Doubt, Quality};
use crate::talk::Notice;
use crate::units::*;
use crate::verdict::{GiveUp, LeakResult, LeakVerdict};

/// Pressures even out along hoses and circuit before the clock starts.
const EQUALISE: Millis = Millis::from_secs(60);
/// The upper end of PT-4 less its class.
const IN_RANGE: AbsPa = AbsPa(9_500);
/// Movement of PT-4 that its noise of 1 Pa (sigma, before the filter) does not make (own choice).
const LIVE: i32 = 10;
/// A rise of both hose gauges that PT-4 missed: 1 part in 7 000 of their span, five times their noise (own choice).
const MISSED_RISE: AbsPa = AbsPa(500);
/// A vapour pressure that has been reached creeps with the warming walls, by no more than this share of itself in the hold:
/// water gains 6.5 % a kelvin (own choice).
const CREEP: i32 = 10;
/// Warmest place of the circuit over ambient, for the highest vapour pressure of water in it (own choice).
const WARMER: CentiKelvin = CentiKelvin(200);
/// Water freezes here (TT-4).
const FREEZING: CentiKelvin = CentiKelvin(27_315);
/// Ice that a pump chilled by 20 K still stands at more than this share of the vapour pressure of water at TT-4 (own choice).
const ICE_SHARE: i32 = 8;
/// Time over which a mark is the mean: a hundred scans (own choice).
const MEAN: Millis = Millis::from_secs(5);
/// A gauge that was never in its span by then stands on no vacuum (own choice).
const NO_VACUUM: Millis = Millis::from_secs(20);
/// A pause between two scans that a hold does not bear: a fifth of the time over which a mark is the mean (own choice).
const GAP: Millis = Millis::from_secs(1);
/// How long PT-4 may be too noisy to be used (own choice).
const JUMPY_MAX: Millis = Millis::from_secs(30);
/// How long PT-4 must stand above its span, so that a spike is no leak (own choice).
const OVER_HELD: Millis = Millis::from_secs(2);
/// Two means of PT-4 differ by this much without a change: a whole pascal of resolution each (its noise of 1 Pa is gone in a
/// mean of 100 scans).
const NOISE: AbsPa = AbsPa(2);
/// And by this part of the pressure: three kelvin of warmth change a gas by one part in a hundred (own choice).
const DRIFT: i32 = 100;

/// Below this an evacuation leaves next to nothing that boils on: the tight circuits that rose like leaks in ten thousand drawn
/// jobs had stood at 1 mbar or more (own figures).
const SHALLOW: AbsPa = AbsPa(50);
/// And after this time (own choice).
const SHORT: Millis = Millis::from_secs(600);
/// What P-1 draws in a second at the least: some half of its 70 L/min, behind a hose (own choice).
const DRAWS: Microlitre = Microlitre(500_000);
/// A leak that the pump drew off to its last pressure comes in again in the hold. Water and oil give off less then: a quarter leaves room
/// for a leak that warms or chokes (own choice).
const LEAKS_PART: i32 = 4;
/// A leak into vacuum is choked and brings the same in each third, what is given off less by more than this part (own choice).
const BEND: i32 = 8;
/// Through one coupler it takes longer.
const fn equalise(c: &Ctx<'_>) -> Millis {
    Millis(EQUALISE.0.saturating_mul(c.slower()))
}

/// State of the phase.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LeakCheck {
    step: Stepped<Step>,
    jumpy: Millis,
    over: Millis,
    entered: bool,
    at_shut: Option<AbsPa>,
    hoses_at_shut: Option<[AbsPa; 2]>,
    moved: bool,
    marks: [AbsPa; 4],
    /// Which mark is due next, and what there is of the five seconds of which it is the mean.
    next: u8,
    sum: i64,
    count: u32,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Step {
    #[default]
    Equalise,
    Hold,
}

step_words!(LeakCheck: Equalise => "equalise", Hold => "hold");

impl LeakCheck {
    pub(super) fn step(&mut self, c: &mut Ctx<'_>) -> Status {
        c.want = c.couplers();
        if !self.entered {
            self.entered = true;
            c.link.hold_anew();
        }
        if c.dt > GAP {
            self.begin_anew(c.t);
        }
        let Some(p) = c.r.pt4.usable() else {
            return match c.r.pt4.quality {
                Quality::Uncertain(Doubt::Jumpy) => self.jumpy(c.dt),
                Quality::Uncertain(_) => self.out_of_range(c),
                _ => failed(GiveUp::ReadingBad),
            };
        };
        self.jumpy = Millis(0);
        if p > IN_RANGE {
            return self.out_of_range(c);
        }
        self.over = Millis(0);
        if self.at_shut.is_none() {
            self.hoses_at_shut = hoses(c);
        }
        let first = *self.at_shut.get_or_insert(p);
        if first.minus(p).0.saturating_abs() >= LIVE {
            self.moved = true;
        }
        let equalise = equalise(c);
        let whole = equalise.plus(c.order.leak_hold);
        c.progress_by_time(whole);
        let spent = self.step.spent(c.t);
        match self.step.at {
            Step::Equalise if spent >= equalise => self.step.go(Step::Hold, c.t),
            Step::Equalise => {}
            Step::Hold => {
                self.collect(p, spent, Millis(c.order.leak_hold.0 / 3));
                if self.next >= 4 {
                    return self.verdict(c);
                }
            }
        }
        Status::Running
    }

    /// A rise that nobody watched has no shape: the hold starts over.
    fn begin_anew(&mut self, t: Millis) {
        self.step.go(Step::Equalise, t);
        (self.next, self.sum, self.count) = (0, 0, 0);
    }

    fn jumpy(&mut self, dt: Millis) -> Status {
        self.jumpy = self.jumpy.plus(dt);
        if self.jumpy > JUMPY_MAX { failed(GiveUp::ReadingBad) } else { Status::Running }
    }

    /// Above the gauge's span within the hold: far beyond any limit.
    fn out_of_range(&mut self, c: &mut Ctx<'_>) -> Status {
        self.over = self.over.plus(c.dt);
        if self.over < OVER_HELD {
            return Status::Running;
        }
        if c.t < equalise(c) && self.at_shut.is_none() {
            return if c.t > NO_VACUUM { failed(GiveUp::PressureForVacuum) } else { Status::Running };
        }
        if let Some(shallow) = self.too_shallow(c, false) {
            return failed(shallow);
        }
        let rise = IN_RANGE.minus(self.at_shut.unwrap_or_default());
        let q = throughput(held_volume(c), rise, c.t);
        conclude(c, LeakVerdict::Leak, q, smallest(held_volume(c), IN_RANGE, c.t))
    }

    /// Keeps the mean of five seconds at the start and at each third of the hold.
    fn collect(&mut self, p: AbsPa, spent: Millis, third: Millis) {
        let due = Millis(third.0.saturating_mul(u32::from(self.next)));
        if spent < due {
            return;
        }
        self.sum = self.sum.saturating_add(i64::from(p.0));
        self.count = self.count.saturating_add(1);
        if spent >= due.plus(MEAN) {
            let mean = self.sum.checked_div(i64::from(self.count)).unwrap_or(0);
            if let Some(slot) = self.marks.get_mut(usize::from(self.next)) {
                *slot = AbsPa(i32::try_from(mean).unwrap_or(i32::MAX));
            }
            (self.next, self.sum, self.count) = (self.next.saturating_add(1), 0, 0);
        }
    }

    fn verdict(&self, c: &mut Ctx<'_>) -> Status {
        let [p0, p1, p2, p3] = self.marks;
        let third = Millis(c.order.leak_hold.0 / 3);
        let volume = held_volume(c);
        let [q1, q2, q3] = [(p0, p1), (p1, p2), (p2, p3)].map(|(a, b)| throughput(volume, b.minus(a), third));
        let verdict = match shape(q1, q2, q3, c.cfg.leak_limit) {
            LeakVerdict::Leak if saturated(p0, p3, c.ambient()) || may_boil(c, p2, p3) => LeakVerdict::Moisture,
            LeakVerdict::Tight if c.link.shallow() || may_be_ice(p3, c.ambient()) => LeakVerdict::Moisture,
            verdict => verdict,
        };
        if verdict == LeakVerdict::Tight && !self.proven(c, p3) {
            return failed(GiveUp::GaugeNotLive);
        }
        if let (LeakVerdict::Leak, Some(shallow)) = (verdict, self.too_shallow(c, self.gives_off(c, p3, [q1, q3]))) {
            return failed(shallow);
        }
        conclude(c, verdict, q3, smallest(volume, p3, third))
    }

    /// A short evacuation that ended shallow leaves liquid and oil that give off gas as steadily as a leak: evacuated once more,
    /// they give less and a leak the same. The last time allowed it is a leak, but where it is seen to be what is given off.
    fn too_shallow(&self, c: &Ctx<'_>, given_off: bool) -> Option<GiveUp> {
        let shut = self.at_shut.unwrap_or(IN_RANGE);
        let short = c.order.evacuate < SHORT && (shut >= SHALLOW || c.link.shallow());
        (short && (c.may_repeat || given_off)).then_some(GiveUp::TooShallow(shut))
    }

    /// The pump was held up in water's range by far more than rises in the hold, where a leak would have let it come well below; and the
    /// rise ends no higher than water stands, and bends.
    fn gives_off(&self, c: &Ctx<'_>, p3: AbsPa, [q1, q3]: [i32; 2]) -> bool {
        let shut = self.at_shut.unwrap_or_default();
        let drew = throughput(DRAWS, shut, Millis::from_secs(1));
        let held_up = shut >= PLATEAU.0 && q3.saturating_mul(LEAKS_PART) < drew;
        held_up && q3 < q1.saturating_sub(q1 / BEND) && p3 <= p_sat_water(c.ambient().plus(WARMER))
    }

    /// Whether a pass may rest on PT-4.
    fn proven(&self, c: &Ctx<'_>, p: AbsPa) -> bool {
        let rise = p.minus(self.at_shut.unwrap_or(p));
        let seconded = match (hoses(c), self.hoses_at_shut) {
            (Some(now), Some(then)) => {
                let [low, high] = now;
                let near = [low, high].iter().any(|h| h.minus(p).0.saturating_abs() <= HOSE_CLASS.0);
                let [low_then, high_then] = then;
                let missed = low.minus(low_then).or_less(high.minus(high_then)).minus(rise);
                near && missed <= MISSED_RISE
            }
            _ => false,
        };
        seconded && (self.moved || c.link.gauge_proven())
    }
}

/// Both hose pressures, while they may be used.
pub(super) fn hoses(c: &Ctx<'_>) -> Option<[AbsPa; 2]> {
    match c.order.sides {
        Sides::Both => Some([c.r.pt2.usable()?, c.r.pt3.usable()?]),
        Sides::Low | Sides::High => c.vehicle_pressure().map(|p| [p, p]),
    }
}

/// Whether a slow rise from `p0` to `p3` over the hold is the vapour pressure of water in walls that warm: it stood when
/// pressures had evened out, has crept since, and lies no higher than water can. A leak passes through; it does not stop.
///
/// ```
/// use valvewright_core::{job::leak::saturated, units::*};
/// let shop = CentiKelvin::from_centi_celsius(2_200); // water: 26.4 mbar
/// assert!(saturated(AbsPa(2_040), AbsPa(2_160), shop));
/// assert!(!saturated(AbsPa(2_040), AbsPa(2_400), shop), "too fast");
/// assert!(!saturated(AbsPa(5_000), AbsPa(5_100), shop), "too high for water");
/// ```
pub fn saturated(p0: AbsPa, p3: AbsPa, ambient: CentiKelvin) -> bool {
    p3.minus(p0).0.saturating_mul(CREEP) <= p0.0 && p3 <= p_sat_water(ambient.plus(WARMER))
}

/// A straight rise behind an evacuation that did not come to its depth, slow in its last third and no higher than water can stand: water
/// that the pump chilled rises so while it warms. A leak that keeps a pump from its depth of some millibar brings far more in a hold.
fn may_boil(c: &Ctx<'_>, p2: AbsPa, p3: AbsPa) -> bool {
    c.link.shallow() && saturated(p2, p3, c.ambient())
}

/// Whether a hold that ended at this pressure leaves room for ice. It gives off little, so that no plateau shows, and what it stands at
/// passes for a good vacuum; only a hold that ends well below it excludes it.
///
/// ```
/// use valvewright_core::{job::leak::may_be_ice, units::*};
/// let frost = CentiKelvin::from_centi_celsius(-1_000); // ice: 2.6 mbar
/// assert!(may_be_ice(AbsPa(249), frost) && !may_be_ice(AbsPa(20), frost));
/// assert!(!may_be_ice(AbsPa(249), CentiKelvin::from_centi_celsius(500)), "water boils there");
/// ```
pub fn may_be_ice(p: AbsPa, ambient: CentiKelvin) -> bool {
    ambient < FREEZING && p.0.saturating_mul(ICE_SHARE) >= p_sat_water(ambient).0
}

/// What stands under vacuum: the circuit, and with it the hoses that are on it and the manifold.
fn held_volume(c: &Ctx<'_>) -> Microlitre {
    let hoses = if c.order.sides == Sides::Both { c.cfg.hose.plus(c.cfg.hose) } else { c.cfg.hose };
    c.order.circuit.plus(hoses).plus(c.cfg.manifold)
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

/// Smallest throughput that a rise to `p` over `time` tells from noise and drift, in 1e-6 Pa m3/s.
///
/// ```
/// use valvewright_core::{job::leak::smallest, units::*};
/// // 3.6 L at 20 Pa, 100 s: 2.2 Pa are 79e-6 Pa m3/s, some 117 g of R-1234yf a year
/// assert_eq!(smallest(Microlitre(3_600_000), AbsPa(20), Millis(100_000)), 79);
/// ```
pub fn smallest(volume: Microlitre, p: AbsPa, time: Millis) -> i32 {
    // Tenths of a pascal, so that the share of a low pressure is not rounded away.
    let tenths = NOISE.0.saturating_mul(10).saturating_add(p.0.max(0).saturating_mul(10) / DRIFT);
    throughput(volume, AbsPa(tenths), time) / 10
}

fn conclude(c: &mut Ctx<'_>, verdict: LeakVerdict, micro: i32, smallest: i32) -> Status {
    let result = LeakResult {
        verdict,
        micro_pa_m3_per_s: micro,
        smallest_micro: smallest,
        refrigerant: Some(c.cfg.refrigerant),
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
