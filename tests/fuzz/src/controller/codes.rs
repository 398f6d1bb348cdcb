//! Codes: nothing but what the mint prints is taken, and a serial number that was used never looks fresh again.

use std::collections::BTreeSet;

use valvewright_core::token::used::Standing;
use valvewright_core::token::{CodeKey, Draft, Typed, Used};

use super::take::Take;

/// Symbols of a code and its check symbol carry so many bits.
const BITS: u32 = 75;

/// One input: text that is typed, the same bytes as a number, and as serial numbers that are used one after the other.
pub fn run(data: &[u8]) {
    if let Some(typed) = std::str::from_utf8(data).ok().and_then(Typed::read) {
        look_at(typed);
    }
    if let Some(symbols) = data.first_chunk() {
        look_at(Typed(*symbols));
    }
    let mut take = Take(data);
    let number = (0..10).fold(0_u128, |number, _| number << 8 | u128::from(take.byte())) & ((1 << BITS) - 1);
    let typed = Typed::of_number(number);
    assert_eq!(typed.number(), Some(number), "what is printed is read");
    let printed = typed.grouped();
    assert_eq!(std::str::from_utf8(&printed).ok().and_then(Typed::read), Some(typed), "with its dashes, too");
    look_at(typed);
    burn(take);
}

fn look_at(typed: Typed) {
    let Some(number) = typed.number() else {
        assert!(Draft::read(typed).is_err(), "a wrong check symbol is told");
        return;
    };
    let draft = Draft::read(typed).expect("a number is taken apart");
    if let Ok(code) = draft.prove(&CodeKey::DEMO) {
        let minted = code.mint(&CodeKey::DEMO).and_then(Typed::number);
        assert_eq!(minted, Some(number), "what is taken is just what the mint prints");
        assert!(draft.prove(&CodeKey([7; 32])).is_err(), "by this station alone");
    }
}

fn burn(mut take: Take) {
    let (mut used, mut gone) = (Used::NONE, BTreeSet::new());
    while !take.is_empty() {
        // Near each other, so that the window matters, and now and then far off.
        let serial = match take.byte() {
            far @ 250.. => take.word() >> (far - 250) & 0xF_FFFF,
            near => u32::from(near).saturating_add(used.newest() & !0x7F),
        };
        if serial == 0 {
            continue;
        }
        let before = used.look(serial);
        assert!(!gone.contains(&serial) || before != Standing::Fresh, "{serial} was used and looks fresh");
        if before == Standing::Fresh {
            used = used.with(serial);
            gone.insert(serial);
            assert_eq!(used.look(serial), Standing::Used);
        }
        assert_eq!(Used::from_words(used.to_words()), used);
    }
    assert!(gone.iter().all(|serial| used.look(*serial) != Standing::Fresh), "{used:?}");
}
