//! Arrays through serde one element after the other: derived, each element's reading stands in line, which fills a small flash.
//!
//! What goes over a line is the same, a tuple of the elements.

use core::fmt;
use core::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};
use serde::ser::{Serialize, SerializeTuple, Serializer};

/// Writes the elements in their order.
///
/// # Errors
/// Those of the serializer.
pub fn serialize<S: Serializer, T: Serialize, const N: usize>(all: &[T; N], to: S) -> Result<S::Ok, S::Error> {
    let mut tuple = to.serialize_tuple(N)?;
    for one in all {
        tuple.serialize_element(one)?;
    }
    tuple.end()
}

/// Reads `N` elements, one at least.
///
/// # Errors
/// Those of the deserializer, and a wrong length where there are fewer.
pub fn deserialize<'de, D: Deserializer<'de>, T: Deserialize<'de> + Copy, const N: usize>(
    from: D,
) -> Result<[T; N], D::Error> {
    from.deserialize_tuple(N, Elements(PhantomData))
}

struct Elements<T, const N: usize>(PhantomData<T>);

impl<'de, T: Deserialize<'de> + Copy, const N: usize> Visitor<'de> for Elements<T, N> {
    type Value = [T; N];

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{N} elements")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<[T; N], A::Error> {
        let first = seq.next_element()?.ok_or_else(|| A::Error::invalid_length(0, &self))?;
        let mut all = [first; N];
        for slot in all.iter_mut().skip(1) {
            *slot = seq.next_element()?.ok_or_else(|| A::Error::invalid_length(N, &self))?;
        }
        Ok(all)
    }
}
