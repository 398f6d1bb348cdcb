//! Everything that can be told, with sample figures: for whoever wants to read all of it, and for the tests that no text is missing.
//!
//! Each list names every variant; one that is new does not build before it stands here too.

use valvewright_core::fluid::Refrigerant;
use valvewright_core::input::{Broken, Input};
use valvewright_core::interlock::FirstOut;
use valvewright_core::interlock::table::ROWS;
use valvewright_core::job::{GasVerdict, GiveUp, LeakResult, LeakVerdict, Outcome, PhaseKind};
use valvewright_core::order::{Field, Task};
use valvewright_core::row::{RowId, Watch};
use valvewright_core::talk::{Asked, Notice, Question, Refusal};
use valvewright_core::token::{CodeFault, Kind, Part};
use valvewright_core::units::{AbsPa, Instant, Milligram, Millis, Permille};

/// A list of samples: for each variant its pattern and one or more of it.
macro_rules! samples {
    ($(#[$doc:meta])* $name:ident: $of:ty { $($pattern:pat => $samples:expr;)+ }) => {
        $(#[$doc])*
        pub fn $name() -> Vec<$of> {
            const fn _every_variant_has_a_line(one: &$of) {
                match one { $($pattern => {})+ }
            }
            let mut all: Vec<$of> = Vec::new();
            $(all.extend($samples);)+
            all
        }
    };
}

const P: AbsPa = AbsPa(135_000);
const DEEP: AbsPa = AbsPa(110);
const M: Milligram = Milligram(441_200);
const SOME: Milligram = Milligram(12_300);

fn first(row: RowId) -> Option<FirstOut> {
    let cause = row.row()?.causes.first()?;
    Some(FirstOut { row, watch: cause.watch, value: sample_value(cause.trip.number()), bad: false, at: Instant(0) })
}

/// A reading just beyond a set point; of a state, which has none, what a scale or gauge then reads.
const fn sample_value(number: i32) -> i32 {
    if number == 0 { 123_400 } else { number + number / 50 }
}

/// Every cause of every row, sound and bad; each row that only a latch from before holds; and a cause that its row has not, as another
/// controller than the core may tell it.
pub fn trips() -> Vec<Notice> {
    let causes = ROWS.iter().flat_map(|row| {
        row.causes.iter().flat_map(move |cause| {
            [false, true].map(|bad| {
                let value = sample_value(cause.trip.number());
                Notice::Tripped(row.id, Some(FirstOut { row: row.id, watch: cause.watch, value, bad, at: Instant(0) }))
            })
        })
    });
    let stray = FirstOut { row: RowId::I01, watch: Watch::Suction, value: P.0, bad: false, at: Instant(0) };
    let latched = RowId::ALL.map(|row| Notice::Tripped(row, None));
    causes.chain(latched).chain([Notice::Tripped(RowId::I01, Some(stray))]).collect()
}

fn asked(question: Question) -> Notice {
    Notice::Asked(Asked { number: 1, question })
}

fn held(verdict: LeakVerdict) -> LeakResult {
    LeakResult { verdict, micro_pa_m3_per_s: 43, smallest_micro: 12, refrigerant: Some(Refrigerant::R1234yf) }
}

samples! {
    /// Every notice: trips of the first cause of each row, phases ended by each reason, each question, each refusal.
    notices: Notice {
        Notice::OrderStarted(_) => [Notice::OrderStarted(7)];
        Notice::Interrupted(..) => [Notice::Interrupted(7, M)];
        Notice::Refused(_) => refusals().into_iter().map(Notice::Refused);
        Notice::ProvingAir => [Notice::ProvingAir];
        Notice::AirProven => [Notice::AirProven];
        Notice::AirNotProven => [Notice::AirNotProven];
        Notice::PhaseStarted(_) => PhaseKind::ALL.map(Notice::PhaseStarted);
        Notice::PhaseEnded(..) => outcomes().into_iter().map(|how| Notice::PhaseEnded(PhaseKind::Charge, how));
        Notice::OrderEnded(_) => [true, false].map(Notice::OrderEnded);
        Notice::Paused => [Notice::Paused];
        Notice::Resumed => [Notice::Resumed];
        Notice::Asked(_) => questions().into_iter().map(asked);
        Notice::Tripped(..) => RowId::ALL.map(|row| Notice::Tripped(row, first(row)));
        Notice::Cleared(_) => [Notice::Cleared(RowId::I11)];
        Notice::LowSamplePressure(_) => [Notice::LowSamplePressure(P)];
        Notice::Sampled(..) => [Notice::Sampled(Permille(993), Permille(5))];
        Notice::Gas(_) => gases().into_iter().map(Notice::Gas);
        Notice::RecoveryHold(_) => [Notice::RecoveryHold(AbsPa(35_000))];
        Notice::RecoveryRestart(_) => [Notice::RecoveryRestart(AbsPa(68_000))];
        Notice::Recovered(_) => [Notice::Recovered(M)];
        Notice::AirTaken(_) => [Notice::AirTaken(SOME)];
        Notice::OilDrained(_) => [Notice::OilDrained(SOME)];
        Notice::MoisturePlateau(_) => [Notice::MoisturePlateau(AbsPa(2_300))];
        Notice::PressureTest(..) => [Notice::PressureTest(AbsPa(1_800), AbsPa(900))];
        Notice::NitrogenLeft => [Notice::NitrogenLeft];
        Notice::Vacuum(_) => [Notice::Vacuum(DEEP)];
        Notice::Leak(_) => leak_verdicts().into_iter().map(|one| Notice::Leak(held(one)));
        Notice::DryingAgain => [Notice::DryingAgain];
        Notice::OilInjected(_) => [Notice::OilInjected(SOME)];
        Notice::WarmingVessel => [Notice::WarmingVessel];
        Notice::ChargeStall(_) => [Notice::ChargeStall(SOME)];
        Notice::Charged(_) => [Notice::Charged(M)];
        Notice::VesselExcess(_) => [Notice::VesselExcess(AbsPa(24_000))];
        Notice::PurgeCosts(_) => [Notice::PurgeCosts(SOME)];
        Notice::Purged(_) => [Notice::Purged(SOME)];
        Notice::StaticPressure(..) => [Notice::StaticPressure(AbsPa(560_000), AbsPa(570_000))];
        Notice::DrawnIn(_) => [Notice::DrawnIn(P)];
        Notice::HosesCleared(_) => [Notice::HosesCleared(SOME)];
        Notice::HosesHold(_) => [Notice::HosesHold(SOME)];
        Notice::VehicleHolds(..) => [SOME, Milligram(-SOME.0)].map(|off| Notice::VehicleHolds(M, off));
        Notice::Release => [Notice::Release];
        Notice::LateScan(_) => [1, 350].map(|ms| Notice::LateScan(Millis(ms)));
        Notice::UnusualCharge(..) => [(SOME, M), (M, SOME)].map(|(ordered, usual)| Notice::UnusualCharge(ordered, usual));
        Notice::Unsound(..) => brokens().into_iter().map(|why| Notice::Unsound(Input::Pt2, why));
        Notice::Sound(_) => Input::ALL.map(Notice::Sound);
        Notice::CodeRefused(..) => {
            let drier = code_faults().into_iter().map(|why| Notice::CodeRefused(Part::FilterDrier, why));
            drier.chain([Part::PumpOil, Part::Record].map(|of| Notice::CodeRefused(of, CodeFault::NotOurs)))
        };
        Notice::Exchanged(..) => Part::ALL.into_iter().flat_map(|of| [false, true].map(|release| Notice::Exchanged(of, release)));
        Notice::NotStored => [Notice::NotStored];
        Notice::LineStands(_) => [Notice::LineStands(AbsPa(48_000))];
        Notice::CodeAwaited(_) => Part::ALL.map(Notice::CodeAwaited);
        Notice::WeightOff(_) => [SOME, Milligram(-SOME.0)].map(Notice::WeightOff);
        Notice::Filled(_) => [Notice::Filled(M), Notice::Filled(Milligram(-180_000))];
        Notice::VesselHolds(_) => [Notice::VesselHolds(M)];
        Notice::Worn(..) => Part::WEAR.map(|of| Notice::Worn(of, Permille(834)));
    }
}

samples! {
    /// Every question.
    questions: Question {
        Question::Purge => [Question::Purge];
        Question::SampleFilterClean => [Question::SampleFilterClean];
        Question::CircuitOpened => [Question::CircuitOpened];
        Question::FillNitrogen => [Question::FillNitrogen];
        Question::ReleaseByHand => [Question::ReleaseByHand];
        Question::RunVehicleCompressor => [Question::RunVehicleCompressor];
        Question::DrawIn => [Question::DrawIn];
        Question::ShutCouplers => [Question::ShutCouplers];
        Question::UnusualCharge => [Question::UnusualCharge];
        Question::Task(_) => tasks().into_iter().map(Question::Task);
    }
}

samples! {
    /// Every task of upkeep.
    tasks: Task {
        Task::ParkCouplers => [Task::ParkCouplers];
        Task::ChangeDrier => [Task::ChangeDrier];
        Task::ChangePumpOil => [Task::ChangePumpOil];
        Task::FreePlatform => [Task::FreePlatform];
        Task::PutWeight => [Task::PutWeight];
        Task::TakeWeight => [Task::TakeWeight];
        Task::ShutCylinder => [Task::ShutCylinder];
        Task::ChangeSampleFilter => [Task::ChangeSampleFilter];
        Task::GiveTestGas => [Task::GiveTestGas];
        Task::TakeTestGas => [Task::TakeTestGas];
        Task::PumpUpSwitch => [Task::PumpUpSwitch];
        Task::EaseSwitch => [Task::EaseSwitch];
        Task::ChangeReliefValve => [Task::ChangeReliefValve];
        Task::AcceptLoss => [Task::AcceptLoss];
        Task::ChangeVessel => [Task::ChangeVessel];
        Task::HangCylinder => [Task::HangCylinder];
        Task::ShutMixed => [Task::ShutMixed];
    }
}

samples! {
    /// Every refusal, and every field that may be out of its range.
    refusals: Refusal {
        Refusal::Busy => [Refusal::Busy];
        Refusal::RepeatedId => [Refusal::RepeatedId];
        Refusal::NothingOrdered => [Refusal::NothingOrdered];
        Refusal::OutOfRange(_) => fields().into_iter().map(Refusal::OutOfRange);
        Refusal::Tripped(_) => [Refusal::Tripped(RowId::I28)];
        Refusal::NotPaused => [Refusal::NotPaused];
        Refusal::NotRunning => [Refusal::NotRunning];
        Refusal::NoQuestion => [Refusal::NoQuestion];
        Refusal::QuestionClosed => [Refusal::QuestionClosed];
        Refusal::NothingToReset => [Refusal::NothingToReset];
        Refusal::OnFlushPort => [Refusal::OnFlushPort];
        Refusal::NotOnFlushPort => [Refusal::NotOnFlushPort];
        Refusal::NotFlushed => [Refusal::NotFlushed];
        Refusal::HosesForeign => [Refusal::HosesForeign];
    }
}

samples! {
    /// Every field of an order.
    fields: Field {
        Field::Charge => [Field::Charge];
        Field::Evacuate => [Field::Evacuate];
        Field::Depth => [Field::Depth];
        Field::LeakHold => [Field::LeakHold];
        Field::Circuit => [Field::Circuit];
        Field::TestOver => [Field::TestOver];
        Field::TestHold => [Field::TestHold];
        Field::OilExtra => [Field::OilExtra];
        Field::Mass => [Field::Mass];
        Field::Phases => [Field::Phases];
    }
}

samples! {
    /// Every way a phase ends, failed for each reason.
    outcomes: Outcome {
        Outcome::Done => [Outcome::Done];
        Outcome::Skipped(_) => [Outcome::Skipped(GiveUp::NothingToPurge)];
        Outcome::Failed(_) => reasons().into_iter().map(Outcome::Failed);
        Outcome::Aborted => [Outcome::Aborted];
    }
}

samples! {
    /// Every verdict on a gas.
    gases: GasVerdict {
        GasVerdict::Unknown => [GasVerdict::Unknown];
        GasVerdict::Pure => [GasVerdict::Pure];
        GasVerdict::Air => [GasVerdict::Air];
        GasVerdict::Foreign => [GasVerdict::Foreign];
        GasVerdict::FlammableForeign => [GasVerdict::FlammableForeign];
        GasVerdict::Inconclusive => [GasVerdict::Inconclusive];
    }
}

samples! {
    /// Every verdict of a vacuum hold.
    leak_verdicts: LeakVerdict {
        LeakVerdict::Unknown => [LeakVerdict::Unknown];
        LeakVerdict::Tight => [LeakVerdict::Tight];
        LeakVerdict::Leak => [LeakVerdict::Leak];
        LeakVerdict::Moisture => [LeakVerdict::Moisture];
    }
}

samples! {
    /// Every reason why a reading is bad.
    brokens: Broken {
        Broken::Under => [Broken::Under];
        Broken::Over => [Broken::Over];
        Broken::Frozen => [Broken::Frozen];
        Broken::Rail => [Broken::Rail];
        Broken::Noisy => [Broken::Noisy];
        Broken::Old => [Broken::Old];
        Broken::Contradicted => [Broken::Contradicted];
    }
}

samples! {
    /// Every reason to give up.
    reasons: GiveUp {
        GiveUp::NotCoupled => [GiveUp::NotCoupled];
        GiveUp::ReadingBad => [GiveUp::ReadingBad];
        GiveUp::ScaleUnsteady => [GiveUp::ScaleUnsteady];
        GiveUp::PressureTooLow => [GiveUp::PressureTooLow];
        GiveUp::PressureTooHigh => [GiveUp::PressureTooHigh];
        GiveUp::SampleFilterOily => [GiveUp::SampleFilterOily];
        GiveUp::IdentifierUnsure => [GiveUp::IdentifierUnsure];
        GiveUp::GasRefused(_) => gases().into_iter().map(GiveUp::GasRefused);
        GiveUp::RefusalStands(_) => gases().into_iter().map(GiveUp::RefusalStands);
        GiveUp::NoIdentity => [GiveUp::NoIdentity];
        GiveUp::VesselFull => [GiveUp::VesselFull];
        GiveUp::RecoveryTimeout => [GiveUp::RecoveryTimeout];
        GiveUp::NothingToRecover => [GiveUp::NothingToRecover];
        GiveUp::DrawsAir => [GiveUp::DrawsAir];
        GiveUp::KeepsRising => [GiveUp::KeepsRising];
        GiveUp::PressureForVacuum => [GiveUp::PressureForVacuum];
        GiveUp::NotRecovered => [GiveUp::NotRecovered];
        GiveUp::HoldsRefrigerant(_) => [GiveUp::HoldsRefrigerant(SOME)];
        GiveUp::NotReleased(_) => [GiveUp::NotReleased(P)];
        GiveUp::TestPressure(_) => [GiveUp::TestPressure(P)];
        GiveUp::PressureFalls(_) => [GiveUp::PressureFalls(P)];
        GiveUp::NoVacuum => [GiveUp::NoVacuum];
        GiveUp::GaugeNotLive => [GiveUp::GaugeNotLive];
        GiveUp::Leaks => [GiveUp::Leaks];
        GiveUp::LeakStands => [GiveUp::LeakStands];
        GiveUp::StillWet => [GiveUp::StillWet];
        GiveUp::TooShallow(_) => [GiveUp::TooShallow(P)];
        GiveUp::NoLeakVerdict => [GiveUp::NoLeakVerdict];
        GiveUp::NotReached(_) => PhaseKind::ALL.map(GiveUp::NotReached);
        GiveUp::VesselLow { .. } => [GiveUp::VesselLow { gives: SOME, needs: M }];
        GiveUp::NoRoom { .. } => [GiveUp::NoRoom { room: SOME, needs: M }];
        GiveUp::ChargeStalled => [GiveUp::ChargeStalled];
        GiveUp::Declined => [GiveUp::Declined];
        GiveUp::Blocked => [GiveUp::Blocked];
        GiveUp::NotRested => [GiveUp::NotRested];
        GiveUp::NothingToPurge => [GiveUp::NothingToPurge];
        GiveUp::PurgeLossLimit => [GiveUp::PurgeLossLimit];
        GiveUp::PulsesSpent => [GiveUp::PulsesSpent];
        GiveUp::NotOrdered => [GiveUp::NotOrdered];
        GiveUp::HighVoltage => [GiveUp::HighVoltage];
        GiveUp::NoOil => [GiveUp::NoOil];
        GiveUp::OilBottleFull => [GiveUp::OilBottleFull];
        GiveUp::SeparatorPressure(_) => [GiveUp::SeparatorPressure(P)];
        GiveUp::GaugesDisagree => [GiveUp::GaugesDisagree];
        GiveUp::HosesDisagree(..) => [GiveUp::HosesDisagree(P, AbsPa(228_000))];
        GiveUp::PressureImplausible => [GiveUp::PressureImplausible];
        GiveUp::NoAnswer => [GiveUp::NoAnswer];
        GiveUp::TookTooLong => [GiveUp::TookTooLong];
        GiveUp::TripsAgain => [GiveUp::TripsAgain];
        GiveUp::ScaleDisagrees => [GiveUp::ScaleDisagrees];
        GiveUp::Overcharged(_) => [GiveUp::Overcharged(SOME)];
        GiveUp::Undercharged(_) => [GiveUp::Undercharged(SOME)];
        GiveUp::CouplersMoved => [GiveUp::CouplersMoved];
        GiveUp::PumpShallow(_) => [GiveUp::PumpShallow(P)];
        GiveUp::LineLoaded(_) => [GiveUp::LineLoaded(P)];
        GiveUp::WeightOff(_) => [SOME, Milligram(-SOME.0)].map(GiveUp::WeightOff);
        GiveUp::NoReturn(_) => [GiveUp::NoReturn(SOME)];
        GiveUp::NotProven => [GiveUp::NotProven];
        GiveUp::NotStored => [GiveUp::NotStored];
        GiveUp::RecordSound => [GiveUp::RecordSound];
        GiveUp::NotEvacuated(_) => [GiveUp::NotEvacuated(P)];
        GiveUp::FlushShort(_) => [GiveUp::FlushShort(SOME)];
        GiveUp::CylinderFull(_) => [GiveUp::CylinderFull(P)];
    }
}

samples! {
    /// Every reason why a code is not taken.
    code_faults: CodeFault {
        CodeFault::Mistyped => [CodeFault::Mistyped];
        CodeFault::OtherVersion => [CodeFault::OtherVersion];
        CodeFault::NotOurs => [CodeFault::NotOurs];
        CodeFault::OtherKind(_) => Kind::ALL.map(CodeFault::OtherKind);
        CodeFault::UsedBefore => [CodeFault::UsedBefore];
        CodeFault::TooOld => [CodeFault::TooOld];
        CodeFault::Wait(_) => [CodeFault::Wait(Millis(30_000))];
        CodeFault::NotStored => [CodeFault::NotStored];
    }
}
