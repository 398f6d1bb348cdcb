//! The cause-and-effect matrix: every interlock as a row of one const table, checked while compiling.
//!
//! Rows and ids are those of the analysis in `docs/evidence.md`; ids are printed on reports and never renumbered. A row that chatters
//! (clear point not on the safe side of its trip point), mixes units, stops the fan, or leaves a listed hazard without
//! answer does not build.

use super::found;
use super::heat;
pub use super::terms::*;
use crate::drive::PUMP_LEAD;
use crate::frame::{Actuator, Actuators, Feed, Feeds};
use crate::row::{RowId, WATCH_COUNT, Watch};
use crate::units::{Milligram, Millis, Permille, PermilleLfl};
use Actuator::*;

/// Everything that may be stopped.
const ALL_BUT_FAN: Actuators = Actuators::ALL.without(Actuators::of(&[K1]));
/// The safe state.
const STOP_ALL: RowEffects =
    RowEffects { inhibits: ALL_BUT_FAN, forces: Actuators::of(&[K1]), stops: Actuators::NONE, drops: Feeds::NONE };
/// The safe state, held by the common relays too: where the outputs themselves are doubtful.
const CUT_OFF: RowEffects = RowEffects { drops: Feeds::ALL, ..STOP_ALL };
/// What no service does without.
const SERVICE: Actuators = Actuators::of(&[Xv3, Xv4, Xv5, Xv6, Xv10, C1, P1]);
/// What must not run while nobody can weigh it: every way into and out of the vessel, and the heat that moves its content.
const WEIGHING: Actuators = Actuators::of(&[Xv3, Xv4, Xv5, Xv10, Xv7, Xv8, C1, H1, H2]);

/// XV-6 first: a pump that stops with its valve open lets its oil and what it moved run back.
const PUMP_BEHIND_ITS_VALVE: RowEffects = RowEffects { stops: Actuators::of(&[P1]), ..off_with_fan(&[Xv6]) };

