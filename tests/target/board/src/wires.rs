//! placeholder
use valvewright_core::port::remote::Wires;
use valvewright_core::units::Instant;
use crate::clock;

use valvewright_core::frame::*;
use valvewright_core::station::Station;
#[derive(Default)]
pub struct Plain { frame: RawFrame, on: Actuators }
impl Wires for Plain {
    fn load(&mut self, frame: &RawFrame) { self.frame = frame.clone(); }
    fn scan(&mut self, station: &mut Station, now: Instant) -> Outputs { let o = station.tick(now, &self.frame); self.on = o.on; o }
    fn pins(&self) -> Actuators { self.on }
    fn make_safe(&mut self) { self.on = Actuators::SAFE }
    fn ticks(&self) -> u32 { clock::ticks() }
}
