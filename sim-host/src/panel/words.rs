//! What a page picks, in the words of the command line, what is wrong with it without the place in a file that nobody wrote, and numbers with
//! their nouns.

use crate::scenario::diagnostic::Diagnostic;

/// A fault in the words of the command line.
pub fn in_words(keys: &[(&str, &str)], t: f64) -> Result<String, String> {
    let mut words = String::new();
    for (key, value) in keys {
        let value = shlex::try_quote(value).map_err(|_| format!("{key}: a text without zero bytes is wanted"))?;
        words += &if *key == "id" { value.into_owned() } else { format!(" {key}={value}") };
    }
    Ok(words + &format!(" at={t}s"))
}

/// What is wrong with words that nobody typed as such: without their place.
pub fn plainly(list: &[Diagnostic]) -> String {
    let one = |one: &Diagnostic| {
        one.help.as_ref().map_or_else(|| one.message.clone(), |help| format!("{} ({help})", one.message))
    };
    list.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A number with its noun.
pub fn count(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}
