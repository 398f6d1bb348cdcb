//! Raw to judged: every reading leaves here with its quality, and a doubtful one never looks fresh.

pub mod analog;
mod bank;
mod calibration;
pub mod cobs;
pub mod identifier;
mod live;
pub mod reading;
pub mod scale;

use crate::frame::{ANALOG_COUNT, RawFrame, SCALE_COUNT, Scale, Switches};
use crate::units::*;
use analog::{ChannelConfig, Mark};
use bank::Bank;
use identifier::SampleLine;
pub use reading::{Broken, Doubt, GasReport, Quality, Reading, Readings, Weight};
use scale::{ScaleConfig, Weigher};

/// What the judging needs to know of the transmitters and scales.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct SenseConfig {
    /// Transmitters, indexed by [`crate::frame::Analog`].
    #[cfg_attr(feature = "serde", serde(with = "crate::arrays"))]
    pub channels: [ChannelConfig; ANALOG_COUNT],
    /// Low-pass strength of the transmitters, see [`analog::shift_for_scan`].
    pub analog_shift: u8,
    /// Scales, indexed by [`Scale`].
    #[cfg_attr(feature = "serde", serde(with = "crate::arrays"))]
    pub scales: [ScaleConfig; SCALE_COUNT],
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
    scales: [Weigher; SCALE_COUNT],
    /// The switches of the last two scans; `None` before the first.
    switches: Option<[Switches; 2]>,
    link: SampleLine,
}

impl Sense {
    /// Nothing received yet. The configuration is passed again with every [`Sense::read`], so that a new scale calibration
    /// acts at once; nothing of it is kept here.
    pub const fn new(_cfg: &SenseConfig) -> Self {
        Self { channels: Bank::NEW, scales: [Weigher::NEW; SCALE_COUNT], switches: None, link: SampleLine::new() }
    }

    /// Judges one frame. Call once a scan, with `now` rising.
    pub fn read(&mut self, now: Instant, frame: &RawFrame, cfg: &SenseConfig) -> Readings {
        let mut readings = Readings::default();
        self.read_into(&mut readings, now, frame, cfg, true);
        readings
    }

    /// The same, in place: some 300 bytes that need not be moved each scan. Without a heater there is no TT-3.
    #[inline]
    pub(crate) fn read_into(
        &mut self,
        to: &mut Readings,
        now: Instant,
        frame: &RawFrame,
        cfg: &SenseConfig,
        heater: bool,
    ) {
        let (values, marks) = if heater {
            self.channels.step(now, &frame.analog, &cfg.channels, cfg.analog_shift)
        } else {
            self.channels.step(now, &without_skin(&frame.analog), &cfg.channels, cfg.analog_shift)
        };
        let [pt1, pt2, pt3, pt4, pt5, tt1, tt2, tt3, tt4, at2, it1, st1, et1, et2] = values;
        let [pt1_mark, pt2_mark, pt3_mark, pt4_mark, pt5_mark, ..] = marks;
        let [_, _, _, _, _, tt1_mark, tt2_mark, tt3_mark, tt4_mark, ..] = marks;
        let [_, _, _, _, _, _, _, _, _, at2_mark, it1_mark, st1_mark, et1_mark, et2_mark, ..] = marks;
        let [scale1a, scale1b, scale2, scale3] = &mut self.scales;
        let [sample1a, sample1b, sample2, sample3] = frame.scales;
        let [scale1a_cfg, scale1b_cfg, scale2_cfg, scale3_cfg] = &cfg.scales;
        let mut turn = true;
        let wt1a = scale1a.step(now, sample1a, scale1a_cfg, &mut turn);
        let wt1b = scale1b.step(now, sample1b, scale1b_cfg, &mut turn);
        let wt2 = scale2.step(now, sample2, scale2_cfg, &mut turn);
        let wt3 = scale3.step(now, sample3, scale3_cfg, &mut turn);
        *to = Readings {
            pt1: judged(AbsPa(pt1), pt1_mark),
            pt2: judged(AbsPa(pt2), pt2_mark),
            pt3: judged(AbsPa(pt3), pt3_mark),
            pt4: judged(AbsPa(pt4), pt4_mark),
            pt5: judged(AbsPa(pt5), pt5_mark),
            tt1: judged(CentiKelvin(tt1), tt1_mark),
            tt2: judged(CentiKelvin(tt2), tt2_mark),
            tt3: judged(CentiKelvin(tt3), tt3_mark),
            tt4: judged(CentiKelvin(tt4), tt4_mark),
            at2: judged(PermilleLfl(at2), at2_mark),
            it1: judged(Milliamp(it1), it1_mark),
            st1: judged(Rpm(st1), st1_mark),
            et1: judged(Millivolt(et1), et1_mark),
            et2: judged(Millivolt(et2), et2_mark),
            wt1: Weight::of_both(&wt1a, &wt1b),
            wt1a,
            wt1b,
            wt2,
            wt3,
            switches: debounce(&mut self.switches, frame.switches),
            gas: self.link.feed(&frame.identifier),
        };
        if !heater {
            to.tt3 = Reading::default();
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
    pub const fn link(&self) -> &SampleLine {
        &self.link
    }

    /// The last raw code a scale delivered (calibration reads it), `None` before the first.
    pub fn scale_code(&self, which: Scale) -> Option<i32> {
        self.scales.get(which as usize).and_then(Weigher::code)
    }
}

/// An input that nothing is wired to shows a broken wire each scan, and all others would go the rare way with it: it is fed its
/// live zero instead.
fn without_skin(counts: &[u16; ANALOG_COUNT]) -> [u16; ANALOG_COUNT] {
    let [a, b, c, d, e, f, g, _, rest @ ..] = *counts;
    let [i, j, k, l, m, n] = rest;
    [a, b, c, d, e, f, g, const { analog::counts_at(4_000) }, i, j, k, l, m, n]
}

/// Contacts whose opening trips a row without a hold: emergency stop, pressure switches, separator level, door.
const AT_ONCE: u16 = Switches::HS1_A_RELEASED
    | Switches::HS1_B_RELEASED
    | Switches::PSH1_HEALTHY
    | Switches::PSH2_HEALTHY
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
