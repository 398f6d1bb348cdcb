//! An effect is checked, not assumed: after a move, current, pressure, temperature or mass must follow in time (I08, I12, I19,
//! I20).
//!
//! Watches what was really energised last scan. It never decides; it gives facts to the interlock table. That something did
//! not happen, or did, must have been watched: a late scan counts as no more than five scans, so that one of them decides
//! nothing and any number of them still decide. Only the time the heater is on counts in full, because it heats unwatched too.

mod arrival;
mod creep;
mod stray;

use crate::config::StationConfig;
use crate::frame::{Actuator, Actuators};
use crate::sense::Readings;
use crate::units::*;
use arrival::Arrival;
use creep::Creep;
use stray::Stray;

/// Motor current above this is running, below it is not (rated some 3 A; own choice).
const RUNNING: Milliamp = Milliamp(700);
/// A motor reaches its running current, or loses it, within a second; half of another leaves the filter its lag, and the two seconds of F064
/// their last half for the relay (own choice).
const CURRENT_TIME: Millis = Millis(1_500);
/// How long pressure or mass may take to show that a pull works (own choice; design: within 5 s where nothing boils).
const FOLLOW_TIME: Millis = Millis::from_secs(30);
/// Charge still flowing this long after both charge valves shut, at this rate (fault F053).
const SHUT_TIME: Millis = Millis(4_000);
/// Above what a shaken scale shows as a rate over one second (own choice).
const SHUT_RATE: MilligramPerS = MilligramPerS(-2_500);
/// I12: with the heater on the wall must warm by this in this time. 300 W warm the full vessel by 2 K in 120 s; a tenth of that is
/// left where losses eat most of it, and is ten times the noise of TT-1 behind its filter (own figures).
const WARM_RISE: CentiKelvin = CentiKelvin(20);
/// The 120 s of I12, less what contactors and a late scan take (own choice).
const WARM_TIME: Millis = Millis::from_secs(119);
/// I12: with one contactor of the heater on, TT-3 warmer by this is heat that only a welded other one lets through: 300 W warm it
/// by 10 K within the lead, and the last warming may still show by 1 K (own figures).
const WELDED_RISE: CentiKelvin = CentiKelvin(200);
/// TT-3 lags 5 s: what it shows first may still be the last warming (own choice).
const WELDED_FROM: Millis = Millis::from_secs(5);
/// I19: an oil bottle that gains or loses this while its valve is shut; vibration is 0.3 g, and 5 g are what H13 and a compressor's
/// oil fill bear (own choice).
const BOTTLE: Milligram = Milligram(5_000);
/// A valve's stroke and the scale's filter.
const BOTTLE_QUIET: Millis = Millis::from_secs(4);
/// A knock is over sooner (F025: 2 s).
const BOTTLE_HELD: Millis = Millis::from_secs(2);
/// How long after the last valve or motor was on oil may still drain from the separator (own choice; it holds half a litre).
const DRAINS_MAX: Millis = Millis::from_secs(900);
/// I19: hoses at this or more have something to pull (own choice).
const PULLS_FROM: AbsPa = AbsPa(200_000);
/// What a pull shows by: ten times the noise of a hose gauge,
const FALLS: AbsPa = AbsPa(5_000);
/// or more than the vessel scale shakes (3 g).
const GAINS: Milligram = Milligram(5_000);
/// I19: below this the vacuum pump may take its time, for liquid boils (own choice).
const PUMPS_FROM: AbsPa = AbsPa(50_000);
/// I08: measured over modelled rate outside 0.3-3 for 2 s.
const FLOW_TIME: Millis = Millis(2_000);
/// A vessel that gains faster than this while liquid leaves it carries a load that was put on: above what a shaken scale shows as a rate
/// over one second (own choice).
const GAINING: i64 = 2_500;
/// Below this modelled rate a stall is normal: 15 kPa of head, not far above what two gauges may differ by (own choice).
pub const FLOW_LEAST: MilligramPerS = MilligramPerS(4_000);
/// Valves stroke, the hose fills and the scale follows before a rate means anything (own figure).
const FLOW_START: Millis = Millis(2_500);

