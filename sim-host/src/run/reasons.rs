//! English words for phases, for why one was given up and how to clear it, for what the gas is, and for codes of parts.

use valvewright_core::job::{GasVerdict, GiveUp, PhaseKind};
use valvewright_core::token::{CodeFault, Kind, Part};

use crate::display::{Amount, Sentence};
use crate::say;

/// Word of a phase for readers.
pub fn phase(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Purge => "purge",
        PhaseKind::Identify => "identification",
        PhaseKind::Recover => "recovery",
        PhaseKind::DrainOil => "oil drain",
        PhaseKind::PressureTest => "pressure test",
        PhaseKind::Evacuate => "evacuation",
        PhaseKind::LeakCheck => "leak check",
        PhaseKind::InjectOil => "oil injection",
        PhaseKind::Charge => "charge",
        PhaseKind::Verify => "verification",
        PhaseKind::ClearHoses => "hose clearing",
    }
}

/// What a gas verdict means.
pub const fn gas(verdict: GasVerdict) -> &'static str {
    match verdict {
        GasVerdict::Unknown => "not identified",
        GasVerdict::Pure => "pure",
        GasVerdict::Air => "mixed with too much air",
        GasVerdict::Foreign => "a foreign gas",
        GasVerdict::FlammableForeign => "foreign and flammable (hydrocarbon)",
        GasVerdict::Inconclusive => "inconclusive",
    }
}

/// Why something was given up, and how to clear it.
pub fn reason(why: GiveUp) -> Sentence {
    let text = match why {
        GiveUp::NotCoupled => "the couplers are not on the vehicle; connect both",
        GiveUp::ReadingBad => "a reading it cannot do without is bad; see the input list and mend the transmitter",
        GiveUp::ScaleUnsteady => "the vessel scale did not come to rest; keep hands and hoses off the platform",
        GiveUp::PressureTooLow => "too little pressure to take a gas sample; run the A/C or warm the vehicle",
        GiveUp::PressureTooHigh => "hose pressure is too high; let the circuit cool or recover first",
        GiveUp::SampleFilterOily => "oil in the sample filter; change it and drain the sample line",
        GiveUp::IdentifierUnsure => "the identifier gave no two samples that agree; check its filter and connection",
        GiveUp::GasRefused(v) => {
            return say!["the gas is ", gas(v), "; it must not go into the vessel, use a separate cylinder"];
        }
        GiveUp::RefusalStands(v) => {
            return say![
                "earlier samples on this connection were ",
                gas(v),
                "; take the couplers off, find out why, and begin anew"
            ];
        }
        GiveUp::NoIdentity => "no valid identification for this connection in the last ten minutes; identify first",
        GiveUp::VesselFull => "the vessel is at its fill limit; move refrigerant to another cylinder",
        GiveUp::RecoveryTimeout => "end pressure was not reached in time; look for a shut coupler or a worn compressor",
        GiveUp::DrawsAir => {
            "air is drawn in as fast as gas is taken out: the circuit is open or leaks grossly, find the leak"
        }
        GiveUp::KeepsRising => {
            "pressure keeps coming back; liquid or oil still gives off gas, a coupler leaks by, or air comes in through a leak"
        }
        GiveUp::PressureForVacuum => {
            "hose pressure is too high for the vacuum pump; recover first, or release air or nitrogen by hand"
        }
        GiveUp::NotRecovered => {
            "the circuit may hold refrigerant, which the vacuum pump would blow out; identify and recover first"
        }
        GiveUp::NoVacuum => "vacuum cannot be reached; the circuit is open or leaks grossly, find the leak",
        GiveUp::GaugeNotLive => {
            "the vacuum gauge did not move when it had to; check PT-4, and where it stays high while P-1 draws on the shut manifold, P-1 and its oil"
        }
        GiveUp::Leaks => "the pressure rises straight; find and mend the leak before charging",
        GiveUp::LeakStands => {
            "an earlier hold on this connection found a leak; mend it, then evacuate before the next leak check"
        }
        GiveUp::StillWet => {
            "moisture is not excluded: the pressure rises and flattens, the evacuation did not reach its depth, or it is too cold for ice to show; evacuate longer or warmer"
        }
        GiveUp::TooShallow(p) => {
            return say![
                "the pressure rises after a short evacuation that ended at ",
                p,
                ": a leak, or what oil and liquid still give off; evacuate for ten minutes or longer and check again"
            ];
        }
        GiveUp::NotReached(kind) => return say!["not begun, for the ", phase(kind), " before it did not pass"],
        GiveUp::NoLeakVerdict => "no passed leak check for this connection in the last thirty minutes",
        GiveUp::VesselLow { gives, needs } => {
            return say!["the vessel can give ", gives, " of the ", needs, " this charge needs; fill the vessel"];
        }
        GiveUp::NoRoom { room, needs } => {
            return say![
                "the vessel has room for ",
                room,
                ", the vehicle may hold ",
                needs,
                "; move refrigerant to another cylinder"
            ];
        }
        GiveUp::ChargeStalled => "charge flow stopped and nothing brought it back; cool the vehicle or warm the vessel",
        GiveUp::Declined => "the operator said no",
        GiveUp::Blocked => {
            "an interlock or permissive withheld it for ten minutes; see the matrix for what it waits for"
        }
        GiveUp::NothingToRecover => "air or nitrogen and no refrigerant is in the circuit",
        GiveUp::HoldsRefrigerant(m) => {
            return say![
                "the circuit still holds some ",
                m,
                " of refrigerant as gas, and maybe more in its oil; order identification and recovery first"
            ];
        }
        GiveUp::NotReleased(p) => {
            return say!["the circuit still stands at ", p, "; let its air or nitrogen out by hand and begin anew"];
        }
        GiveUp::TestPressure(p) => {
            return say!["the test pressure is ", p, " and not the ordered one; fill or release and begin anew"];
        }
        GiveUp::PressureFalls(fall) => {
            return say![
                "the test pressure fell by ",
                Amount::Difference(f64::from(fall.0)),
                " beyond what its temperature explains: a leak; find it with a detector or leak spray, mend it and test again"
            ];
        }
        GiveUp::NotRested => "the vessel has not rested four hours with wall and air within 2 K",
        GiveUp::NothingToPurge => "no air worth a purge",
        GiveUp::PurgeLossLimit => {
            "purging stopped at its limit of refrigerant lost; rest the vessel in a cold place and repeat"
        }
        GiveUp::PulsesSpent => {
            "what was purged did not bring the excess down; hold PT-1 and TT-1 against a reference, look whether XV-7 and its restrictor are free, then rest the vessel and repeat"
        }
        GiveUp::NotOrdered => "nothing ordered",
        GiveUp::HighVoltage => "no oil into a high-voltage compressor without a flush record",
        GiveUp::NoOil => "the new-oil bottle gives nothing; fill it and check its line",
        GiveUp::SeparatorPressure(p) => {
            return say![
                "the separator (PT-5) stands at ",
                p,
                ", too much for its drain to open (I17); recover or clear the hoses first"
            ];
        }
        GiveUp::GaugesDisagree => {
            "the separator (PT-5) reads higher than the hoses (PT-2, PT-3) that feed it; compare the gauges and mend the one that is off"
        }
        GiveUp::HosesDisagree(low, high) => {
            return say![
                "the hose gauges stand on one circuit and do not agree, PT-2 at ",
                low,
                " and PT-3 at ",
                high,
                "; nothing was judged by them: compare both with a third, mend the one that is off, and begin anew"
            ];
        }
        GiveUp::OilBottleFull => "the used-oil bottle is full; empty it",
        GiveUp::PressureImplausible => {
            "static pressures do not fit the ambient temperature; check the charge and the gauges"
        }
        GiveUp::NoAnswer => "no answer came in time",
        GiveUp::TookTooLong => "it ran longer than such a phase may; see its notices for what it waited for",
        GiveUp::TripsAgain => {
            "interlocks tripped and let go again and again; see which in the list of trips, and remove the cause"
        }
        GiveUp::ScaleDisagrees => {
            "the vessel scale shows what cannot be; free its platform, check it with a weight, and recover and weigh this charge"
        }
        GiveUp::Overcharged(by) => {
            return say!["the vehicle holds ", by, " more than ordered; recover it and charge again"];
        }
        GiveUp::Undercharged(by) => {
            return say!["the vehicle holds ", by, " less than ordered; recover it and charge again"];
        }
        GiveUp::CouplersMoved => {
            "the couplers were moved, or not watched for ten seconds: what was known of the vehicle is gone; \
             the hoses may still hold refrigerant, connect and begin anew"
        }
    };
    text.into()
}

