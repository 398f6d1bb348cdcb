//! A bare controller in front of the abstract plant, and how far a job is driven before anybody looks at it.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::job::flow::JobState;
use valvewright_core::job::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::kept::{Boot, Kept, Limits, Memory, Start};
use valvewright_core::order::Procedure;
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Milligram, Millis};

use super::plant::Plant;

/// Scan time, ms.
pub const SCAN: u32 = 50;
/// Scans within which a job must come to a phase, or it is said that it does not: two hours.
const MOST: u32 = 144_000;

/// A controller and its plant.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Bench {
    /// The controller.
    pub station: Station,
    /// What its inputs show.
    pub plant: Plant,
}

impl Bench {
    /// At power-on with this record.
    pub fn waking(memory: Memory) -> Self {
        let start = Start { memory, boot: Boot::PowerOn, vessel_rest: Millis(0) };
        let cfg = StationConfig::reference(Refrigerant::R1234yf);
        Self { station: Station::wake(cfg, &start), plant: Plant::default() }
    }

    /// One scan; what was said in it.
    pub fn scan(&mut self, ms: u32, command: Option<Command>) -> Vec<Notice> {
        let frame = self.plant.frame(ms, command);
        let outputs = self.station.tick(Instant(self.plant.now()), &frame);
        self.plant.take(outputs);
        std::iter::from_fn(|| self.station.take_notice()).collect()
    }

    /// So many scans without a command.
    pub fn rest(&mut self, scans: u32) {
        (0..scans).for_each(|_| drop(self.scan(SCAN, None)));
    }

    /// What is on.
    pub fn on(&self) -> Actuators {
        self.plant.outputs.on
    }

    /// The answer to the question that stands open.
    pub fn answer(&self, yes: bool) -> Command {
        let number = self.station.job().asked().map_or(0, |asked| asked.number);
        if yes { Command::Confirm(number) } else { Command::Decline(number) }
    }

    /// Drives an order on, each question answered with yes, until `here`; whether it comes there.
    pub fn drive(&mut self, order: WorkOrder, here: impl Fn(&Self) -> bool) -> bool {
        self.rest(100);
        let mut command = Some(Command::Start { id: 1, order });
        for _ in 0..MOST {
            drop(self.scan(SCAN, command.take()));
            if here(self) {
                return true;
            }
            if matches!(self.station.job().state(), JobState::Ended(_)) {
                return false;
            }
            command = self.station.job().question().map(|_| self.answer(true));
        }
        false
    }
}

/// An order of these phases with a charge of 500 g and short times.
pub fn order(phases: PhaseSet) -> WorkOrder {
    WorkOrder {
        phases,
        evacuate: Millis::from_secs(60),
        leak_hold: Millis::from_secs(120),
        oil_extra: Milligram::from_grams(20),
        ..WorkOrder::whole(Milligram::from_grams(500))
    }
}

/// A record with filter-drier and pump oil at their limits.
pub fn worn() -> Kept {
    Kept { drier: Limits::USUAL.drier, pump_oil: Limits::USUAL.pump_oil, ..Kept::COMMISSIONED }
}

/// A job in the middle of this phase, with something on beside the fan where the phase ever has that; `None` where the abstract plant never
/// brings it there.
pub fn amid(phase: PhaseKind) -> Option<Bench> {
    let mut bench = Bench::waking(Memory::Sound(Kept::COMMISSIONED));
    let order = match phase {
        PhaseKind::Upkeep => WorkOrder::upkeep(Procedure::InternalLeak, Milligram(0)),
        PhaseKind::PressureTest => order(PhaseSet::WHOLE.or(PhaseSet::of(&[PhaseKind::PressureTest]))),
        PhaseKind::Purge => order(PhaseSet::WHOLE),
        _ => order(PhaseSet::WHOLE.without(PhaseSet::of(&[PhaseKind::Purge]))),
    };
    // Nothing need be warmed for a charge, nor is it for what comes before.
    if matches!(phase, PhaseKind::Purge | PhaseKind::Charge | PhaseKind::Verify | PhaseKind::ClearHoses) {
        bench.plant.pressure[0] = 750_000;
    }
    let there = |b: &Bench| b.station.job().phase() == Some(phase);
    let at_work = match phase {
        PhaseKind::Recover => Actuators::of(&[Actuator::C1]),
        PhaseKind::Evacuate => Actuators::of(&[Actuator::Xv6]),
        PhaseKind::Charge => Actuators::of(&[Actuator::Xv5]),
        _ => Actuators::ALL.without(Actuators::SAFE),
    };
    let mut working = bench.clone();
    if working.drive(order.clone(), |b| there(b) && !b.on().and(at_work).is_empty()) {
        return Some(working);
    }
    bench.drive(order, there).then_some(bench)
}
