//! Tells the whole state of a station as text, piece by piece, so that a host can see which field differs.

use core::fmt::Write;

use valvewright_core::port::link::{PACKET, Up, encode};
use valvewright_core::station::Station;

use crate::stream::Stream;

struct Teller<'a> {
    output: &'a Stream,
    piece: heapless::String<128>,
}

impl Teller<'_> {
    fn flush(&mut self) {
        let mut buffer = [0; PACKET];
        if let Some(packet) = encode(0, &Up::Text(core::mem::take(&mut self.piece)), &mut buffer) {
            self.output.write(packet);
        }
    }
}

impl Write for Teller<'_> {
    fn write_str(&mut self, text: &str) -> core::fmt::Result {
        for letter in text.chars() {
            if self.piece.push(letter).is_err() {
                self.flush();
                // Into an empty piece any letter fits.
                let _ = self.piece.push(letter);
            }
        }
        Ok(())
    }
}

/// Sends the text, and an empty piece at its end.
pub fn explain(station: &Station, output: &Stream) {
    let mut teller = Teller { output, piece: heapless::String::new() };
    // Neither this writer nor a derived `Debug` can fail.
    let _ = write!(teller, "{station:#?}");
    if !teller.piece.is_empty() {
        teller.flush();
    }
    teller.flush();
}
