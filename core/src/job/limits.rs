//! Whether an order stands inside its limits and those of the station.

use crate::config::StationConfig;
use crate::order::{Field, PhaseKind, PhaseSet, WorkOrder};
use crate::talk::Refusal;
use crate::units::Milligram;

impl WorkOrder {
    /// Refuses an order outside its limits, naming the first field that is.
    pub fn check(&self, cfg: &StationConfig) -> Result<(), Refusal> {
        fn inside<T: PartialOrd>(v: T, range: (T, T), field: Field) -> Result<(), Refusal> {
            if v < range.0 || v > range.1 { Err(Refusal::OutOfRange(field)) } else { Ok(()) }
        }
        if self.phases.and(PhaseSet::ALL).is_empty() {
            return Err(Refusal::NothingOrdered);
        }
        if self.phases.has(PhaseKind::Upkeep) {
            if self.phases != PhaseSet::UPKEEP {
                return Err(Refusal::OutOfRange(Field::Phases));
            }
            self.procedure.mass().map_or(Ok(()), |range| inside(self.mass, range, Field::Mass))?;
        }
        if self.phases.has(PhaseKind::Charge) {
            inside(self.charge, Self::CHARGE, Field::Charge)?;
            inside(self.charge, (Milligram(0), cfg.vessel_rated), Field::Charge)?;
        }
        inside(self.evacuate, Self::EVACUATE, Field::Evacuate)?;
        inside(self.depth, Self::DEPTH, Field::Depth)?;
        inside(self.leak_hold, Self::LEAK_HOLD, Field::LeakHold)?;
        inside(self.circuit, Self::CIRCUIT, Field::Circuit)?;
        inside(self.test_over, Self::TEST_OVER, Field::TestOver)?;
        inside(self.test_hold, Self::TEST_HOLD, Field::TestHold)?;
        inside(self.oil_extra, Self::OIL_EXTRA, Field::OilExtra)
    }
}
