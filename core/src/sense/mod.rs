//! Raw to judged: every reading leaves here with its quality, and a doubtful one never looks fresh.

pub mod analog;
pub mod cobs;
pub mod identifier;
pub mod scale;

use crate::frame::{ANALOG_COUNT, RawFrame, Scale, Switches};
use crate::units::*;
use analog::{Bank, ChannelConfig, Mark};
use identifier::Link;
use scale::{ScaleConfig, Weigher};

/// Quality of a reading, after the status signals of NAMUR NE 107.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Quality {
    /// Fresh and in range.
    Good,
    /// The last good value, and how old it is. Dependent outputs may keep for a short time.
    Held(Millis),
    /// Usable for display, not for a decision that needs its accuracy.
    Uncertain(Doubt),
    /// Not to be used: counts as tripped for every interlock that reads it.
    Bad(Broken),
    /// Nothing received yet since power-on; counts as bad.
    #[default]
    None,
}

/// Why a reading is uncertain.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Doubt {
    /// Outside the measuring range but short of the fault band: 3.6-3.8 mA or 20.0-21 mA. The value is the end of the range.
    Saturated,
    /// Changes faster than the process can.
    Jumpy,
    /// A scale that has not come to rest.
    Unsteady,
}

/// Why a reading is bad.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Broken {
    /// Loop current below 3.6 mA (NE 43): wire broken or sensor failed low.
    Under,
    /// Loop current above 21 mA (NE 43): short circuit or sensor failed high.
    Over,
    /// The same conversion again and again: converter frozen.
    Frozen,
    /// Converter code at its rail.
    Rail,
}

/// A judged value.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Reading<T> {
    /// The value; the last good one where quality is held or bad.
    pub value: T,
    /// How far it may be trusted.
    pub quality: Quality,
}

impl<T: Copy> Reading<T> {
    /// The value where it may decide something (good, or held), else `None`.
    #[inline]
    pub fn usable(&self) -> Option<T> {
        match self.quality {
            Quality::Good | Quality::Held(_) => Some(self.value),
            _ => None,
        }
    }
    /// Whether every dependent interlock must count as tripped.
    #[inline]
    pub fn is_bad(&self) -> bool {
        matches!(self.quality, Quality::Bad(_) | Quality::None)
    }
}

/// One scale, judged.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Weight {
    /// Filtered net mass.
    pub mass: Reading<Milligram>,
    /// Filtered rate over about one second, positive when gaining.
    pub rate: MilligramPerS,
    /// At rest: the spread over the stillness window is inside its limit.
    pub still: bool,
    /// Good conversions in a row that gave the code of the one before; stops counting at 255. A live converter shows noise.
    pub repeats: u8,
}

/// What the identifier said, after CRC, length, id and plausibility checks.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct GasReport {
    /// The sample id the station gave; a report with another id is stale and never gets here.
    pub sample_id: u16,
    /// Share of R-134a in the refrigerant part, parts per thousand by mass.
    pub r134a: Permille,
    /// Share of R-1234yf, parts per thousand.
    pub r1234yf: Permille,
    /// Share of other fluorinated gas, parts per thousand.
    pub other: Permille,
    /// Share of hydrocarbons, parts per thousand.
    pub hydrocarbon: Permille,
    /// Share of air in the whole sample, parts per thousand by volume.
    pub air: Permille,
    /// Sample flow and self-check inside their bands (hazard H12).
    pub healthy: bool,
}

/// Everything the controller knows of the outside in one scan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Readings {
    /// Vessel pressure.
    pub pt1: Reading<AbsPa>,
    /// Low-side hose pressure.
    pub pt2: Reading<AbsPa>,
    /// High-side hose pressure.
    pub pt3: Reading<AbsPa>,
    /// Vacuum gauge (0-100 mbar; saturates above).
    pub pt4: Reading<AbsPa>,
    /// Vessel wall temperature.
    pub tt1: Reading<CentiKelvin>,
    /// Compressor discharge temperature.
    pub tt2: Reading<CentiKelvin>,
    /// Heater skin temperature.
    pub tt3: Reading<CentiKelvin>,
    /// Ambient temperature.
    pub tt4: Reading<CentiKelvin>,
    /// Cabinet gas.
    pub at2: Reading<PermilleLfl>,
    /// Compressor motor current.
    pub it1: Reading<Milliamp>,
    /// Fan speed.
    pub st1: Reading<Rpm>,
    /// Supply.
    pub et1: Reading<Millivolt>,
    /// Valve rail.
    pub et2: Reading<Millivolt>,
    /// Vessel scale.
    pub wt1: Weight,
    /// Used-oil scale.
    pub wt2: Weight,
    /// New-oil scale.
    pub wt3: Weight,
    /// Switches after debouncing: contacts that trip a row show open at once.
    pub switches: Switches,
    /// The identifier's report, in the one scan in which it arrived.
    pub gas: Option<GasReport>,
}

impl Readings {
    /// The higher of the two hose pressures; `None` if either is bad ("is it safe to open" takes the worst, fault F011).
    #[inline]
    pub fn service_pressure(&self) -> Option<AbsPa> {
        match (self.pt2.usable(), self.pt3.usable()) {
            (Some(a), Some(b)) => Some(a.or_more(b)),
            _ => None,
        }
    }
}

