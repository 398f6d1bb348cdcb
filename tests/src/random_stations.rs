//! Station files that nobody wrote: a shipped one with numbers, lines and names changed at random.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use valvewright_sim::station::SHIPPED;

/// Factors by which a number is changed.
const FACTORS: [f64; 9] = [0.1, 0.3, 0.5, 0.8, 0.95, 1.05, 1.3, 3.0, 10.0];

struct Draw(Xoshiro256PlusPlus);

impl Draw {
    fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.0.next_u64()) * n as u128) >> 64) as usize
    }
}

/// The text of that seed: one of the shipped stations with one to four changes. `gently` keeps every line and name.
pub fn text(seed: u64, gently: bool) -> String {
    let mut draw = Draw(Xoshiro256PlusPlus::seed_from_u64(seed));
    let shipped = SHIPPED[draw.below(SHIPPED.len())].text;
    let mut lines: Vec<String> = shipped.lines().map(str::to_owned).collect();
    for _ in 0..=draw.below(4) {
        let at = draw.below(lines.len());
        match if gently { 0 } else { draw.below(8) } {
            0..=4 => number(&mut draw, &mut lines),
            5 => {
                lines.remove(at);
            }
            6 => {
                let other = draw.below(lines.len());
                lines.swap(at, other);
            }
            _ => {
                let one = lines[at].clone();
                lines.push(one);
            }
        }
    }
    lines.join("\n") + "\n"
}

/// Changes one number of one line that has some.
fn number(draw: &mut Draw, lines: &mut [String]) {
    let with: Vec<usize> = (0..lines.len()).filter(|at| !numbers(&lines[*at]).is_empty()).collect();
    let Some(&at) = with.get(draw.below(with.len().max(1))) else { return };
    let found = numbers(&lines[at]);
    let (from, to) = found[draw.below(found.len())];
    if let Ok(value) = lines[at][from..to].parse::<f64>() {
        let new = format!("{}", value * FACTORS[draw.below(FACTORS.len())]);
        lines[at].replace_range(from..to, &new);
    }
}

/// Where numbers stand behind the `=` of a line.
fn numbers(line: &str) -> Vec<(usize, usize)> {
    let bytes = line.as_bytes();
    let end = line.find('#').unwrap_or(line.len());
    let Some(mut at) = line.find('=') else { return Vec::new() };
    let mut found = Vec::new();
    while at < end {
        let free = !bytes[at - 1].is_ascii_alphanumeric() && bytes[at - 1] != b'-' && bytes[at - 1] != b'_';
        if bytes[at].is_ascii_digit() && free {
            let from = at;
            while at < end && (bytes[at].is_ascii_digit() || b".e".contains(&bytes[at])) {
                at += 1;
            }
            found.push((from, at));
        } else {
            at += 1;
        }
    }
    found
}
