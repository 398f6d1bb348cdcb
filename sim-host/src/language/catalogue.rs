//! The texts as they stand in the files of each language, read once each and only when asked for.

use std::borrow::Cow;
use std::sync::OnceLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use unic_langid::LanguageIdentifier;

use crate::display::Language;

/// The files of a language: name and text.
macro_rules! files {
    ($code:literal: $($name:literal),+) => {
        &[$(($name, include_str!(concat!("../../locales/", $code, "/", $name, ".ftl")))),+]
    };
}

/// The files that a language is made of, each with its name and its text. English has no `rows` and no `units`: those texts are the
/// core's own and the display's.
pub const fn files(language: Language) -> &'static [(&'static str, &'static str)] {
    match language {
        Language::En => files!("en": "notices", "papers", "refusals", "reasons", "trips"),
        Language::De => files!("de": "notices", "papers", "refusals", "reasons", "trips", "rows", "units"),
        Language::Es => files!("es": "notices", "papers", "refusals", "reasons", "trips", "rows", "units"),
        Language::Fr => files!("fr": "notices", "papers", "refusals", "reasons", "trips", "rows", "units"),
    }
}

/// French sets a blank that no line ends at before `:`, `;`, `?`, `!` and within its quotes. The files have a common one there, which is
/// seen in every editor.
fn bound(text: &str) -> Cow<'_, str> {
    const BLANKS: [(&str, &str); 6] = [
        (" :", "\u{a0}:"),
        (" ;", "\u{a0};"),
        (" ?", "\u{a0}?"),
        (" !", "\u{a0}!"),
        ("« ", "«\u{a0}"),
        (" »", "\u{a0}»"),
    ];
    BLANKS.iter().fold(Cow::Borrowed(text), |text, (common, bound)| match text.contains(common) {
        true => Cow::Owned(text.replace(common, bound)),
        false => text,
    })
}

fn bundle(language: Language) -> &'static FluentBundle<FluentResource> {
    static BUNDLES: [OnceLock<FluentBundle<FluentResource>>; Language::ALL.len()] =
        [const { OnceLock::new() }; Language::ALL.len()];
    let place = language as usize;
    BUNDLES[place].get_or_init(|| {
        // Every code of ours is a language identifier; one that were none would only lose its plural rules.
        let id: LanguageIdentifier = language.code().parse().unwrap_or_default();
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        // The marks that it would set around arguments are for text that runs both ways.
        bundle.set_use_isolating(false);
        if language == Language::Fr {
            bundle.set_transform(Some(bound));
        }
        for (_, text) in files(language) {
            // A file with a mistake gives what can be read of it; that none has one is tested.
            let file = FluentResource::try_new((*text).to_owned()).unwrap_or_else(|(file, _)| file);
            // Only a message that stands twice is refused here; that none does is tested.
            let _ = bundle.add_resource(file);
        }
        bundle
    })
}

/// A text with its arguments; `None` where the language lacks it or an argument.
pub fn formatted(language: Language, id: &str, args: Option<&FluentArgs<'_>>) -> Option<Cow<'static, str>> {
    let bundle = bundle(language);
    let pattern = bundle.get_message(id)?.value()?;
    let mut wrong = Vec::new();
    let text = bundle.format_pattern(pattern, args, &mut wrong);
    wrong.is_empty().then_some(text)
}

/// The English text that has no arguments; its id where there is none, which is tested not to be.
pub fn text(id: &'static str) -> &'static str {
    match formatted(Language::En, id, None) {
        Some(Cow::Borrowed(text)) => text,
        _ => id,
    }
}