/// State of the checks.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Effects {
    current_wrong: Millis,
    pulling: Millis,
    pulling_from: Option<(AbsPa, Milligram)>,
    pumping: Millis,
    pumping_from: Option<AbsPa>,
    charging: Millis,
    flow_off: Millis,
    shut: Millis,
    creep: Creep,
    warming: Millis,
    warming_from: Option<CentiKelvin>,
    bottles: Millis,
    bottles_wrong: Millis,
    bottles_from: [Option<Milligram>; 2],
    rested: Millis,
    arrival: Arrival,
    alone: Millis,
    alone_from: Option<CentiKelvin>,
    welded: bool,
    hose: Stray,
    mismatch: bool,
    flow_wrong: bool,
}

/// Saturated liquid passes at most this many hundredths of its area times the slope of its saturation pressure, kg/s of m2 Pa/K:
/// see [`charge_model`].
const BOILING_HUNDREDTHS: i64 = 38;
/// Half of the kelvin over which the slope of the saturation pressure is taken.
const HALF_KELVIN: CentiKelvin = CentiKelvin(50);

/// Flux of liquid that does not boil, sqrt(2 x 1100 kg/m3 x dp), kg/(m2 s).
fn liquid_flux(dp: i64) -> i64 {
    i64::from(isqrt(u64::try_from(dp.saturating_mul(2_200)).unwrap_or(0)) as u32)
}

/// Flow of liquid that boils in the charge valve, from the vessel against `line`; `None` where the vessel's pressure can't be read.
///
/// Saturated liquid passes at most Cd A 0.38 dp_sat/dT, whatever stands behind the valve: the equilibrium limit
/// dp/dT sqrt(T/c) with T = 293 K and c = 1 300 J/(kg K), times 0.8 (within 10 % of homogeneous equilibrium at 0 to 40 degC for
/// both fluids). What the vessel stands above saturation adds sqrt(2 rho dp), rho taken as 1 100 kg/m3 for both fluids; and no
/// more passes than unboiling liquid would.
pub fn charge_model(r: &Readings, line: AbsPa, cfg: &StationConfig) -> Option<MilligramPerS> {
    let vessel = r.pt1.usable()?;
    let still = liquid_flux(i64::from(vessel.minus(line).0.max(0)));
    let boiling = r.tt1.usable().map_or(still, |t| {
        let fluid = cfg.refrigerant;
        let (above, below) = (fluid.p_sat(t.plus(HALF_KELVIN)), fluid.p_sat(t.minus(HALF_KELVIN)));
        let rise = above.minus(below).0;
        // Saturation at `t` lies less than 0.1 kPa below the middle of the two; a third look-up would cost more than that is worth.
        let over = vessel.minus(below).0.saturating_sub(rise / 2).max(0);
        (i64::from(rise).saturating_mul(BOILING_HUNDREDTHS) / 100).saturating_add(liquid_flux(i64::from(over)))
    });
    // mg/s = area[1e-9 m2] x flux[kg/(m2 s)] x 1e-9 x 1e6
    let model = i64::from(cfg.charge_area_e9).saturating_mul(still.min(boiling)) / 1_000;
    Some(MilligramPerS(i32::try_from(model).unwrap_or(i32::MAX)))
}

/// Which effect did not follow its command.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unfollowed {
    /// Motor current of C-1 against its contactor.
    Current,
    /// Pressure or mass while C-1 draws from the hoses.
    Pull,
    /// Hose pressure while P-1 pumps.
    Pump,
    /// Mass of the vessel after its ways out were shut.
    Shut,
    /// An oil bottle whose valve is shut.
    Bottle,
    /// What C-1 draws arrives in the vessel.
    Arrival,
}

impl Effects {
    /// I19: an effect did not follow.
    pub const fn mismatch(&self) -> bool {
        self.mismatch
    }
    /// Which one, in the scan in which it was found; of several the first of the list.
    pub fn unfollowed(&self) -> Option<Unfollowed> {
        let late = [
            (self.current_wrong > CURRENT_TIME, Unfollowed::Current),
            (self.pulling > FOLLOW_TIME, Unfollowed::Pull),
            (self.pumping > FOLLOW_TIME, Unfollowed::Pump),
            (self.shut > SHUT_TIME, Unfollowed::Shut),
            (self.bottles_wrong > BOTTLE_HELD, Unfollowed::Bottle),
        ];
        let found = late.into_iter().find(|(late, _)| *late).map(|(_, which)| which);
        found.or(Some(Unfollowed::Arrival)).filter(|_| self.mismatch)
    }
    /// I08: charge flow does not fit the model.
    pub const fn flow_wrong(&self) -> bool {
        self.flow_wrong
    }
    /// I20: mass moves with every valve shut.
    pub const fn creeping(&self) -> bool {
        self.creep.found()
    }