/// Every interlock. Set points are those of the analysis in `docs/evidence.md`; clear points and holds not given there are our own choice.
pub const ROWS: &[Row] = &[
    Row {
        id: RowId::I01,
        causes: &[trip(
            Watch::CabinetGas,
            Level::Gas(PermilleLfl(150)),
            NOW,
            Level::Gas(PermilleLfl(100)),
            Millis(60_000),
        )],
        trip: STOP_ALL,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why("below 10 % LFL for 60 s, then reset"),
        hazard: Hazard(1),
        also: also(&[]),
        why: why("gas in the cabinet can reach its flammable limit within seconds; everything stops but the air"),
    },
    Row {
        id: RowId::I02,
        causes: &[trip(
            Watch::VesselFill,
            Level::FillShare(Permille(1_000)),
            Millis(200),
            Level::FillShare(Permille(995)),
            Millis(2_000),
        )],
        trip: off(&[Xv3, Xv4, C1, H1, H2]),
        withholds: Actuators::NONE,
        latch: Latch::Phase,
        reset: why("take refrigerant out of the vessel, then reset or start the next phase"),
        hazard: Hazard(2),
        also: also(&[Hazard(23)]),
        why: why("a vessel that is full of liquid bursts when it warms"),
    },
    Row {
        id: RowId::I03,
        causes: &[
            // 16 bar above a standard barometer of 1.013 bar.
            trip(Watch::VesselPressure, bar_hundredths(1_701), Millis(100), bar_hundredths(1_551), Millis(2_000)),
            state(Watch::DischargeSwitch, NOW, Millis(2_000)),
        ],
        trip: off_with_fan(&[Xv3, Xv4, C1, H1, H2]),
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why("let the vessel cool below 14.5 bar gauge and PSH-1 close, find the reason, then reset"),
        hazard: Hazard(2),
        also: also(&[Hazard(9), Hazard(23)]),
        why: why("acts before PSH-1, which acts before the relief valve"),
    },
    found::I04,
    Row {
        id: RowId::I05,
        causes: &[verdict(Watch::Identity)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv3, Xv4, C1]),
        latch: Latch::Connection,
        reset: why("identify the gas on this connection; once it was refused, take the couplers off and begin anew"),
        hazard: Hazard(4),
        also: also(&[Hazard(5), Hazard(12)]),
        why: why("one wrong vehicle spoils the whole vessel before anything could be measured"),
    },
    found::I06,
    found::I07,
    Row {
        id: RowId::I08,
        causes: &[
            state(Watch::ChargeFlow, NOW, Millis(2_000)),
            state(Watch::ChargeScale, NOW, Millis(500)),
            state(Watch::LateScan, NOW, Millis(500)),
        ],
        trip: off(&[Xv5, Xv10]),
        withholds: Actuators::NONE,
        latch: Latch::None,
        reset: why("clears by itself once the scale is quiet; the charge resumes from the ledger"),
        hazard: Hazard(6),
        also: also(&[Hazard(15), Hazard(20)]),
        why: why("one second of blind charging is the whole tolerance"),
    },
    found::I09,
    Row {
        id: RowId::I10,
        causes: &[state(Watch::SeparatorLevel, NOW, Millis(2_000))],
        trip: off(&[Xv3]),
        withholds: Actuators::NONE,
        latch: Latch::After(3),
        reset: why(
            "clears by itself while the compressor boils the separator dry; the third time in a phase needs reset",
        ),
        hazard: Hazard(7),
        also: also(&[]),
        why: why("liquid in the compressor breaks it within one revolution"),
    },
    Row {
        id: RowId::I11,
        causes: &[
            trip(Watch::PumpInlet, over_barometer(80), NOW, over_barometer(30), Millis(2_000)),
            state(Watch::PumpInletSwitch, NOW, Millis(2_000)),
            Condition {
                watch: Watch::PumpAdmission,
                role: Role::Permit,
                trip: over_barometer(80),
                hold: NOW,
                clear: over_barometer(30),
                clear_hold: Millis(60_000),
            },
            verdict(Watch::Unrecovered),
            verdict(Watch::HosesRise),
        ],
        trip: PUMP_BEHIND_ITS_VALVE,
        withholds: Actuators::of(&[Xv6]),
        latch: Latch::Latched,
        reset: why(
            "recover, or where the circuit was opened release by hand, until both hoses have stood no more than 30 mbar above the barometer for 60 s and PSH-2 is closed, then reset",
        ),
        hazard: Hazard(8),
        also: also(&[Hazard(1)]),
        why: why("a vacuum pump under pressure blows refrigerant into the cabinet"),
    },
    heat::I12,
    heat::I13,
    Row {
        id: RowId::I14,
        causes: &[verdict(Watch::LeakVerdict)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv5, Xv10]),
        latch: Latch::Connection,
        reset: why("pass a leak check on this connection; once it leaked, mend it and evacuate before the next check"),
        hazard: Hazard(10),
        also: also(&[]),
        why: why("a charge into a leaking circuit ends in the air"),
    },
    found::I15,
    found::I16,
    Row {
        id: RowId::I17,
        causes: &[
            Condition {
                watch: Watch::SeparatorPressure,
                role: Role::Permit,
                trip: bar_hundredths(130),
                hold: NOW,
                clear: bar_hundredths(125),
                clear_hold: Millis(2_000),
            },
            verdict(Watch::OilBottle),
        ],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv8]),
        latch: Latch::None,
        reset: why(
            "recover until the separator (PT-5) stands below 1.25 bar abs, and empty the used-oil bottle (LS-1)",
        ),
        hazard: Hazard(13),
        also: also(&[]),
        why: why("a drain opened on a separator under pressure blows oil and refrigerant into the bottle"),
    },
    found::I18,
    Row {
        id: RowId::I19,
        causes: &[
            state(Watch::Effect, NOW, NOW),
            // As long as P-1 runs on behind XV-6: it empties its inlet, so that what trips I11 does not end here.
            state(Watch::PumpValveStuck, PUMP_LEAD, Millis(2_000)),
            state(Watch::Coils, NOW, Millis(500)),
        ],
        trip: CUT_OFF,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why(
            "pass the internal leak check; where PSH-2 is open, ease the inlet of P-1 and mend XV-6 or the switch, then reset",
        ),
        hazard: Hazard(14),
        also: also(&[Hazard(8)]),
        why: why("a valve that did not follow its command makes every other statement doubtful"),
    },
    Row {
        id: RowId::I20,
        causes: &[
            state(Watch::ScaleCreep, NOW, Millis(2_000)),
            state(Watch::ScaleLost, NOW, Millis(2_000)),
            // Two bridges of class 0.02 % at 10 kg differ by 4 g at most; half of what they part by is the error of their mean,
            // and 15 g is what a charge may be off (own choice).
            trip(
                Watch::BridgesApart,
                Level::Mass(Milligram::from_grams(12)),
                Millis(2_000),
                Level::Mass(Milligram::from_grams(8)),
                Millis(2_000),
            ),
        ],
        trip: RowEffects { inhibits: WEIGHING, ..NOTHING },
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why(
            "free the platform, calibrate or mend a bridge that differs, see the vessel scale stand for 10 s with all valves shut, then reset",
        ),
        hazard: Hazard(15),
        also: also(&[Hazard(2), Hazard(6)]),
        why: why("what is not weighed must not move"),
    },
    Row {
        id: RowId::I21,
        causes: &[verdict(Watch::SpanMoved)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv5, Xv10]),
        latch: Latch::None,
        reset: why("calibrate the vessel scale anew, with a second weight where its span moved by more than 2 %"),
        hazard: Hazard(15),
        also: also(&[Hazard(6)]),
        why: why("a span set with a wrong weight is wrong in every charge from then on"),
    },
    Row {
        id: RowId::I22,
        causes: &[verdict(Watch::Upkeep)],
        trip: NOTHING,
        withholds: SERVICE,
        latch: Latch::None,
        reset: why("exchange the filter-drier (WQI-1) or the pump oil (KQI-1), whichever has come to its limit"),
        hazard: Hazard(16),
        also: also(&[]),
        why: why(
            "a spent filter-drier passes water into the vessel, spent oil pulls no vacuum; the order in hand is finished first",
        ),
    },
    Row {
        id: RowId::I23,
        causes: &[verdict(Watch::Unlocking)],
        trip: NOTHING,
        withholds: SERVICE,
        latch: Latch::None,
        reset: why("have a supervisor finish the replacement that a power cut broke off"),
        hazard: Hazard(17),
        also: also(&[]),
        why: why("a code counts as used before its part counts as new, so that no cut lets it be used twice"),
    },
    Row {
        id: RowId::I24,
        causes: &[verdict(Watch::StoreLost)],
        trip: NOTHING,
        withholds: SERVICE,
        latch: Latch::None,
        reset: why("have a supervisor restore the record, or commission the station anew"),
        hazard: Hazard(18),
        also: also(&[Hazard(17)]),
        why: why("what cannot be read is never taken for new: every limit counts as expired"),
    },
    found::I25,
    Row {
        id: RowId::I26,
        causes: &[
            state(Watch::Restarted, NOW, NOW),
            state(Watch::TickRate, NOW, Millis(2_000)),
            state(Watch::SelfCheck, NOW, Millis(2_000)),
        ],
        trip: CUT_OFF,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why(
            "find out why the controller stalled or what its self-checks found, then reset; nothing goes on by itself",
        ),
        hazard: Hazard(20),
        also: also(&[Hazard(21)]),
        why: why(
            "outputs that nobody renews are dropped by hardware within half a second; what stalled once is not trusted on its word",
        ),
    },
    Row {
        id: RowId::I27,
        causes: &[state(Watch::StaleImage, NOW, Millis(500)), verdict(Watch::ProofDue)],
        trip: STOP_ALL,
        withholds: SERVICE,
        latch: Latch::Latched,
        reset: why("mend what reads the inputs, make the proof test that is overdue, then reset"),
        hazard: Hazard(21),
        also: also(&[]),
        why: why("an interlock that sees an old picture, or was not tried for too long, is none"),
    },
    Row {
        id: RowId::I28,
        causes: &[
            state(Watch::AirFlow, Millis(2_000), Millis(1_000)),
            // Six tenths of the reference fan's 2 800 rpm; FSL-1 opens below that (own choice).
            // The two seconds of the row, less what the fan coasts until then.
            trip(Watch::FanSpeed, rpm(1_680), Millis(1_200), rpm(1_960), Millis(1_000)),
            state(Watch::Door, NOW, Millis(1_000)),
            verdict(Watch::AirProof),
        ],
        trip: STOP_ALL,
        withholds: ALL_BUT_FAN,
        latch: Latch::Latched,
        reset: why("shut the door, see the fan blow at its speed (ST-1), then reset"),
        hazard: Hazard(22),
        also: also(&[Hazard(1)]),
        why: why("moving air is what keeps a small leak harmless"),
    },
    found::I29,
    Row {
        id: RowId::I30,
        causes: &[
            // Coils hold at 85 % of 24 V (a common tolerance, from memory).
            trip(Watch::SupplyLow, volts_tenths(204), NOW, volts_tenths(216), Millis(1_000)),
            trip(Watch::RailLow, volts_tenths(204), Millis(100), volts_tenths(216), NOW),
            state(Watch::StartsAgain, NOW, NOW),
        ],
        trip: RowEffects { drops: Feeds::of(&[Feed::Valves]), ..STOP_ALL },
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why("see supply (ET-1) and valve rail (ET-2) above 21.6 V and no restart for a minute, then reset"),
        hazard: Hazard(24),
        also: also(&[Hazard(14)]),
        why: why("valves that still hold while the controller no longer thinks are held by nobody"),
    },
    found::I31,
    Row {
        id: RowId::Hs1,
        causes: &[state(Watch::StopPressed, NOW, NOW), state(Watch::StopDisagrees, Millis(500), NOW)],
        trip: CUT_OFF,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: why(
            "pull the button out, then reset; after a disagreement of its contacts press it fully once more before",
        ),
        hazard: Hazard(25),
        also: also(&[Hazard(1)]),
        why: why("a person says stop"),
    },
];

/// Hazards that rows of this table must answer.
pub const ANSWERED: &[u8] =
    &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25];

/// The flat view the evaluation works on: each condition at the place of its [`Watch`], with the row it belongs to.
pub(super) const FLAT: [(Condition, RowId); WATCH_COUNT] = {
    let mut flat = [(ROWS[0].causes[0], RowId::I01); WATCH_COUNT];
    let mut seen = 0u64;
    let mut r = 0;
    while r < ROWS.len() {
        let mut c = 0;
        while c < ROWS[r].causes.len() {
            let condition = ROWS[r].causes[c];
            let at = condition.watch as usize;
            assert!(seen & 1 << at == 0, "a condition stands in two rows");
            seen |= 1 << at;
            flat[at] = (condition, ROWS[r].id);
            c += 1;
        }
        r += 1;
    }
    assert!(seen == (1 << WATCH_COUNT) - 1, "a condition stands in no row");
    flat
};

impl RowId {
    /// The row itself.
    pub fn row(self) -> Option<&'static Row> {
        ROWS.get(self.place())
    }
}
