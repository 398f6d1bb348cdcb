//! Symbols of a code: what a person types becomes values, and values become what is printed.
//!
//! Crockford's base 32: digits and letters without I, L, O and U; I and L are read as 1, O as 0, small letters as large ones. The check symbol is
//! the number modulo 37, with `*~$=U` for 32 to 36: it finds every single wrong symbol and every exchange of two neighbours
//! (D. Crockford, *Base 32*; from memory, the worked values of the tests as well).

/// Symbols of a code without its check symbol.
pub const DIGITS: usize = 15;
/// Symbols with it.
pub const SYMBOLS: usize = DIGITS + 1;

/// In the order of their values.
const ALPHABET: &[u8; 37] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ*~$=U";
/// A prime above 32, so that no slip of one symbol or of two neighbours keeps the remainder.
const MODULUS: u32 = 37;

/// What was typed: sixteen characters, the dashes taken out, nothing judged yet.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Typed(pub [u8; SYMBOLS]);

impl Typed {
    /// Takes dashes and blanks out; `None` where not just sixteen characters are left.
    ///
    /// ```
    /// use valvewright_core::token::Typed;
    /// assert_eq!(Typed::read("01234-56789-abcde-f"), Some(Typed(*b"0123456789abcdef")));
    /// assert_eq!(Typed::read("01234"), None);
    /// ```
    pub fn read(text: &str) -> Option<Self> {
        let mut symbols = [0; SYMBOLS];
        let mut kept = text.bytes().filter(|byte| !matches!(byte, b'-' | b' '));
        for symbol in &mut symbols {
            *symbol = kept.next()?;
        }
        kept.next().is_none().then_some(Self(symbols))
    }

    /// The number that the symbols write, if the check symbol fits it.
    pub fn number(self) -> Option<u128> {
        let (check, digits) = self.0.split_last()?;
        let (mut number, mut rest) = (0_u128, 0);
        for symbol in digits {
            let value = value_of(*symbol).filter(|value| *value < 32)?;
            number = number << 5 | u128::from(value);
            rest = rest_with(rest, value);
        }
        (value_of(*check) == Some(rest)).then_some(number)
    }

    /// The symbols of a number below 2^75; higher bits are left out.
    pub fn of_number(number: u128) -> Self {
        let mut symbols = [b'0'; SYMBOLS];
        let mut rest = 0;
        if let Some((check, digits)) = symbols.split_last_mut() {
            let mut left = DIGITS;
            for symbol in digits {
                left = left.saturating_sub(1);
                let value = (number >> left.saturating_mul(5)) as u32 & 31;
                *symbol = symbol_of(value);
                rest = rest_with(rest, value);
            }
            *check = symbol_of(rest);
        }
        Self(symbols)
    }

    /// As it is printed: groups of five and the check symbol, with dashes between.
    pub fn grouped(self) -> [u8; SYMBOLS + 3] {
        let mut out = [b'-'; SYMBOLS + 3];
        for (group, symbols) in out.chunks_mut(6).zip(self.0.chunks(5)) {
            for (to, from) in group.iter_mut().zip(symbols) {
                *to = *from;
            }
        }
        out
    }
}

const fn rest_with(rest: u32, value: u32) -> u32 {
    (rest * 32 + value) % MODULUS
}

fn symbol_of(value: u32) -> u8 {
    ALPHABET.get(value as usize).copied().unwrap_or(b'0')
}

/// Value of a symbol, check symbols from 32 on.
fn value_of(symbol: u8) -> Option<u32> {
    let symbol = match symbol.to_ascii_uppercase() {
        b'I' | b'L' => b'1',
        b'O' => b'0',
        other => other,
    };
    ALPHABET.iter().zip(0_u32..).find(|(known, _)| **known == symbol).map(|(_, value)| value)
}
