//! The cause-and-effect matrix: every interlock as a row of one const table, checked while compiling.
//!
//! Rows and ids are those of the hazard analysis; ids are printed on reports and never renumbered. A row that chatters
//! (clear point not on the safe side of its trip point), mixes units, stops the fan, or leaves a listed hazard without
//! answer does not build.

use crate::frame::{Actuator, Actuators};
use crate::units::{AbsPa, CentiKelvin, Milligram, Millis, Permille, PermilleLfl};
use Actuator::*;

/// Id of a row. The order is that of the table and of the bits of [`super::RowSet`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum RowId {
    /// Flammable gas in the cabinet.
    I01,
    /// Vessel at its fill limit.
    I02,
    /// Vessel or discharge pressure high.
    I03,
    /// No valid identity of the gas on this connection.
    I05,
    /// No leave to purge non-condensables.
    I06,
    /// Charged flow against its model, shaken scale or late scan.
    I08,
    /// Separator level high.
    I10,
    /// Pressure on the vacuum pump.
    I11,
    /// Heater without gas above it, or too hot.
    I12,
    /// Compressor too hot or starved.
    I13,
    /// No leak verdict for this connection.
    I14,
    /// An effect did not follow its command.
    I19,
    /// Vessel mass not to be believed.
    I20,
    /// Ventilation lost, not proven, or door open.
    I28,
    /// Emergency stop.
    Hs1,
}

/// How many rows there are.
pub const ROW_COUNT: usize = 15;

impl RowId {
    /// Every row id, in order.
    pub const ALL: [Self; ROW_COUNT] = [
        Self::I01,
        Self::I02,
        Self::I03,
        Self::I05,
        Self::I06,
        Self::I08,
        Self::I10,
        Self::I11,
        Self::I12,
        Self::I13,
        Self::I14,
        Self::I19,
        Self::I20,
        Self::I28,
        Self::Hs1,
    ];
    /// As printed on reports.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::I01 => "I01",
            Self::I02 => "I02",
            Self::I03 => "I03",
            Self::I05 => "I05",
            Self::I06 => "I06",
            Self::I08 => "I08",
            Self::I10 => "I10",
            Self::I11 => "I11",
            Self::I12 => "I12",
            Self::I13 => "I13",
            Self::I14 => "I14",
            Self::I19 => "I19",
            Self::I20 => "I20",
            Self::I28 => "I28",
            Self::Hs1 => "HS-1",
        }
    }
    /// The row itself.
    pub fn row(self) -> Option<&'static Row> {
        ROWS.get(self as usize)
    }
}

impl core::fmt::Display for RowId {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.pad(self.as_str())
    }
}

/// Number of a hazard of the analysis, 1-25.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Hazard(pub u8);

impl core::fmt::Display for Hazard {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "H{:02}", self.0)
    }
}

/// A set point, in the unit of its reading.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Level {
    /// Absolute pressure.
    Pressure(AbsPa),
    /// Temperature.
    Temperature(CentiKelvin),
    /// Share of the lower flammable limit.
    Gas(PermilleLfl),
    /// Share of the fill limit the job gives.
    FillShare(Permille),
    /// Mass.
    Mass(Milligram),
    /// No number: a contact or a verdict, which stands or does not.
    State,
}

impl Level {
    /// The bare number, in the unit of the variant; 0 for a state.
    pub const fn number(self) -> i32 {
        match self {
            Self::Pressure(AbsPa(v))
            | Self::Temperature(CentiKelvin(v))
            | Self::Gas(PermilleLfl(v))
            | Self::FillShare(Permille(v))
            | Self::Mass(Milligram(v)) => v,
            Self::State => 0,
        }
    }
    const fn unit(self) -> u8 {
        match self {
            Self::Pressure(_) => 0,
            Self::Temperature(_) => 1,
            Self::Gas(_) => 2,
            Self::FillShare(_) => 3,
            Self::Mass(_) => 4,
            Self::State => 5,
        }
    }
}

/// On which side of its trip point a condition is dangerous.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Side {
    /// At or above.
    High,
    /// Below.
    Low,
    /// While it stands.
    State,
}

