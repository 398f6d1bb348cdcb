//! A board in the place of the built-in core, as a controller: the core runs beside it on the same frames, and where the two differ
//! in a single bit, the run ends.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::RawFrame;
use valvewright_core::port::digest::Digest;
use valvewright_core::station::Station;
use valvewright_core::talk::{NOTICE_DEPTH, Notice};
use valvewright_core::units::{Instant, Millis};

use crate::board::compare::{Difference, HostScan, first_field};
use crate::board::{Remote, Reply, fault_words};
use crate::controller::{Controller, Loss, Scan, Trouble, Who};

/// A board and its twin on the host.
pub(super) struct OnBoard<'a> {
    board: &'a mut dyn Remote,
    twin: Station,
    scans: u64,
}

impl<'a> OnBoard<'a> {
    /// The twin is made anew when the board is set up.
    pub(super) fn new(board: &'a mut dyn Remote, twin: Station) -> Self {
        Self { board, twin, scans: 0 }
    }
}

impl Controller for OnBoard<'_> {
    fn who(&self) -> Who {
        Who { name: Who::BUILT_IN.to_owned(), joined: self.board.name() }
    }

    fn begin(&mut self, config: &StationConfig, vessel_rest: Millis) -> Result<(), Trouble> {
        self.board.begin(config, vessel_rest)?;
        self.twin = Station::new(config.clone(), vessel_rest);
        Ok(())
    }

    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        let scan = self.scans;
        self.scans += 1;
        Ok(match self.board.scan(now, frame)? {
            Reply::Answer(answer) => {
                let outputs = self.twin.tick(now, frame);
                let before = notices.len();
                // As many as the answer has room for.
                notices.extend(std::iter::from_fn(|| self.twin.take_notice()).take(NOTICE_DEPTH));
                let state = Digest::of(&self.twin);
                let host = HostScan { outputs: &outputs, notices: notices.get(before..).unwrap_or_default(), state };
                if let Some((field, host, board)) = first_field(&host, &answer) {
                    return Err(Trouble::Differs(Difference { scan, at_ms: now.0, field, host, board }));
                }
                Scan::Done(answer.outputs)
            }
            Reply::Held(on) => Scan::Held(on),
            Reply::Safe(why, on) => Scan::Lost(Loss { why: fault_words(why), on }),
        })
    }

    fn core(&self) -> Option<&Station> {
        Some(&self.twin)
    }
}
