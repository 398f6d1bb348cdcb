//! What hoses and charge line hold: liquid between shut valves (I04), a coupler or hose that comes open, and when they may come off (I31).
//!
//! From power-on the line counts as full of liquid and the hoses as loaded: nobody saw them emptied.

use crate::frame::{Actuator, Actuators};
use crate::row::{Watch, WatchSet};
use crate::sense::Readings;
use crate::units::{AbsPa, Millis};

/// The service valves.
const SERVICE: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2]);
/// Ways that draw from the hoses.
const DRAWS: Actuators = Actuators::of(&[Actuator::Xv3, Actuator::Xv6]);
/// Ways that fill them.
const FEEDS: Actuators = Actuators::of(&[Actuator::Xv5, Actuator::Xv9, Actuator::Xv10]);
/// Every way to or from a hose.
const WAYS: Actuators = SERVICE.or(DRAWS).or(FEEDS);
/// What a row shuts when a hose comes open.
const OPEN: Actuators = Actuators::of(&[Actuator::Xv1, Actuator::Xv2, Actuator::Xv5, Actuator::Xv10]);
/// Liquid has run into the vehicle or evaporated when the line was led out for so long (own figure: some 40 s).
const LED_OUT: Millis = Millis::from_secs(60);
/// The 1.3 bar abs of I31.
const SAFE_PRESSURE: AbsPa = AbsPa(130_000);
/// The 30 s of I31.
const STEADY_TIME: Millis = Millis::from_secs(30);
/// Rise within them that is steady: what oil still gives off is less, liquid that boils is more (own choice).
const STEADY: AbsPa = AbsPa(20_000);
/// The 1 bar/s of I31, in Pa per millisecond.
const FASTEST: u32 = 100;
/// What a hose falls by beyond that before it counts: a step that a filter lags behind, ten times the class of a gauge (own choice).
const FALL: AbsPa = AbsPa(50_000);
/// Hoses and manifold even out after a valve has moved (own figure: within 2 s).
const SETTLED: Millis = Millis::from_secs(3);

/// What is known of hoses and line.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Hoses {
    ways: Actuators,
    settled: Millis,
    /// PT-2 and PT-3 as they would be if they had fallen no faster than they may.
    marks: [AbsPa; 2],
    falls: bool,
    coupled: bool,
    came_off: bool,
    /// The line may hold liquid, and how long it has been led out since it last came.
    liquid: bool,
    led: Millis,
    /// The compressor drew the hoses down to the end of a recovery, and nothing has filled them since.
    pulled: bool,
    steady_from: AbsPa,
    steady: Millis,
    /// The service valves through which the hoses were seen empty; none while they are not.
    free: Actuators,
}

impl Default for Hoses {
    fn default() -> Self {
        Self {
            ways: Actuators::NONE,
            settled: Millis(0),
            marks: [AbsPa(0); 2],
            falls: false,
            coupled: false,
            came_off: false,
            liquid: true,
            led: Millis(0),
            pulled: false,
            steady_from: AbsPa(0),
            steady: Millis(0),
            free: Actuators::NONE,
        }
    }
}

impl Hoses {
    pub(super) fn step(&mut self, dt: Millis, watched: Millis, r: &Readings, on: Actuators, stirred: bool) {
        let ways = on.and(WAYS);
        self.settled = if ways == self.ways { self.settled.plus(dt) } else { Millis(0) };
        self.ways = ways;
        self.fall(dt, r, stirred);
        self.line(watched);
    }

    /// A hose that falls faster than anything but our own valves draws it is open somewhere. It counts while a way of ours feeds it and
    /// none draws from it, and not while the vehicle's compressor does. With all ways shut the row has nothing to shut.
    fn fall(&mut self, dt: Millis, r: &Readings, stirred: bool) {
        let leads = !self.ways.and(OPEN).is_empty() && self.ways.and(DRAWS).is_empty();
        let watched = leads && self.settled >= SETTLED && !stirred;
        let may = AbsPa(i32::try_from(dt.0.saturating_mul(FASTEST)).unwrap_or(i32::MAX));
        self.falls = false;
        for (mark, gauge) in self.marks.iter_mut().zip([&r.pt2, &r.pt3]) {
            let p = gauge.value;
            *mark = if watched { p.or_more(mark.minus(may)) } else { p };
            self.falls |= mark.minus(p) > FALL;
        }
    }

    /// Liquid comes through XV-5. It has left once XV-1 or XV-2 led the line to the vehicle, the compressor or the pump for long enough.
    fn line(&mut self, watched: Millis) {
        if self.ways.has(Actuator::Xv5) {
            (self.liquid, self.led) = (true, Millis(0));
        } else if self.liquid {
            self.led = if self.led_out() { self.led.plus(watched) } else { Millis(0) };
            self.liquid = self.led < LED_OUT;
        }
    }

    fn led_out(&self) -> bool {
        !self.ways.and(SERVICE).is_empty()
    }

    /// Emptied by the compressor, then steady below the safe pressure with the service valves open to the manifold and nothing else.
    pub(super) fn empty(&mut self, watched: Millis, r: &Readings, on: Actuators, end: AbsPa) {
        let seen_by = if self.led_out() { on } else { self.free };
        let p = r.pressure_behind(seen_by).filter(|p| *p <= SAFE_PRESSURE);
        let Some(p) = p.filter(|_| self.ways.and(FEEDS).is_empty()) else {
            (self.pulled, self.free, self.steady) = (false, Actuators::NONE, Millis(0));
            return;
        };
        let pulls = on.has(Actuator::C1) && on.has(Actuator::Xv3) && self.led_out();
        self.pulled |= pulls && p <= end;
        let alone = self.led_out() && self.ways.without(SERVICE).is_empty();
        if !self.pulled || !alone || self.steady == Millis(0) {
            (self.steady_from, self.steady) = (p, Millis(0));
        }
        self.steady_from = self.steady_from.or_less(p);
        if p.minus(self.steady_from) > STEADY {
            (self.free, self.steady) = (Actuators::NONE, Millis(0));
        } else if self.pulled && alone {
            self.steady = self.steady.plus(watched);
            if self.steady >= STEADY_TIME {
                self.free = self.ways;
            }
        }
    }

    /// Couplers that come off while a way of ours is open or wanted, or in an order with pressure in a hose. Such that were never on, or
    /// that come off between two orders, are none of these.
    pub(super) fn couplers(&mut self, r: &Readings, coupled: bool, touched: Actuators, busy: bool) {
        let off = self.coupled && !coupled;
        let loaded = r.service_pressure().is_none_or(|p| p > SAFE_PRESSURE);
        self.came_off |= off && (!touched.and(OPEN).is_empty() || busy && loaded);
        self.came_off &= !coupled;
        self.coupled = coupled;
        if off {
            (self.pulled, self.free, self.steady) = (false, Actuators::NONE, Millis(0));
        }
    }

    pub(super) fn may_come_off(&self) -> bool {
        !self.free.is_empty()
    }

    pub(super) fn well(&self) -> WatchSet {
        let one = |well: bool, watch: Watch| if well { WatchSet::NONE.with(watch) } else { WatchSet::NONE };
        one(!self.liquid || self.led_out(), Watch::LineLocked)
            .or(one(!self.falls, Watch::HoseFalls))
            .or(one(!self.came_off, Watch::CouplersOff))
    }
}