/// What one condition looks at. The number is its bit in the evaluation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(u8)]
pub enum Watch {
    /// AT-2.
    CabinetGas,
    /// WT-1 against the fill limit.
    VesselFill,
    /// PT-1.
    VesselPressure,
    /// PSH-1 open.
    DischargeSwitch,
    /// The job holds no pass of the identifier for this connection.
    Identity,
    /// The job has not found non-condensables on a rested vessel.
    PurgeLeave,
    /// The job's flow model and the measured rate disagree.
    ChargeFlow,
    /// WT-1 bad or shaken.
    ChargeScale,
    /// The last scan came late.
    LateScan,
    /// LS-2 open.
    SeparatorLevel,
    /// max(PT-2, PT-3), whether XV-6 may open.
    PumpAdmission,
    /// max(PT-2, PT-3) while XV-6 is open.
    PumpInlet,
    /// WT-1 while H-1 is on or wanted.
    HeaterCover,
    /// TT-3 while H-1 is on or wanted.
    HeaterSkin,
    /// TT-2.
    DischargeTemperature,
    /// min(PT-2, PT-3) while C-1 runs with XV-3 open.
    Suction,
    /// The job holds no leak pass for this connection.
    LeakVerdict,
    /// The job found an effect missing.
    Effect,
    /// WT-1 moves with all valves shut.
    ScaleCreep,
    /// WT-1 bad.
    ScaleLost,
    /// FSL-1 open while anything but the fan is on or wanted.
    AirFlow,
    /// ZS-1 open.
    Door,
    /// The air changes and the FSL-1 test before a start are not done.
    AirProof,
    /// HS-1: either channel open.
    StopPressed,
    /// HS-1: one channel open, the other not.
    StopDisagrees,
}

/// How many conditions there are.
pub const WATCH_COUNT: usize = 25;

impl Watch {
    /// On which side of the trip point it is dangerous.
    pub const fn side(self) -> Side {
        match self {
            Self::CabinetGas
            | Self::VesselFill
            | Self::VesselPressure
            | Self::PumpAdmission
            | Self::PumpInlet => Side::High,
            Self::HeaterSkin | Self::DischargeTemperature => Side::High,
            Self::Suction | Self::HeaterCover => Side::Low,
            _ => Side::State,
        }
    }
}

/// What a condition does to its row.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Role {
    /// Trips it.
    Trip,
    /// Withholds its permission: inhibits without being a trip.
    Permit,
}

/// One cause: a judged reading against a set point, with hold times.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Condition {
    /// The reading or verdict.
    pub watch: Watch,
    /// Trip or permissive.
    pub role: Role,
    /// Trip point.
    pub trip: Level,
    /// How long the trip point must be passed. A bad input does not wait: its quality is confirmed already.
    pub hold: Millis,
    /// The cause is gone past this point.
    pub clear: Level,
    /// How long the clear point must be kept.
    pub clear_hold: Millis,
}

/// What a row does to the outputs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Effects {
    /// Held off.
    pub inhibits: Actuators,
    /// Held on.
    pub forces: Actuators,
}

/// How long a trip stays after its cause is gone.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Latch {
    /// Not at all.
    None,
    /// Until reset, or until the next phase starts.
    Phase,
    /// A permission is void once the couplers have moved and must be earned anew.
    Connection,
    /// Until reset.
    Latched,
}

/// One interlock.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Row {
    /// Its id.
    pub id: RowId,
    /// Any of these makes it act.
    pub causes: &'static [Condition],
    /// While tripped.
    pub trip: Effects,
    /// Held off while its permission is withheld.
    pub withholds: Actuators,
    /// How long a trip stays.
    pub latch: Latch,
    /// What clears it, for the operator.
    pub reset: &'static str,
    /// The hazard it answers first.
    pub hazard: Hazard,
    /// Other hazards it answers.
    pub also: &'static [Hazard],
    /// Why it is there.
    pub why: &'static str,
}

impl Row {
    /// Whether any of its causes withholds a permission.
    pub const fn permissive(&self) -> bool {
        !self.withholds.is_empty()
    }
}