/// What the judging needs to know of the transmitters and scales.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct SenseConfig {
    /// Transmitters, indexed by [`crate::frame::Analog`].
    pub channels: [ChannelConfig; ANALOG_COUNT],
    /// Low-pass strength of the transmitters, see [`analog::shift_for_scan`].
    pub analog_shift: u8,
    /// Scales, indexed by [`Scale`].
    pub scales: [ScaleConfig; 3],
}

impl SenseConfig {
    /// The reference station at a scan of 50 ms.
    pub const DEFAULT: Self = Self::for_scan(Millis(50));

    /// The reference station at another scan time (10-100 ms).
    pub const fn for_scan(scan: Millis) -> Self {
        Self { channels: analog::REFERENCE, analog_shift: analog::shift_for_scan(scan), scales: scale::REFERENCE }
    }
}

impl Default for SenseConfig {
    fn default() -> Self {
        Self::DEFAULT
    }
}

/// The state behind the readings: filters, debouncing, the identifier's line.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sense {
    channels: Bank,
    scales: [Weigher; 3],
    /// The switches of the last two scans; `None` before the first.
    switches: Option<[Switches; 2]>,
    link: Link,
}

impl Sense {
    /// Nothing received yet. The configuration is passed again with every [`Sense::read`], so that a new scale calibration
    /// acts at once; nothing of it is kept here.
    pub const fn new(_cfg: &SenseConfig) -> Self {
        Self { channels: Bank::NEW, scales: [Weigher::NEW; 3], switches: None, link: Link::new() }
    }

    /// Judges one frame. Call once a scan, with `now` rising.
    pub fn read(&mut self, now: Instant, frame: &RawFrame, cfg: &SenseConfig) -> Readings {
        let (values, marks) = self.channels.step(now, &frame.analog, &cfg.channels, cfg.analog_shift);
        let [pt1, pt2, pt3, pt4, tt1, tt2, tt3, tt4, at2, it1, st1, et1, et2] = values;
        let [pt1_mark, pt2_mark, pt3_mark, pt4_mark, ..] = marks;
        let [_, _, _, _, tt1_mark, tt2_mark, tt3_mark, tt4_mark, ..] = marks;
        let [.., at2_mark, it1_mark, st1_mark, et1_mark, et2_mark] = marks;
        let [scale1, scale2, scale3] = &mut self.scales;
        let [sample1, sample2, sample3] = frame.scales;
        let [scale1_cfg, scale2_cfg, scale3_cfg] = &cfg.scales;
        Readings {
            pt1: judged(AbsPa(pt1), pt1_mark),
            pt2: judged(AbsPa(pt2), pt2_mark),
            pt3: judged(AbsPa(pt3), pt3_mark),
            pt4: judged(AbsPa(pt4), pt4_mark),
            tt1: judged(CentiKelvin(tt1), tt1_mark),
            tt2: judged(CentiKelvin(tt2), tt2_mark),
            tt3: judged(CentiKelvin(tt3), tt3_mark),
            tt4: judged(CentiKelvin(tt4), tt4_mark),
            at2: judged(PermilleLfl(at2), at2_mark),
            it1: judged(Milliamp(it1), it1_mark),
            st1: judged(Rpm(st1), st1_mark),
            et1: judged(Millivolt(et1), et1_mark),
            et2: judged(Millivolt(et2), et2_mark),
            wt1: scale1.step(now, sample1, scale1_cfg),
            wt2: scale2.step(now, sample2, scale2_cfg),
            wt3: scale3.step(now, sample3, scale3_cfg),
            switches: debounce(&mut self.switches, frame.switches),
            gas: self.link.feed(&frame.identifier),
        }
    }

    /// From now on only a report with this sample id is believed; send [`identifier::request`] with the same id.
    pub fn expect_sample(&mut self, id: u16) {
        self.link.expect(id);
    }
    /// No report is believed until the next sample is asked for: the vehicle it would speak of may be gone.
    pub fn expect_no_sample(&mut self) {
        self.link.expect_nothing();
    }

    /// The identifier's line, for its counts of refused frames.
    pub const fn link(&self) -> &Link {
        &self.link
    }

    /// The last raw code a scale delivered (calibration reads it), `None` before the first.
    pub fn scale_code(&self, which: Scale) -> Option<i32> {
        self.scales.get(which as usize).and_then(Weigher::code)
    }
}

/// Contacts whose opening trips a row without a hold: emergency stop, pressure switch, separator level, door.
const AT_ONCE: u16 = Switches::HS1_A_RELEASED
    | Switches::HS1_B_RELEASED
    | Switches::PSH1_HEALTHY
    | Switches::LS2_NOT_HIGH
    | Switches::ZS1_DOOR_SHUT;

/// Contacts that trip a row without a hold open in the scan that sees them open and close after three closed scans, so that
/// bounce can delay only the safe way back. The others go by the majority of three scans: one scan of bounce changes nothing
/// (FSL-1 has its hold in the row, and a flutter of its vane must not spoil an air proof).
fn debounce(past: &mut Option<[Switches; 2]>, fresh: Switches) -> Switches {
    let [older, newer] = past.unwrap_or([fresh, fresh]);
    *past = Some([newer, fresh]);
    let majority = (older.0 & newer.0) | (newer.0 & fresh.0) | (older.0 & fresh.0);
    let closed_throughout = older.0 & newer.0 & fresh.0;
    Switches((majority & !AT_ONCE) | (closed_throughout & AT_ONCE))
}

#[inline]
fn judged<T>(value: T, mark: Mark) -> Reading<T> {
    Reading { value, quality: mark.quality() }
}
