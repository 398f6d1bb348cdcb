//! Fuzz targets of the files that people write and programs keep: whatever stands in one, it is read, or its mistakes are told with their place.

use valvewright_sim::campaign::plan;
use valvewright_sim::flash::Image;
use valvewright_sim::plant::parse::network as rig;
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::{parse, parse_fault};
use valvewright_sim::station;

/// One target: its name, and what it does with bytes.
pub type Target = (&'static str, fn(&[u8]));

/// All of them.
pub const TARGETS: [Target; 6] = [
    ("scenario", |data| text(data, |source| parse::read(source).map(drop))),
    ("station", |data| text(data, |source| station::read(source).map(drop))),
    ("network", |data| text(data, |source| rig(source).map(drop))),
    ("plan", |data| text(data, |source| plan::read(source).map(drop))),
    ("words", words),
    ("image", image),
];

/// Reads a text as a file. A file may name others: those of devices are left alone, for one of them has no end.
fn text(data: &[u8], read: impl Fn(&Source) -> Result<(), Vec<Diagnostic>>) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if text.contains("/dev") || text.contains("/proc") || text.contains("/sys") {
        return;
    }
    let source = Source::new("input.toml", text);
    if let Err(told) = read(&source) {
        assert!(!told.is_empty(), "a file that is refused is told why");
        for one in told {
            assert!(one.to_string().contains("input.toml"), "a mistake has its place: {one}");
        }
    }
}

fn words(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if let Err(told) = parse_fault::read_words(text) {
        assert!(!told.is_empty(), "words that are refused are told why");
        told.iter().for_each(|one| drop(one.to_string()));
    }
}

/// The file of a store: any bytes, and the same with the check that fits them.
fn image(data: &[u8]) {
    let look = |bytes: &[u8]| {
        if let Ok(image) = Image::from_bytes(bytes) {
            assert_eq!(image.to_bytes(), bytes, "what is read is written the same");
        }
    };
    look(data);
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(data);
    look(&[data, &sum.to_le_bytes()].concat());
}
