//! A controller that is broken on purpose: the core without its gate. The core runs as ever and sees its own inputs; what goes to the
//! plant is what its job asked for, put in order and timed, with nothing taken away. A trip cannot take anything away either: while it holds
//! the job, what the job last asked for stays on.

use valvewright_core::config::StationConfig;
use valvewright_core::drive::Drive;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Feeds, Inhibits, Outputs, RawFrame};
use valvewright_core::kept::Start;
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
    fn wake(config: StationConfig, start: &Start) -> Self {
        let core = Station::wake(config, start);
        Self { core, drive: Drive::new(), wanted: Actuators::SAFE, on: Actuators::NONE }
    }
}

impl Default for Gateless {
    fn default() -> Self {
        Self::wake(StationConfig::reference(Refrigerant::R1234yf), &Start::first(Millis(0)))
    }
}

impl Controller for Gateless {
    fn who(&self) -> Who {
        Who::program("core without its gate")
    }

    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        *self = Self::wake(config.clone(), start);
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let outputs = self.core.tick(now, frame);
        notices.extend(std::iter::from_fn(|| self.core.take_notice()));
        let tripped = !self.core.interlocks().latched().is_empty();
        if !tripped || self.core.job().phase().is_none() {
            self.wanted = self.core.wanted();
        }
        // The common relays are tried when it wakes; later a trip would drop them.
        let dropped = if tripped { Feeds::NONE } else { outputs.dropped };
        self.on = self.drive.sequence(now, self.wanted, &Inhibits::default(), self.on);
        Ok(Scan::Done(Outputs { on: self.on, dropped, ..outputs }))
    }
}