    /// More arrives in the vessel than gas can be: LS-2 should have said so.
    pub fn carries_liquid(&self) -> bool {
        self.arrival.liquid()
    }

    /// I12: the heater is on and the wall does not warm.
    pub fn heats_nothing(&self) -> bool {
        self.warming > WARM_TIME
    }

    /// I12: the heater warms with one of its contactors off.
    pub const fn heater_welded(&self) -> bool {
        self.welded
    }

    /// One scan.
    /// `hanging` is the service valve of a hose that is on no vehicle in this order.
    pub fn step(&mut self, dt: Millis, r: &Readings, on: Actuators, hanging: Actuators, cfg: &StationConfig) {
        self.warm(dt, r, on);
        let dt = dt.or_less(Millis(cfg.scan.0.saturating_mul(5)));
        let followed = self.current(dt, r, on) | self.pull(dt, r, on) | self.pump(dt, r, on) | self.shut(dt, r, on);
        self.mismatch = followed
            | self.bottles(dt, r, on)
            | self.hose.moves(dt, r, on, hanging)
            | self.arrival.astray(dt, r, on, cfg);
        self.contactors(dt, r, on);
        self.flow(dt, r, on, cfg);
        self.creep.step(dt, r, on);
    }

    /// A reference weight is put on the platform of the vessel or taken off in this scan.
    pub(crate) fn load_moved_by_hand(&mut self) {
        self.creep.moved_by_hand();
    }

    /// Motor current follows the contactor (F064 welded, F065 does not start).
    fn current(&mut self, dt: Millis, r: &Readings, on: Actuators) -> bool {
        let runs = r.it1.usable().map(|i| i > RUNNING);
        let wrong = runs.is_some_and(|runs| runs != on.has(Actuator::C1));
        self.current_wrong = if wrong { self.current_wrong.plus(dt) } else { Millis(0) };
        self.current_wrong > CURRENT_TIME
    }

    /// With the recovery path open on real pressure, pressure falls or the vessel gains.
    fn pull(&mut self, dt: Millis, r: &Readings, on: Actuators) -> bool {
        let path = on.has(Actuator::C1) && on.has(Actuator::Xv3) && (on.has(Actuator::Xv1) || on.has(Actuator::Xv2));
        let (true, Some(p), Some(m)) = (path, r.pressure_behind(on), r.wt1.mass.usable()) else {
            (self.pulling, self.pulling_from) = (Millis(0), None);
            return false;
        };
        let (p0, m0) = *self.pulling_from.get_or_insert((p, m));
        if p0 < PULLS_FROM || p < p0.minus(FALLS) || m > m0.plus(GAINS) {
            // Seen to work: watch again from here.
            (self.pulling, self.pulling_from) = (Millis(0), Some((p, m)));
            return false;
        }
        self.pulling = self.pulling.plus(dt);
        self.pulling > FOLLOW_TIME
    }

    /// With the pump on the circuit, pressure falls by a tenth while there is something to fall.
    fn pump(&mut self, dt: Millis, r: &Readings, on: Actuators) -> bool {
        let path = on.has(Actuator::P1) && on.has(Actuator::Xv6) && (on.has(Actuator::Xv1) || on.has(Actuator::Xv2));
        let (true, Some(p)) = (path, r.pressure_behind(on)) else {
            (self.pumping, self.pumping_from) = (Millis(0), None);
            return false;
        };
        let p0 = *self.pumping_from.get_or_insert(p);
        if p0 < PUMPS_FROM || i64::from(p.0) * 10 < i64::from(p0.0) * 9 {
            self.pumping = Millis(0);
            return false;
        }
        self.pumping = self.pumping.plus(dt);
        self.pumping > FOLLOW_TIME
    }

