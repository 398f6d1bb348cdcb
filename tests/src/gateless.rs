//! A controller that is broken on purpose: the core without its gate. The core runs as ever and sees its own inputs; what goes to the
//! plant is what its job asked for, put in order and timed, with nothing taken away. A trip cannot take anything away either: while it holds
//! the job, what the job last asked for stays on.

use valvewright_core::config::StationConfig;
use valvewright_core::drive::Drive;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Inhibits, Outputs, RawFrame};
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};

/// The core without its gate.
#[derive(Clone, Debug)]
pub struct Gateless {
    core: Station,
    drive: Drive,
    wanted: Actuators,
    on: Actuators,
}

impl Gateless {
    fn new(config: StationConfig, vessel_rest: Millis) -> Self {
        let core = Station::new(config, vessel_rest);
        Self { core, drive: Drive::new(), wanted: Actuators::SAFE, on: Actuators::NONE }
    }
}

impl Default for Gateless {
    fn default() -> Self {
        Self::new(StationConfig::reference(Refrigerant::R1234yf), Millis(0))
    }
}

impl Controller for Gateless {
    fn who(&self) -> Who {
        Who::program("core without its gate")
    }

    fn begin(&mut self, config: &StationConfig, vessel_rest: Millis) -> Result<(), Trouble> {
        *self = Self::new(config.clone(), vessel_rest);
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let outputs = self.core.tick(now, frame);
        notices.extend(std::iter::from_fn(|| self.core.take_notice()));
        if self.core.interlocks().latched().is_empty() || self.core.job().phase().is_none() {
            self.wanted = self.core.wanted();
        }
        self.on = self.drive.sequence(now, self.wanted, &Inhibits::default(), self.on);
        Ok(Scan::Done(Outputs { on: self.on, ..outputs }))
    }
}
