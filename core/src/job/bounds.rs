//! How long a phase may run and how often it may trip before the job gives it up, whatever its own plan says.
//!
//! A phase has its own limits for each of its steps; these hold where steps follow one another without end. Times are own
//! choices, well above the longest healthy run known of each phase.

use crate::order::{PhaseKind, WorkOrder};
use crate::units::Millis;

/// Trips that clear by themselves, of rows that withhold what the phase wants, before it is given up (own choice: a charge
/// over a rough yard has one or two; each costs a second of blind flow).
pub const MAX_TRIPS: u8 = 8;

/// How long a question stays open (own choice: a person at the next vehicle comes back within it).
pub const ANSWER_WAIT: Millis = minutes(10);
/// How long it stays open where the answer means work at the vehicle: couplers shut, its A/C started or stopped (own choice).
pub const HANDS_WAIT: Millis = minutes(20);

const fn minutes(n: u32) -> Millis {
    Millis::from_secs(n.saturating_mul(60))
}

/// Longest run of a phase, pauses left out.
pub const fn longest(kind: PhaseKind, order: &WorkOrder) -> Millis {
    match kind {
        // 90 pulses every 63 s are 95 min; the wall that they cool takes longer to warm between them.
        PhaseKind::Purge => minutes(240),
        // Pressure, answer, and five samples with two retries each take 75 min at their limits.
        PhaseKind::Identify => minutes(90),
        // Six pulls of 45 min with holds of 10 min between them are 5.5 h.
        PhaseKind::Recover => minutes(7 * 60),
        // Settling, draining and two weighings: 6 min at their limits.
        PhaseKind::DrainOil => minutes(30),
        // Two answers at the vehicle, settling, the hold.
        PhaseKind::PressureTest => order.test_hold.plus(minutes(90)),
        // Drying goes on to twice the ordered time and ten minutes; the rest is for the way down.
        PhaseKind::Evacuate => order.evacuate.plus(order.evacuate).plus(minutes(60)),
        // The hold, and the waits before and after it.
        PhaseKind::LeakCheck => order.leak_hold.plus(order.leak_hold).plus(minutes(60)),
        // Two weighings and two minutes of flow: 4 min at their limits.
        PhaseKind::InjectOil => minutes(30),
        // 5 kg at 5 g/s are 17 min; three warmings of 15, an answer of 10, and 40 pulses of at most 90 s.
        PhaseKind::Charge => minutes(150),
        // One minute of rest.
        PhaseKind::Verify => minutes(10),
        // Two dozen steps, of which a person's take 20 min each and the filling of a vessel an hour.
        PhaseKind::Upkeep => minutes(8 * 60),
        // Two answers of 20 min, drawing, pulling and weighing of 20, and the compressor's wait.
        PhaseKind::ClearHoses => minutes(120),
    }
}
