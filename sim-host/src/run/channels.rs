//! What is recorded over time: which channels, and where each is read.

use std::sync::Arc;

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Analog, COUNTS_AT_24_MA, RawFrame, Scale};
use valvewright_core::station::Station;

use crate::plant::{Plant, Signal};
use crate::report::data::{ChannelSpec, Group, View};

/// Where a channel is read.
#[derive(Clone)]
pub(super) enum Source {
    /// Sum of signals of the plant, times a scale, plus an offset.
    Plant(Vec<Signal>, f64, f64),
    /// A judged input of the core.
    Shown(fn(&Station) -> f64),
    /// An input as it comes in, where another controller judges it.
    Raw(Input),
}

/// An input of the frame.
#[derive(Clone)]
pub(super) struct Input {
    config: Arc<StationConfig>,
    kind: Kind,
}

#[derive(Clone, Copy)]
enum Kind {
    /// A loop, with scale and offset from the unit of its range.
    Loop(Analog, f64, f64),
    /// The vessel scale's first bridge, g.
    Vessel,
}

impl Input {
    /// The input that the shown channel of this name is judged from; `None` for what only a controller can know.
    fn of(name: &str, config: &Arc<StationConfig>) -> Option<Self> {
        let kind = match name {
            "pt1" => Kind::Loop(Analog::Pt1, BAR.0, BAR.1),
            "pt2" => Kind::Loop(Analog::Pt2, BAR.0, BAR.1),
            "pt3" => Kind::Loop(Analog::Pt3, BAR.0, BAR.1),
            "pt4" => Kind::Loop(Analog::Pt4, 1e-2, 0.0),
            "tt1" => Kind::Loop(Analog::Tt1, 1e-2, CELSIUS.1),
            "tt2" => Kind::Loop(Analog::Tt2, 1e-2, CELSIUS.1),
            "tt4" => Kind::Loop(Analog::Tt4, 1e-2, CELSIUS.1),
            "wt1" => Kind::Vessel,
            _ => return None,
        };
        Some(Self { config: Arc::clone(config), kind })
    }

    /// The transmitter's own word: 4 to 20 mA over its range, and the scale's line.
    pub(super) fn read(&self, frame: &RawFrame) -> f64 {
        match self.kind {
            Kind::Loop(which, scale, offset) => {
                let channel = self.config.sense.channels[which as usize];
                let (low, high) = (f64::from(channel.low()), f64::from(channel.high()));
                let milliamp = f64::from(frame.analog[which as usize]) * 24.0 / f64::from(COUNTS_AT_24_MA);
                (low + (high - low) * (milliamp - 4.0) / 16.0) * scale + offset
            }
            Kind::Vessel => {
                let cal = self.config.sense.scales[Scale::Wt1A as usize].cal;
                f64::from(cal.net(frame.scales[Scale::Wt1A as usize].code).0) * 1e-3
            }
        }
    }
}

const BAR: (f64, f64) = (1e-5, 0.0);
const CELSIUS: (f64, f64) = (1.0, -273.15);
const GRAM: (f64, f64) = (1e3, 0.0);

