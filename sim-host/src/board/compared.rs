//! A board as a controller, held against the core on the host in every scan: what is said of the core holds for the board.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuators, Feeds, RawFrame};
use valvewright_core::kept::Start;
use valvewright_core::port::digest::Digest;
use valvewright_core::station::Station;
use valvewright_core::talk::{NOTICE_DEPTH, Notice};
use valvewright_core::units::Instant;

use super::bridges::Counter;
use super::compare::{Difference, HostScan, first_field};
use super::fault::fault_words;
use super::own::OwnWatch;
use super::remote::{Remote, Reply};
use crate::controller::{Controller, Loss, Scan, Trouble, Who};

/// A board and the core on the host beside it, on the same frames. The first bit in which they differ ends it.
#[derive(Debug)]
pub struct Compared<B> {
    board: B,
    /// None before it was begun.
    twin: Option<Station>,
    bridges: Counter,
    own: OwnWatch,
    scans: u64,
    /// Notices of the twin in this scan.
    told: Vec<Notice>,
    lost: Option<Loss>,
}

impl<B: Remote> Compared<B> {
    /// This board.
    pub const fn new(board: B) -> Self {
        Self {
            board,
            twin: None,
            bridges: Counter::new(),
            own: OwnWatch::new(),
            scans: 0,
            told: Vec::new(),
            lost: None,
        }
    }

    fn lose(&mut self, why: String, on: Actuators) -> Scan {
        let loss = Loss { why, on };
        self.lost = Some(loss.clone());
        Scan::Lost(loss)
    }
}

impl<B: Remote> Controller for Compared<B> {
    fn who(&self) -> Who {
        Who { name: Who::BUILT_IN.to_owned(), joined: self.board.name() }
    }

    fn begin(&mut self, config: &StationConfig, start: &Start) -> Result<(), Trouble> {
        self.board.begin(config, start)?;
        (self.bridges, self.own) = (Counter::new(), OwnWatch::new());
        self.twin = Some(Station::wake(config.clone(), start));
        (self.scans, self.lost) = (0, None);
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if let Some(loss) = &self.lost {
            return Ok(Scan::Lost(loss.clone()));
        }
        let frame = &self.bridges.number(frame.clone());
        let scan = self.scans;
        self.scans += 1;
        let answer = match self.board.scan(now, frame) {
            Ok(Reply::Answer(answer)) => answer,
            Ok(Reply::Held(on)) => return Ok(Scan::Held(on)),
            Ok(Reply::Safe(why, on)) => return Ok(self.lose(fault_words(why), on)),
            Err(why) => return Ok(self.lose(why.to_string(), Actuators::SAFE)),
        };
        let Some(twin) = &mut self.twin else { return Ok(self.lose("it was not set up".to_owned(), Actuators::SAFE)) };
        let mut outputs = twin.tick(now, frame);
        let alone = self.own.scan(now.0, &mut outputs);
        self.told.clear();
        // As many as the answer has room for.
        self.told.extend(std::iter::from_fn(|| twin.take_notice()).take(NOTICE_DEPTH));
        let host = HostScan { outputs: &outputs, notices: &self.told, state: Digest::of(twin) };
        if let Some((field, host, board)) = first_field(&host, &answer) {
            return Err(Trouble::Differs(Difference { scan, at_ms: now.0, field, host, board }));
        }
        notices.append(&mut self.told);
        if alone {
            // Its relays are open then.
            outputs.dropped = Feeds::ALL;
        }
        Ok(Scan::Done(outputs))
    }

    fn core(&self) -> Option<&Station> {
        self.twin.as_ref()
    }
}
