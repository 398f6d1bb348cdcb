//! Sentences that hold their figures as quantities: one sentence, told on every display in its own units.

use std::borrow::Cow;
use std::fmt;

use serde::{Serialize, Serializer};
use valvewright_core::units::{AbsPa, CentiKelvin, Milligram};

use super::{Amount, Display, STANDARD};

/// A sentence for a person. As text, and in JSON, it reads as the standard display writes it: metric, pressures absolute.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sentence(Vec<Part>);

#[derive(Clone, Debug, PartialEq)]
enum Part {
    Words(Cow<'static, str>),
    Figure(Amount),
}

impl Sentence {
    /// The sentence as a display shows it.
    pub fn on(&self, display: &Display) -> String {
        let mut text = String::new();
        for part in &self.0 {
            match part {
                Part::Words(words) => text.push_str(words),
                Part::Figure(amount) => text.push_str(&display.words(*amount)),
            }
        }
        text
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether the sentence holds this text on the standard display.
    pub fn contains(&self, text: &str) -> bool {
        self.to_string().contains(text)
    }
}

impl fmt::Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.on(&STANDARD))
    }
}

impl Serialize for Sentence {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// What a sentence is put together from: words, quantities, other sentences. See [`say!`](crate::say).
pub trait Say {
    /// Adds it at the end.
    fn say(self, to: &mut Sentence);
}

impl Say for &'static str {
    fn say(self, to: &mut Sentence) {
        if !self.is_empty() {
            to.0.push(Part::Words(Cow::Borrowed(self)));
        }
    }
}

impl Say for String {
    fn say(self, to: &mut Sentence) {
        if !self.is_empty() {
            to.0.push(Part::Words(Cow::Owned(self)));
        }
    }
}

impl Say for Amount {
    fn say(self, to: &mut Sentence) {
        to.0.push(Part::Figure(self));
    }
}

impl Say for AbsPa {
    fn say(self, to: &mut Sentence) {
        Amount::Pressure(f64::from(self.0)).say(to);
    }
}

impl Say for CentiKelvin {
    fn say(self, to: &mut Sentence) {
        Amount::Temperature(f64::from(self.0) / 100.0).say(to);
    }
}

impl Say for Milligram {
    fn say(self, to: &mut Sentence) {
        Amount::Mass(f64::from(self.0) / 1e6).say(to);
    }
}

impl Say for Sentence {
    fn say(self, to: &mut Sentence) {
        to.0.extend(self.0);
    }
}

impl From<&'static str> for Sentence {
    fn from(words: &'static str) -> Self {
        crate::say![words]
    }
}

impl From<String> for Sentence {
    fn from(words: String) -> Self {
        crate::say![words]
    }
}

/// A [`Sentence`] from its parts in order, each of them [`Say`].
///
/// ```
/// use valvewright_core::units::{AbsPa, Milligram};
/// use valvewright_sim::display::{Display, Units, Zero};
/// use valvewright_sim::say;
/// let told = say!["Recovered ", Milligram(441_200), " down to ", AbsPa(35_000), "."];
/// assert_eq!(told.to_string(), "Recovered 441.2 g down to 0.35 bar abs.");
/// let american = Display { units: Units::Us, zero: Zero::Gauge(101_325.0), ..Display::default() };
/// assert_eq!(told.on(&american), "Recovered 15.56 oz down to -9.6 psi gauge.");
/// ```
#[macro_export]
macro_rules! say {
    ($($part:expr),+ $(,)?) => {{
        let mut sentence = $crate::display::Sentence::default();
        $($crate::display::Say::say($part, &mut sentence);)+
        sentence
    }};
}
