//! The station as data: volumes, limits and times of the machine the core is built into.

use crate::fluid::Refrigerant;
use crate::frame::Actuators;
use crate::kept::Limits;
use crate::sense::SenseConfig;
use crate::token::CodeKey;
use crate::units::*;

/// Filling limits are stated at 21 degC (40 CFR 82 Subpart B App. C 7.2).
const RATED_AT: CentiKelvin = CentiKelvin::from_centi_celsius(2_100);

/// From here up PSV-1, set to 20 bar, may be letting something off: it shuts no lower (own choice; where I29 clears, which has told of
/// such a vessel).
pub const LETS_OFF: AbsPa = AbsPa(1_700_000);

/// What an engineer sets for a machine of theirs. Default sizes are those of a small workshop station, our own choice.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct StationConfig {
    /// The refrigerant this station is for.
    pub refrigerant: Refrigerant,
    /// Scan time, 10 to 100 ms.
    pub scan: Millis,
    /// Inputs.
    pub sense: SenseConfig,
    /// Vessel volume.
    pub vessel: Microlitre,
    /// Mass the vessel is rated for.
    pub vessel_rated: Milligram,
    /// Mass that must stay in the vessel, so that liquid is drawn.
    pub vessel_heel: Milligram,
    /// Volume of one service hose.
    pub hose: Microlitre,
    /// Volume of the manifold.
    pub manifold: Microlitre,
    /// Air around the station.
    pub barometer: AbsPa,
    /// Time for five air changes of the cabinet: 5 x 0.15 m3 at 60 m3/h is 45 s.
    pub air_changes: Millis,
    /// Effective flow area of the charge path to one side in 1e-9 m2 (for the I08 flow model): Cd 0.65, 1 mm, and 1.4 for boiling
    /// that lags in so short a bore.
    pub charge_area_e9: i32,
    /// What C-1 draws in a second at the pressure of its suction, mL: 8 cm3 24 times a second, filled to 0.92.
    pub compressor_draws: i32,
    /// Recovery ends at this hose pressure; above I13's 30 kPa.
    pub recovery_end: AbsPa,
    /// Pressure above which the hold is broken off and recovery starts again; SAE J1989 3.2.1 asks for no pressure above
    /// atmosphere, a little less leaves less behind (own choice).
    pub recovery_restart: AbsPa,
    /// Throughput above which a straight rise is a leak, in 1e-6 Pa m3/s: 2e-3 Pa m3/s is 4 mbar in 10 min on 3 L (own choice; a gross test).
    pub leak_limit: i32,
    /// Actuators that are built in. What is not is never asked for. Only the heater may lack, both contactors or none: without it
    /// nothing waits for warming and TT-3 is not looked at.
    pub fitted: Actuators,
    /// What codes of its parts are made with.
    pub code_key: CodeKey,
    /// How long its parts that wear are good for.
    pub limits: Limits,
}

impl StationConfig {
    /// The reference station for `refrigerant`.
    pub const fn reference(refrigerant: Refrigerant) -> Self {
        Self {
            refrigerant,
            scan: Millis(50),
            sense: SenseConfig::DEFAULT,
            vessel: Microlitre(12_500_000),
            vessel_rated: Milligram(10_000_000),
            vessel_heel: Milligram(1_000_000),
            hose: Microlitre(54_287),
            manifold: Microlitre(10_000),
            barometer: AbsPa(101_325),
            air_changes: Millis::from_secs(45),
            charge_area_e9: 715,
            compressor_draws: 176,
            recovery_end: AbsPa(36_000),
            recovery_restart: AbsPa(80_000),
            leak_limit: 2_000,
            fitted: Actuators::ALL,
            code_key: CodeKey::DEMO,
            limits: Limits::USUAL,
        }
    }

    /// Whether the vessel has a heater.
    pub const fn heats(&self) -> bool {
        self.fitted.0 & Actuators::HEATER.0 == Actuators::HEATER.0
    }
}

/// 80 % liquid by volume, at 21 degC or at the wall temperature, whichever allows less, and never more than the rating.
///
/// ```
/// use valvewright_core::{config::StationConfig, fluid::Refrigerant, station::fill_limit, units::*};
/// let cfg = StationConfig { vessel: Microlitre(12_000_000), vessel_rated: Milligram::MAX, ..StationConfig::reference(Refrigerant::R1234yf) };
/// // 12 L: 10.62 kg of liquid at 21 degC (worked with CoolProp 8.0.0)
/// let limit = fill_limit(&cfg, CentiKelvin::from_centi_celsius(1_000));
/// assert!((10_600_000..10_640_000).contains(&limit.0), "{limit:?}");
/// ```
pub fn fill_limit(cfg: &StationConfig, wall: CentiKelvin) -> Milligram {
    let warmest = wall.or_more(RATED_AT);
    // microgram per millilitre x microlitre x 0.8
    let density = i64::from(cfg.refrigerant.liquid_density(warmest));
    let mg = i64::from(cfg.vessel.0).saturating_mul(density).saturating_mul(8) / 10_000_000;
    Milligram(i32::try_from(mg).unwrap_or(i32::MAX)).or_less(cfg.vessel_rated)
}