const ALL_BUT_FAN: Actuators = Actuators::ALL.without(Actuators::of(&[K1]));
const NOTHING: Effects = Effects {
    inhibits: Actuators::NONE,
    forces: Actuators::NONE,
};
const STOP_ALL: Effects = Effects {
    inhibits: ALL_BUT_FAN,
    forces: Actuators::of(&[K1]),
};
const WEIGHING: Actuators = Actuators::of(&[Xv3, Xv4, Xv5, Xv10, Xv7, Xv8, C1, H1]);

const fn off(list: &[Actuator]) -> Effects {
    Effects {
        inhibits: Actuators::of(list),
        forces: Actuators::NONE,
    }
}
const fn off_with_fan(list: &[Actuator]) -> Effects {
    Effects {
        inhibits: Actuators::of(list),
        forces: Actuators::of(&[K1]),
    }
}
const fn trip(
    watch: Watch,
    trip: Level,
    hold: Millis,
    clear: Level,
    clear_hold: Millis,
) -> Condition {
    Condition {
        watch,
        role: Role::Trip,
        trip,
        hold,
        clear,
        clear_hold,
    }
}
const fn state(watch: Watch, hold: Millis, clear_hold: Millis) -> Condition {
    Condition {
        watch,
        role: Role::Trip,
        trip: Level::State,
        hold,
        clear: Level::State,
        clear_hold,
    }
}
const fn verdict(watch: Watch) -> Condition {
    Condition {
        watch,
        role: Role::Permit,
        trip: Level::State,
        hold: NOW,
        clear: Level::State,
        clear_hold: NOW,
    }
}
const NOW: Millis = Millis(0);
const fn bar_hundredths(value: i32) -> Level {
    Level::Pressure(AbsPa(value.saturating_mul(1_000)))
}
const fn celsius(value: i32) -> Level {
    Level::Temperature(CentiKelvin::from_centi_celsius(value.saturating_mul(100)))
}

