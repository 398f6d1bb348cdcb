//! What the instruments of a station are: ranges, classes, lags and noise as data, each default with its source.
//!
//! "Own choice" marks a figure of ours for a plausible mid-price part; no data sheet stands behind it.

use valvewright_core::frame::{ANALOG_COUNT, Analog, SCALE_COUNT};

/// A 4-20 mA transmitter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TransmitterSpec {
    /// Value at 4 mA, in the unit of the truth (Pa, K, share, A, rpm, V).
    pub low: f64,
    /// Value at 20 mA; must be above `low`.
    pub high: f64,
    /// First-order lag in seconds; zero follows at once.
    pub lag_s: f64,
    /// Largest gain error as a share of the reading; the true one is drawn from the seed.
    pub gain_class: f64,
    /// Largest offset in the unit of the truth; the true one is drawn from the seed.
    pub offset_class: f64,
    /// Standard deviation of the noise, in the unit of the truth.
    pub noise: f64,
}

/// A bridge scale with its converter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ScaleSpec {
    /// Converter counts per gram.
    pub counts_per_gram: f64,
    /// Code of the platform with nothing to be weighed on it (bottle or empty vessel included).
    pub zero_code: f64,
    /// Largest gain error as a share of the load; the true one is drawn from the seed.
    pub gain_class: f64,
    /// Standard deviation of the noise at rest, in gram.
    pub noise_g: f64,
    /// Amplitude of the tone while a motor runs, in gram.
    pub vibration_g: f64,
    /// Mechanical lag of platform and cell, in seconds.
    pub lag_s: f64,
    /// Creep: what a load adds to its own reading in the end, as a share.
    pub creep_share: f64,
    /// Time constant of the creep, in seconds.
    pub creep_s: f64,
    /// Zero drift in gram per kelvin away from [`InstrumentSpec::calibrated_at_k`].
    pub drift_g_per_k: f64,
    /// Force of a stiffened hose in gram per bar of absolute pressure in the charge line.
    pub hose_g_per_bar: f64,
    /// One conversion each so many scans; 0 counts as 1.
    pub scans_per_conversion: u32,
}

/// A switch with hysteresis: opens at or above one value, closes again at or below a smaller one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SwitchSpec {
    /// The contact opens when the value reaches this.
    pub opens_at: f64,
    /// The contact closes when the value is back to this; not above `opens_at`.
    pub closes_at: f64,
}

/// The cabinet fan and its proof-of-flow switch.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FanSpec {
    /// Speed of a healthy fan at nominal supply, in rpm: full air flow.
    pub nominal_rpm: f64,
    /// Time constant of spin-up and run-down, in seconds.
    pub spin_s: f64,
    /// Lag of the air flow and the vane behind the speed, in seconds.
    pub vane_s: f64,
    /// Share of nominal speed above which the contact closes.
    pub closes_at: f64,
    /// Share of nominal speed below which the contact opens; not above `closes_at`.
    pub opens_at: f64,
}

/// The gas identifier.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct IdentifierSpec {
    /// Time from power-on to the first analysis, in seconds.
    pub warm_up_s: f64,
    /// Time of one analysis, in seconds.
    pub analysis_s: f64,
    /// Largest error of a reported share; each report draws its own.
    pub error_share: f64,
    /// Below this absolute pressure (Pa) the sample does not flow, and the report says unhealthy.
    pub sample_pressure_pa: f64,
}

/// All instruments of a station.
#[derive(Clone, PartialEq, Debug)]
pub struct InstrumentSpec {
    /// The transmitters, indexed by [`Analog`].
    pub analog: [TransmitterSpec; ANALOG_COUNT],
    /// The scales, indexed by [`valvewright_core::frame::Scale`].
    pub scales: [ScaleSpec; SCALE_COUNT],
    /// Frequency of the motors' tone on the scales, in hertz; the scan aliases it.
    pub vibration_hz: f64,
    /// Temperature at which the scales were calibrated, in kelvin.
    pub calibrated_at_k: f64,
    /// LS-1: share of the used-oil bottle that is full.
    pub used_oil_high: SwitchSpec,
    /// LS-2: share of the separator that is full of liquid.
    pub separator_high: SwitchSpec,
    /// PSH-1: absolute discharge pressure in Pa.
    pub discharge_high: SwitchSpec,
    /// PSH-2: pressure at the inlet of P-1 over the barometer in Pa.
    pub pump_inlet_high: SwitchSpec,
    /// K-1, ST-1 and FSL-1.
    pub fan: FanSpec,
    /// AT-1.
    pub identifier: IdentifierSpec,
}