/// Refrigerant in all the oil of the vehicle.
const DISSOLVED: &str = "vehicle_high.m_dissolved + vehicle_low.m_dissolved + accumulator.m_dissolved";
/// Plant signals that are recorded where the network has them: signal (or a sum, set apart by " + "), name, label, unit,
/// lane, scale and offset.
type TrueChannel = (&'static str, &'static str, &'static str, &'static str, Group, (f64, f64));
const TRUE: &[TrueChannel] = &[
    ("vessel.p", "pt1_true", "Vessel", "bar", Group::Pressure, BAR),
    ("vehicle_high.p", "vehicle_high_p", "Vehicle high side", "bar", Group::Pressure, BAR),
    ("vehicle_low.p", "vehicle_low_p", "Vehicle low side", "bar", Group::Pressure, BAR),
    ("vehicle_low.p", "vehicle_vacuum", "Vehicle low side", "mbar", Group::Vacuum, (1e-2, 0.0)),
    ("vessel.t", "vessel_t", "Vessel content", "degC", Group::Temperature, CELSIUS),
    ("accumulator.t", "accumulator_t", "Accumulator content", "degC", Group::Temperature, CELSIUS),
    ("vehicle_high.t", "vehicle_high_t", "Vehicle high side", "degC", Group::Temperature, CELSIUS),
    ("vehicle_high.m", "vehicle_high_m", "In vehicle, high side", "g", Group::Mass, GRAM),
    ("vehicle_low.m", "vehicle_low_m", "In vehicle, low side", "g", Group::Mass, GRAM),
    ("accumulator.m", "accumulator_m", "In vehicle, accumulator", "g", Group::Mass, GRAM),
    ("discharge.m", "discharge_m", "In discharge pipe", "g", Group::Mass, GRAM),
    ("condenser.m", "condenser_m", "In condenser", "g", Group::Mass, GRAM),
    ("interstage.m", "interstage_m", "Between the stages of C-1", "g", Group::Mass, GRAM),
    ("hose_low.m", "hose_low_m", "In hose, low side", "g", Group::Mass, GRAM),
    ("hose_high.m", "hose_high_m", "In hose, high side", "g", Group::Mass, GRAM),
    ("manifold.m", "manifold_m", "In manifold", "g", Group::Mass, GRAM),
    ("hose_low.t", "hose_low_t", "Hose, low side", "degC", Group::Temperature, CELSIUS),
    ("separator.m", "separator_m", "In separator", "g", Group::Mass, GRAM),
    (DISSOLVED, "dissolved_m", "Dissolved in oil", "g", Group::Mass, GRAM),
    ("C-1.flow", "c1_flow", "C-1", "g/s", Group::Flow, GRAM),
    ("XV-5+XV-10+XV-1.flow", "charge_low_flow", "Charge, low side", "g/s", Group::Flow, GRAM),
    ("XV-5+XV-10+XV-2.flow", "charge_high_flow", "Charge, high side", "g/s", Group::Flow, GRAM),
];

const fn pascal(r: &valvewright_core::sense::Reading<valvewright_core::units::AbsPa>) -> f64 {
    r.value.0 as f64
}

/// Station readings that are recorded.
type ShownChannel = (&'static str, &'static str, &'static str, Group, fn(&Station) -> f64);
const SHOWN: &[ShownChannel] = &[
    ("pt1", "PT-1 vessel", "bar", Group::Pressure, |s| pascal(&s.readings().pt1) * 1e-5),
    ("pt2", "PT-2 low side", "bar", Group::Pressure, |s| pascal(&s.readings().pt2) * 1e-5),
    ("pt3", "PT-3 high side", "bar", Group::Pressure, |s| pascal(&s.readings().pt3) * 1e-5),
    ("pt4", "PT-4 vacuum", "mbar", Group::Vacuum, |s| pascal(&s.readings().pt4) * 1e-2),
    ("tt1", "TT-1 vessel wall", "degC", Group::Temperature, |s| f64::from(s.readings().tt1.value.0) * 1e-2 - 273.15),
    ("tt2", "TT-2 discharge", "degC", Group::Temperature, |s| f64::from(s.readings().tt2.value.0) * 1e-2 - 273.15),
    ("tt4", "TT-4 ambient", "degC", Group::Temperature, |s| f64::from(s.readings().tt4.value.0) * 1e-2 - 273.15),
    ("wt1", "WT-1 vessel", "g", Group::Mass, |s| f64::from(s.readings().wt1.mass.value.0) * 1e-3),
    ("wt1_rate", "WT-1 rate", "g/s", Group::Flow, |s| f64::from(s.readings().wt1.rate.0) * 1e-3),
];

/// The channels of a run: those of [`SHOWN`], from the core or, with `raw`, from the frame; then those of [`TRUE`] that the network has.
pub(super) fn channels(plant: &Plant, raw: Option<&Arc<StationConfig>>) -> Vec<(ChannelSpec, Source)> {
    let mut all = Vec::new();
    for (name, label, unit, group, read) in SHOWN {
        let source = raw.map_or(Some(Source::Shown(*read)), |config| Input::of(name, config).map(Source::Raw));
        all.extend(source.map(|source| (ChannelSpec::new(name, label, unit, *group, View::Shown), source)));
    }
    for (signal, name, label, unit, group, (scale, offset)) in TRUE {
        let parts: Vec<_> = signal.split(" + ").filter_map(|one| plant.signal(one)).collect();
        if !parts.is_empty() {
            let spec = ChannelSpec::new(name, label, unit, *group, View::True);
            all.push((spec, Source::Plant(parts, *scale, *offset)));
        }
    }
    all
}
