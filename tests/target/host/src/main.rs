//! The host's half of the comparison with the target: same stimulus, same core, and the digest of what it put out.
//!
//! `tests/target/check.sh` runs both and compares. The phases reached are told so that nobody takes an idle core for a proof.

#[path = "../../fw/src/stimulus.rs"]
mod stimulus;

use std::collections::BTreeSet;

use stimulus::{Digest, SCANS, Stimulus};
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::Outputs;
use valvewright_core::station::Station;
use valvewright_core::talk::Notice;
use valvewright_core::units::{Instant, Millis};

fn main() {
    let mut station = Station::new(StationConfig::reference(Refrigerant::R1234yf), Millis::from_secs(6 * 3600));
    let mut stimulus = Stimulus::new(1, 997);
    let (mut outputs, mut digest) = (Outputs::default(), Digest::default());
    let (mut ended, mut tripped) = (BTreeSet::new(), BTreeSet::new());
    for scan in 0..SCANS {
        let frame = stimulus.frame(&station, &outputs);
        outputs = station.tick(Instant(scan.wrapping_mul(50)), &frame);
        while let Some(notice) = station.take_notice() {
            match notice {
                Notice::PhaseEnded(kind, outcome) => {
                    ended.insert(format!("{} {outcome:?}", kind.name()));
                }
                Notice::Tripped(row, _) => {
                    tripped.insert(format!("{row:?}"));
                }
                _ => {}
            }
        }
        digest.take(&outputs);
    }
    println!("digest {:016x}", digest.0);
    println!("scans {SCANS}");
    println!("phases ended: {}", ended.into_iter().collect::<Vec<_>>().join(", "));
    println!("interlocks tripped: {}", tripped.into_iter().collect::<Vec<_>>().join(", "));
}
