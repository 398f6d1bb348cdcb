//! What a station's controller will be told, for people and programs: rounded as it is told, in usual units.

use std::collections::BTreeMap;

use serde::Serialize;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Analog};
use valvewright_core::sense::SenseConfig;
use valvewright_core::station::fill_limit;
use valvewright_core::token::CodeKey;
use valvewright_core::units::{AbsPa, CentiKelvin, Millis};

use super::facts::Facts;
use super::transmitters::transmitter;
use crate::scenario::quantity::{Dim, short, text};

/// The figures that a station's controller goes by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Volume of the vessel, L.
    pub vessel_l: f64,
    /// Mass that the vessel is rated for, kg.
    pub rated_kg: f64,
    /// Mass that stays in the vessel, kg.
    pub heel_kg: f64,
    /// Most that is filled in at 21 degC by refrigerant, kg: 80 % of the vessel as liquid, and never more than the rating.
    pub fill_limit_kg: BTreeMap<&'static str, f64>,
    /// Volume of one service hose, mL.
    pub hose_ml: f64,
    /// Volume of the manifold, mL.
    pub manifold_ml: f64,
    /// Time for five air changes of the cabinet, s.
    pub air_changes_s: f64,
    /// Effective area of the charge path to one side, mm2.
    pub charge_area_mm2: f64,
    /// What C-1 draws in at the pressure of its suction, cm3/s.
    pub compressor_draws_cm3_per_s: f64,
    /// Hose pressure at which a pull ends, kPa absolute.
    pub recovery_end_kpa: f64,
    /// Hose pressure above which recovery starts again, kPa absolute.
    pub recovery_restart_kpa: f64,
    /// Throughput above which a straight rise is a leak, Pa m3/s.
    pub leak_limit_pa_m3_per_s: f64,
    /// Ranges of the scales by tag, kg.
    pub scales_kg: BTreeMap<&'static str, f64>,
    /// Transmitters whose range is not the reference's.
    pub transmitters: Vec<Range>,
    /// Tags of devices that are not built in.
    pub without: Vec<&'static str>,
    /// Whose key codes of parts are made with: `demo` or `own`.
    pub code_key: &'static str,
}

/// The range of a transmitter, each end with its unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Range {
    /// Its tag.
    pub tag: &'static str,
    /// Value at 4 mA.
    pub at_4_ma: String,
    /// Value at 20 mA.
    pub at_20_ma: String,
}

/// Scan for which the figures are worked out; none of them goes by it.
const SCAN: Millis = Millis(50);
/// Where the fill limit is shown: the temperature that a vessel's filling is rated at.
const FILLED_AT: CentiKelvin = CentiKelvin::from_centi_celsius(2_100);

impl Facts {
    /// What the controller will be told.
    pub fn told(&self) -> Told {
        let config = |refrigerant| self.config(refrigerant, SCAN, AbsPa(101_325));
        let one = config(Refrigerant::R1234yf);
        let per = |whole: i32, unit: f64| f64::from(whole) / unit;
        let limit = |refrigerant| per(fill_limit(&config(refrigerant), FILLED_AT).0, 1e6);
        let scale = |at: usize| per(one.sense.scales[at].cal.span_mass().0, 1e6);
        let reference = SenseConfig::for_scan(SCAN);
        let other = Analog::ALL.into_iter().filter_map(|input| {
            let channel = &one.sense.channels[input as usize];
            let (ends, usual) = ((channel.low(), channel.high()), &reference.channels[input as usize]);
            let kind = transmitter(input);
            let end = |whole: i32| {
                let si = f64::from(whole) / kind.core_per_truth / kind.truth_per_si;
                let bar = if ends.1 < 100_000 { "mbar" } else { "bar" };
                match kind.dim {
                    Dim::Fraction => text(kind.dim, si, Some("%")),
                    _ => text(kind.dim, si, (kind.dim == Dim::Pressure).then_some(bar)),
                }
            };
            (ends != (usual.low(), usual.high())).then(|| Range {
                tag: kind.tag,
                at_4_ma: end(ends.0),
                at_20_ma: end(ends.1),
            })
        });
        Told {
            vessel_l: per(one.vessel.0, 1e6),
            rated_kg: per(one.vessel_rated.0, 1e6),
            heel_kg: per(one.vessel_heel.0, 1e6),
            fill_limit_kg: [("R-1234yf", limit(Refrigerant::R1234yf)), ("R-134a", limit(Refrigerant::R134a))].into(),
            hose_ml: per(one.hose.0, 1e3),
            manifold_ml: per(one.manifold.0, 1e3),
            air_changes_s: f64::from(one.air_changes.0) / 1e3,
            charge_area_mm2: per(one.charge_area_e9, 1e3),
            compressor_draws_cm3_per_s: per(one.compressor_draws, 1.0),
            recovery_end_kpa: per(one.recovery_end.0, 1e3),
            recovery_restart_kpa: per(one.recovery_restart.0, 1e3),
            leak_limit_pa_m3_per_s: per(one.leak_limit, 1e6),
            scales_kg: [("WT-1", scale(0)), ("WT-2", scale(2)), ("WT-3", scale(3))].into(),
            transmitters: other.collect(),
            without: Actuator::ALL.into_iter().filter(|one| !self.fitted.has(*one)).map(Actuator::tag).collect(),
            code_key: if self.code_key == CodeKey::DEMO { "demo" } else { "own" },
        }
    }
}

impl Told {
    /// The same for people, one figure or two a line.
    pub fn lines(&self) -> Vec<(&'static str, String)> {
        let each = |all: &BTreeMap<&'static str, f64>| {
            all.iter().map(|(name, kg)| format!("{name} {} kg", short(*kg))).collect::<Vec<_>>().join(", ")
        };
        let other: Vec<String> =
            self.transmitters.iter().map(|one| format!("{} {} to {}", one.tag, one.at_4_ma, one.at_20_ma)).collect();
        let or = |list: String, none: &str| if list.is_empty() { none.to_owned() } else { list };
        vec![
            ("vessel", format!("{} L", short(self.vessel_l))),
            ("rated", format!("{} kg", short(self.rated_kg))),
            ("heel", format!("{} kg", short(self.heel_kg))),
            ("fill limit", format!("{} at 21 degC", each(&self.fill_limit_kg))),
            ("hose", format!("{} mL", short(self.hose_ml))),
            ("manifold", format!("{} mL", short(self.manifold_ml))),
            ("air changes", format!("five in {} s", short(self.air_changes_s))),
            ("charge area", format!("{} mm2", short(self.charge_area_mm2))),
            ("C-1 draws", format!("{} cm3/s", short(self.compressor_draws_cm3_per_s))),
            (
                "recovery",
                format!(
                    "ends at {} kPa, starts again at {} kPa",
                    short(self.recovery_end_kpa),
                    short(self.recovery_restart_kpa)
                ),
            ),
            ("leak limit", format!("{} Pa m3/s", short(self.leak_limit_pa_m3_per_s))),
            ("scales", each(&self.scales_kg)),
            ("transmitters", or(other.join(", "), "all as the reference's")),
            (
                "code key",
                if self.code_key == "own" { "its own" } else { "that of demonstrations, no secret" }.to_owned(),
            ),
            ("not built in", or(self.without.join(", "), "nothing: all devices are there")),
        ]
    }
}