/// Every interlock. Set points are those of the hazard analysis; clear points and holds not given there are our own choice.
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
        reset: "below 10 % LFL for 60 s, then reset",
        hazard: Hazard(1),
        also: &[],
        why: "gas in the cabinet can reach its flammable limit within seconds; everything stops but the air",
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
        trip: off(&[Xv3, Xv4, C1, H1]),
        withholds: Actuators::NONE,
        latch: Latch::Phase,
        reset: "take refrigerant out of the vessel, then reset or start the next phase",
        hazard: Hazard(2),
        also: &[Hazard(23)],
        why: "a vessel that is full of liquid bursts when it warms",
    },
    Row {
        id: RowId::I03,
        causes: &[
            // 16 bar above a standard barometer of 1.013 bar.
            trip(
                Watch::VesselPressure,
                bar_hundredths(1_701),
                Millis(100),
                bar_hundredths(1_551),
                Millis(2_000),
            ),
            state(Watch::DischargeSwitch, NOW, Millis(2_000)),
        ],
        trip: off_with_fan(&[Xv3, Xv4, C1, H1]),
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: "let the vessel cool below 14.5 bar gauge and PSH-1 close, find the reason, then reset",
        hazard: Hazard(2),
        also: &[Hazard(9), Hazard(23)],
        why: "acts before PSH-1, which acts before the relief valve",
    },
    Row {
        id: RowId::I05,
        causes: &[verdict(Watch::Identity)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv3, Xv4, C1]),
        latch: Latch::Connection,
        reset: "identify the gas on this connection",
        hazard: Hazard(4),
        also: &[Hazard(5), Hazard(12)],
        why: "one wrong vehicle spoils the whole vessel before anything could be measured",
    },
    Row {
        id: RowId::I06,
        causes: &[verdict(Watch::PurgeLeave)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv7]),
        latch: Latch::None,
        reset: "let the vessel rest and find excess pressure over saturation",
        hazard: Hazard(5),
        also: &[Hazard(13)],
        why: "purging a warm or unrested vessel vents refrigerant for no air",
    },
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
        reset: "clears by itself once the scale is quiet; the charge resumes from the ledger",
        hazard: Hazard(6),
        also: &[Hazard(15), Hazard(20)],
        why: "one second of blind charging is the whole tolerance",
    },
    Row {
        id: RowId::I10,
        causes: &[state(Watch::SeparatorLevel, NOW, Millis(2_000))],
        trip: off(&[Xv3]),
        withholds: Actuators::NONE,
        latch: Latch::None,
        reset: "clears by itself while the compressor boils the separator dry; the third time in a phase needs reset",
        hazard: Hazard(7),
        also: &[],
        why: "liquid in the compressor breaks it within one revolution",
    },
    Row {
        id: RowId::I11,
        causes: &[
            trip(
                Watch::PumpInlet,
                bar_hundredths(105),
                NOW,
                bar_hundredths(100),
                Millis(2_000),
            ),
            Condition {
                watch: Watch::PumpAdmission,
                role: Role::Permit,
                trip: bar_hundredths(105),
                hold: NOW,
                clear: bar_hundredths(100),
                clear_hold: Millis(60_000),
            },
        ],
        trip: off_with_fan(&[Xv6, P1]),
        withholds: Actuators::of(&[Xv6]),
        latch: Latch::Latched,
        reset: "recover until both hoses are below 1.0 bar absolute for 60 s, then reset",
        hazard: Hazard(8),
        also: &[Hazard(1)],
        why: "a vacuum pump under pressure blows refrigerant into the cabinet",
    },
    Row {
        id: RowId::I12,
        causes: &[
            trip(
                Watch::HeaterCover,
                Level::Mass(Milligram::from_grams(1_000)),
                Millis(1_000),
                Level::Mass(Milligram::from_grams(1_100)),
                Millis(2_000),
            ),
            trip(
                Watch::HeaterSkin,
                celsius(80),
                NOW,
                celsius(60),
                Millis(2_000),
            ),
        ],
        trip: off(&[H1]),
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: "more than 1.1 kg in the vessel and the heater below 60 degC, then reset",
        hazard: Hazard(9),
        also: &[],
        why: "a dry heater passes the auto-ignition temperature within minutes",
    },
    Row {
        id: RowId::I13,
        causes: &[
            trip(
                Watch::DischargeTemperature,
                celsius(120),
                NOW,
                celsius(90),
                Millis(2_000),
            ),
            trip(
                Watch::Suction,
                bar_hundredths(30),
                Millis(30_000),
                bar_hundredths(40),
                NOW,
            ),
        ],
        trip: off(&[C1]),
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: "let the compressor cool below 90 degC, then reset",
        hazard: Hazard(9),
        also: &[],
        why: "the compressor is cooled by what it sucks; at deep vacuum there is nothing",
    },
    Row {
        id: RowId::I14,
        causes: &[verdict(Watch::LeakVerdict)],
        trip: NOTHING,
        withholds: Actuators::of(&[Xv5, Xv10]),
        latch: Latch::Connection,
        reset: "pass a leak check on this connection",
        hazard: Hazard(10),
        also: &[],
        why: "a charge into a leaking circuit ends in the air",
    },
    Row {
        id: RowId::I19,
        causes: &[state(Watch::Effect, NOW, NOW)],
        trip: STOP_ALL,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: "pass the internal leak check, then reset",
        hazard: Hazard(14),
        also: &[],
        why: "a valve that did not follow its command makes every other statement doubtful",
    },
    Row {
        id: RowId::I20,
        causes: &[
            state(Watch::ScaleCreep, NOW, Millis(2_000)),
            state(Watch::ScaleLost, NOW, Millis(2_000)),
        ],
        trip: Effects {
            inhibits: WEIGHING,
            forces: Actuators::NONE,
        },
        withholds: Actuators::NONE,
        latch: Latch::None,
        reset: "clears by itself once the vessel scale is quiet; free the platform",
        hazard: Hazard(15),
        also: &[Hazard(2), Hazard(6)],
        why: "what is not weighed must not move",
    },
    Row {
        id: RowId::I28,
        causes: &[
            state(Watch::AirFlow, Millis(2_000), Millis(1_000)),
            state(Watch::Door, NOW, Millis(1_000)),
            verdict(Watch::AirProof),
        ],
        trip: STOP_ALL,
        withholds: ALL_BUT_FAN,
        latch: Latch::Phase,
        reset: "shut the door and see the fan blow, then reset or start the next phase",
        hazard: Hazard(22),
        also: &[Hazard(1)],
        why: "moving air is what keeps a small leak harmless",
    },
    Row {
        id: RowId::Hs1,
        causes: &[
            state(Watch::StopPressed, NOW, NOW),
            state(Watch::StopDisagrees, Millis(500), NOW),
        ],
        trip: STOP_ALL,
        withholds: Actuators::NONE,
        latch: Latch::Latched,
        reset: "pull the button out, then reset; after a disagreement of its contacts press it fully once more before",
        hazard: Hazard(25),
        also: &[Hazard(1)],
        why: "a person says stop",
    },
];