    /// With both charge valves shut, the vessel stops losing mass.
    fn shut(&mut self, dt: Millis, r: &Readings, on: Actuators) -> bool {
        /// Ways out of the vessel, and motors that shake it.
        const OUT: Actuators =
            Actuators::of(&[Actuator::Xv5, Actuator::Xv10, Actuator::Xv7, Actuator::C1, Actuator::P1]);
        let losing = on.and(OUT).is_empty() && r.wt1.mass.usable().is_some() && r.wt1.rate < SHUT_RATE;
        self.shut = if losing { self.shut.plus(dt) } else { Millis(0) };
        self.shut > SHUT_TIME
    }

    /// An oil bottle stands while its valve is shut, whatever pulls or pushes (XV-8, XV-9 stuck open or leaking by). What they weighed
    /// last at rest counts, since the worst comes in the first seconds; the used-oil bottle is watched through rests too, for oil
    /// drains by its own weight. A scale that is shaken or lost begins anew: a bottle that is exchanged makes it jump, oil does not.
    fn bottles(&mut self, dt: Millis, r: &Readings, on: Actuators) -> bool {
        /// The valves of the two bottles.
        const VALVES: Actuators = Actuators::of(&[Actuator::Xv8, Actuator::Xv9]);
        let rests = on.without(Actuators::HEATER.with(Actuator::K1)).is_empty();
        self.rested = if rests { self.rested.plus(dt) } else { Millis(0) };
        self.bottles = if on.and(VALVES).is_empty() { self.bottles.plus(dt) } else { Millis(0) };
        let settled = self.bottles >= BOTTLE_QUIET;
        let mut wrong = false;
        let watched = [(&r.wt2, self.rested > DRAINS_MAX), (&r.wt3, rests)];
        for (from, (weight, free)) in self.bottles_from.iter_mut().zip(watched) {
            let Some(mass) = weight.mass.usable().filter(|_| settled) else {
                *from = None;
                continue;
            };
            if free {
                *from = Some(mass);
            }
            wrong |= mass.minus(*from.get_or_insert(mass)).0.saturating_abs() > BOTTLE.0;
        }
        self.bottles_wrong = if wrong { self.bottles_wrong.plus(dt) } else { Millis(0) };
        self.bottles_wrong > BOTTLE_HELD
    }

    /// One contactor of the heater alone warms nothing.
    fn contactors(&mut self, dt: Millis, r: &Readings, on: Actuators) {
        if on.has(Actuator::H1) == on.has(Actuator::H2) {
            (self.alone, self.alone_from, self.welded) = (Millis(0), None, false);
            return;
        }
        self.alone = self.alone.plus(dt);
        let Some(skin) = r.tt3.usable().filter(|_| self.alone >= WELDED_FROM) else { return };
        self.welded |= skin >= self.alone_from.get_or_insert(skin).plus(WELDED_RISE);
    }

    /// Charge rate against [`charge_model`] (the band is 0.3 to 3).
    fn flow(&mut self, dt: Millis, r: &Readings, on: Actuators, cfg: &StationConfig) {
        let open = on.has(Actuator::Xv5) && on.has(Actuator::Xv10);
        self.charging = if open { self.charging.plus(dt) } else { Millis(0) };
        let flows = self.charging > FLOW_START;
        let Some(model) = r.pressure_behind(on).filter(|_| flows).and_then(|line| charge_model(r, line, cfg)) else {
            (self.flow_off, self.flow_wrong) = (Millis(0), false);
            return;
        };
        let (model, seen) = (i64::from(model.0), i64::from(r.wt1.rate.0.saturating_neg()));
        let wrong = model > i64::from(FLOW_LEAST.0)
            && (seen.saturating_mul(10) < model.saturating_mul(3) || seen > model.saturating_mul(3));
        self.flow_off = if wrong { self.flow_off.plus(dt) } else { Millis(0) };
        self.flow_wrong = self.flow_off > FLOW_TIME || wrong && seen < -GAINING;
    }

    /// With the heater on the wall warms. A TT-1 that can't be used shows no rise.
    fn warm(&mut self, dt: Millis, r: &Readings, on: Actuators) {
        if on.and(Actuators::HEATER) != Actuators::HEATER {
            (self.warming, self.warming_from) = (Millis(0), None);
            return;
        }
        self.warming = self.warming.plus(dt);
        if let Some(t) = r.tt1.usable()
            && t >= self.warming_from.get_or_insert(t).plus(WARM_RISE)
        {
            (self.warming, self.warming_from) = (Millis(0), Some(t));
        }
    }
}