impl TransmitterSpec {
    /// 0-35 bar absolute. Lag 20 ms and class 0.1 % of span, half as gain and half as offset: a common class of piezo
    /// transmitters (from memory). Noise 100 Pa: own choice, little above one count (80 Pa).
    pub const PRESSURE: Self =
        Self { low: 0.0, high: 35e5, lag_s: 0.020, gain_class: 0.5e-3, offset_class: 1750.0, noise: 100.0 };
    /// 0-100 mbar absolute. 1 % of reading and 5 Pa: between a heat-loss and a capacitance gauge; lag 0.2 s. Own choice.
    pub const VACUUM: Self = Self { low: 0.0, high: 1e4, lag_s: 0.2, gain_class: 0.01, offset_class: 5.0, noise: 1.0 };
    /// -40 to 160 degC on a wall. 20 s: a strapped-on sensor (own choice). +-0.3 K: about a class A platinum sensor of
    /// IEC 60751 with its transmitter (from memory).
    pub const WALL: Self =
        Self { low: 233.15, high: 433.15, lag_s: 20.0, gain_class: 0.0, offset_class: 0.3, noise: 0.02 };
    /// As [`Self::WALL`], in a pocket of the discharge pipe: 5 s (own choice).
    pub const POCKET: Self = Self { lag_s: 5.0, ..Self::WALL };
    /// As [`Self::WALL`], in free air: 60 s (own choice).
    pub const AIR: Self = Self { lag_s: 60.0, ..Self::WALL };
    /// 0-100 % of the lower flammable limit as a share. Lag 5 s, so 11.5 s to 90 %; class 2 % of the limit. Own choice.
    pub const GAS: Self = Self { low: 0.0, high: 1.0, lag_s: 5.0, gain_class: 0.03, offset_class: 0.01, noise: 0.002 };
    /// 0-20 A, class 1 % of span, own choice.
    pub const CURRENT: Self =
        Self { low: 0.0, high: 20.0, lag_s: 0.1, gain_class: 0.005, offset_class: 0.1, noise: 0.03 };
    /// 0-6000 rpm, own choice.
    pub const SPEED: Self =
        Self { low: 0.0, high: 6000.0, lag_s: 0.1, gain_class: 0.003, offset_class: 10.0, noise: 5.0 };
    /// 0-40 V, own choice.
    pub const VOLTAGE: Self =
        Self { low: 0.0, high: 40.0, lag_s: 0.02, gain_class: 0.003, offset_class: 0.05, noise: 0.02 };

    /// The transmitter of the reference station at this input.
    pub const fn reference(input: Analog) -> Self {
        match input {
            Analog::Pt1 | Analog::Pt2 | Analog::Pt3 | Analog::Pt5 => Self::PRESSURE,
            Analog::Pt4 => Self::VACUUM,
            Analog::Tt1 => Self::WALL,
            Analog::Tt2 | Analog::Tt3 => Self::POCKET,
            Analog::Tt4 => Self::AIR,
            Analog::At2 => Self::GAS,
            Analog::It1 => Self::CURRENT,
            Analog::St1 => Self::SPEED,
            Analog::Et1 | Analog::Et2 => Self::VOLTAGE,
        }
    }
}

impl ScaleSpec {
    /// One bridge of the 25 kg platform, counts as the core's reference calibration expects them. Creep 0.03 % in 30 min is the fault catalogue's own figure for a good cell; hose force is said to be
    /// 5-30 g in all (from memory), 0.5 g/bar gives 4-8 g; the rest is our own choice. The oscillator of a motor shakes
    /// the platform by several gram (from memory).
    pub const VESSEL: Self = Self {
        counts_per_gram: 200.0,
        zero_code: 100_000.0,
        gain_class: 0.2e-3,
        noise_g: 0.15,
        vibration_g: 3.0,
        lag_s: 0.2,
        creep_share: 0.3e-3,
        creep_s: 600.0,
        drift_g_per_k: 0.1,
        hose_g_per_bar: 0.5,
        scans_per_conversion: 1,
    };
    /// 2 kg class under an oil bottle, no pressurised hose on it; own choice.
    pub const OIL: Self = Self {
        counts_per_gram: 2000.0,
        noise_g: 0.02,
        vibration_g: 0.3,
        drift_g_per_k: 0.01,
        hose_g_per_bar: 0.0,
        scans_per_conversion: 2,
        ..Self::VESSEL
    };
}

impl Default for InstrumentSpec {
    /// The reference station.
    fn default() -> Self {
        Self {
            analog: Analog::ALL.map(TransmitterSpec::reference),
            scales: [ScaleSpec::VESSEL, ScaleSpec::VESSEL, ScaleSpec::OIL, ScaleSpec::OIL],
            // A motor of 1440 rpm at full load with its first harmonic lies at 24 and 48 Hz; 33 Hz between them is our
            // choice because at 20 scans a second it folds to 7 Hz, which a slow filter can still remove.
            vibration_hz: 33.0,
            calibrated_at_k: 293.15,
            used_oil_high: SwitchSpec { opens_at: 0.90, closes_at: 0.80 },
            separator_high: SwitchSpec { opens_at: 0.80, closes_at: 0.70 },
            // 24 bar gauge at sea level, above the software trip of 16 bar gauge; 4 bar hysteresis is our choice.
            discharge_high: SwitchSpec { opens_at: 25.013e5, closes_at: 21.013e5 },
            // Own choice: well above the 30 mbar over the barometer at which XV-6 may open and the 80 mbar at which I11 trips by
            // the hose gauges, so that a sound job never reaches it; half of it as hysteresis.
            pump_inlet_high: SwitchSpec { opens_at: 0.20e5, closes_at: 0.10e5 },
            fan: FanSpec { nominal_rpm: 2800.0, spin_s: 0.8, vane_s: 1.0, closes_at: 0.60, opens_at: 0.50 },
            identifier: IdentifierSpec {
                warm_up_s: 30.0,
                analysis_s: 25.0,
                error_share: 0.003,
                sample_pressure_pa: 1.2e5,
            },
        }
    }
}