/// Hazards that rows of this table must answer. The others are answered elsewhere: H03 by the charge phase's closing order,
/// H11 by the oil phase, H16-H19 by life counters and the store, H21 by the quality of readings, H24 by the supply supervisor.
pub const ANSWERED: &[u8] = &[1, 2, 4, 5, 6, 7, 8, 9, 10, 12, 13, 14, 15, 20, 22, 23, 25];

/// The flat view the evaluation works on: each condition at the place of its [`Watch`], with the row it belongs to.
pub(super) const FLAT: [(Condition, RowId); WATCH_COUNT] = {
    let mut flat = [(ROWS[0].causes[0], RowId::I01); WATCH_COUNT];
    let mut seen = 0u32;
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
    assert!(
        seen == (1 << WATCH_COUNT) - 1,
        "a condition stands in no row"
    );
    flat
};

const fn condition_holds_together(c: &Condition) -> bool {
    let (trip, clear) = (c.trip.number(), c.clear.number());
    c.trip.unit() == c.clear.unit()
        && match c.watch.side() {
            Side::High => clear < trip && c.trip.unit() != Level::State.unit(),
            Side::Low => clear > trip && c.trip.unit() != Level::State.unit(),
            Side::State => c.trip.unit() == Level::State.unit(),
        }
}

const fn answers(row: &Row, hazard: u8) -> bool {
    let mut i = 0;
    while i < row.also.len() {
        if row.also[i].0 == hazard {
            return true;
        }
        i += 1;
    }
    row.hazard.0 == hazard
}

/// An output that must not be on alone is stopped wherever its partner is: the gate only takes away, and must not leave a
/// compressor against a shut valve or an open way into a standing pump.
const fn stops_partners(off: Actuators) -> bool {
    (!off.has(Xv4) || off.has(C1)) && (!off.has(P1) || off.has(Xv6))
}

const _: () = {
    assert!(ROWS.len() == ROW_COUNT);
    let mut r = 0;
    while r < ROWS.len() {
        let row = &ROWS[r];
        assert!(row.id as usize == r, "ids out of order: never renumber");
        assert!(row.hazard.0 >= 1 && row.hazard.0 <= 25);
        assert!(
            !row.trip.inhibits.has(K1) && !row.withholds.has(K1),
            "the fan is never inhibited"
        );
        assert!(
            row.trip.forces.0 & !Actuators::SAFE.0 == 0,
            "only the fan may be forced on"
        );
        assert!(stops_partners(row.trip.inhibits) && stops_partners(row.withholds));
        assert!(!row.causes.is_empty());
        let (mut trips, mut permits) = (false, false);
        let mut c = 0;
        while c < row.causes.len() {
            let condition = &row.causes[c];
            assert!(
                condition_holds_together(condition),
                "units differ or no hysteresis"
            );
            match condition.role {
                Role::Trip => trips = true,
                Role::Permit => permits = true,
            }
            c += 1;
        }
        assert!(
            trips != row.trip.inhibits.is_empty(),
            "a trip without effect, or an effect without cause"
        );
        assert!(
            permits == row.permissive(),
            "a permission that withholds nothing, or the reverse"
        );
        r += 1;
    }
    let mut h = 0;
    while h < ANSWERED.len() {
        let (mut found, mut r) = (false, 0);
        while r < ROWS.len() {
            found |= answers(&ROWS[r], ANSWERED[h]);
            r += 1;
        }
        assert!(found, "a hazard without an answer");
        h += 1;
    }
};
