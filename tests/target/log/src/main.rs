//! Prints what a firmware logged with defmt: `valvewright-log ELF < bytes`, one line a message, its level first.
//!
//! Leaves with 1 and says why if the image holds no formats, a message fits none of them, or the last one is cut short.

use std::error::Error;
use std::io::{self, Read, Write};
use std::process::ExitCode;

use defmt_decoder::{DecodeError, Table};

fn print(elf: &str) -> Result<(), Box<dyn Error>> {
    let image = std::fs::read(elf).map_err(|why| format!("{elf}: {why}"))?;
    let table =
        Table::parse(&image)?.ok_or_else(|| format!("{elf}: no defmt formats in it; was it linked with defmt.x?"))?;
    let mut bytes = Vec::new();
    io::stdin().read_to_end(&mut bytes)?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(&bytes);
    let mut out = io::stdout().lock();
    loop {
        match decoder.decode() {
            Ok(frame) => {
                let level = frame.level().map_or("-", |level| level.as_str());
                writeln!(out, "{level} {}", frame.display_message())?;
            }
            // Everything was given at once: what is left is nothing, or a message cut short.
            Err(DecodeError::UnexpectedEof) => break,
            Err(DecodeError::Malformed) => return Err("a message fits no format of this image".into()),
        }
    }
    // A cut message is an unfinished frame: frames end with a zero byte.
    if bytes.last().is_some_and(|last| *last != 0) {
        return Err("the last message is cut short".into());
    }
    Ok(())
}

fn main() -> ExitCode {
    let arguments: Vec<_> = std::env::args().skip(1).collect();
    let [elf] = arguments.as_slice() else {
        eprintln!("use: valvewright-log ELF < bytes");
        return ExitCode::from(64);
    };
    match print(elf) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("valvewright-log: {why}");
            ExitCode::FAILURE
        }
    }
}