/// A part that is exchanged, in words.
pub const fn part(of: Part) -> &'static str {
    match of {
        Part::FilterDrier => "filter-drier",
        Part::PumpOil => "pump oil",
    }
}

/// Why a code is not taken, as the rest of a sentence.
pub fn code(why: CodeFault) -> String {
    match why {
        CodeFault::Mistyped => "it is mistyped; compare it with the label, symbol by symbol".to_owned(),
        CodeFault::OtherVersion => "it is of a version that this program does not know; ask the supplier of the part".to_owned(),
        CodeFault::NotOurs => "it was not made for this station; ask the supplier of the part".to_owned(),
        CodeFault::OtherKind(Kind::FilterDrier) => "it belongs to a filter-drier".to_owned(),
        CodeFault::OtherKind(Kind::PumpOil) => "it belongs to a filling of pump oil".to_owned(),
        CodeFault::OtherKind(Kind::Release) => "it is a supervisor's release".to_owned(),
        CodeFault::UsedBefore => "it was used before; every new part comes with a code of its own".to_owned(),
        CodeFault::TooOld => {
            "it is so much older than the last one that nobody can tell whether it was used; ask a supervisor for a release".to_owned()
        }
        CodeFault::Wait(left) => {
            format!("too many wrong ones came before it; wait {} s", left.0.div_ceil(1_000))
        }
        CodeFault::NotStored => "the record store does not take it, and nothing is given before it is stored; mend the store".to_owned(),
    }
}
