//! Reads which ids a test says that it shows: `/// Shows I03, F001.` before `#[test]`, of a test that runs.
//!
//! The text is read as Rust's own tokens, so that what stands in a comment, a string or a test that was commented out is no mark.
//! A mark that can't be read, or stands where no test is, is told instead of passed over.

use proc_macro2::{Delimiter, TokenStream, TokenTree};
use valvewright_sim::evidence::Id;

/// What a file says.
#[derive(Debug, Default, PartialEq)]
pub struct Marks {
    /// Path of the test inside its file, and the id that it shows.
    pub shown: Vec<(String, Id)>,
    /// The same of tests that do not run, with the reason.
    pub idle: Vec<(String, Id, String)>,
    /// What is wrong with marks.
    pub wrong: Vec<String>,
}

/// What stands before an item.
#[derive(Clone, Debug, Default)]
struct Before {
    marks: Vec<String>,
    is_test: bool,
    idle: Option<String>,
}

impl Before {
    /// Takes one attribute in.
    fn take(&mut self, attribute: &TokenStream) {
        let parts: Vec<TokenTree> = attribute.clone().into_iter().collect();
        let text = attribute.to_string();
        match parts.first().map(ToString::to_string).as_deref() {
            Some("test") if parts.len() == 1 => self.is_test = true,
            Some("ignore") => self.idle = Some("is ignored".to_owned()),
            Some("cfg_attr") if text.contains("ignore") => self.idle = Some("may be ignored".to_owned()),
            // Continuous integration runs on a unix.
            Some("cfg") if !matches!(text.replace(' ', "").as_str(), "cfg(test)" | "cfg(unix)") => {
                self.idle = Some(format!("is there under `{text}` only"));
            }
            Some("doc") => self.marks.extend(mark(&parts)),
            _ => {}
        }
    }
}

/// The text of a documentation line that is meant as a mark.
fn mark(attribute: &[TokenTree]) -> Option<String> {
    let Some(TokenTree::Literal(text)) = attribute.get(2) else { return None };
    let text = text.to_string();
    let line = text.trim_start_matches('r').trim_matches('#').trim_matches('"').trim();
    let rest = line.strip_prefix("Shows ")?;
    // A sentence that only begins with the word goes on in small letters.
    rest.starts_with(|letter: char| !letter.is_lowercase()).then(|| rest.to_owned())
}

/// Every mark of a stream, wherever it stands.
fn all_marks(tokens: &TokenStream) -> Vec<String> {
    let mut list = Vec::new();
    for token in tokens.clone() {
        if let TokenTree::Group(group) = token {
            let parts: Vec<TokenTree> = group.stream().into_iter().collect();
            if parts.first().is_some_and(|first| first.to_string() == "doc") {
                list.extend(mark(&parts));
            }
            list.extend(all_marks(&group.stream()));
        }
    }
    list
}

/// What a file of Rust says that its tests show.
pub fn read(text: &str) -> Marks {
    let mut marks = Marks::default();
    if !text.contains("Shows ") {
        return marks;
    }
    let tokens: TokenStream = match text.parse() {
        Ok(tokens) => tokens,
        Err(wrong) => {
            marks.wrong.push(format!("is no Rust: {wrong}"));
            return marks;
        }
    };
    let mut taken = Vec::new();
    items(tokens.clone(), "", &Before::default(), &mut marks, &mut taken);
    for mark in all_marks(&tokens) {
        match taken.iter().position(|one| *one == mark) {
            Some(at) => {
                taken.swap_remove(at);
            }
            None => marks.wrong.push(format!("`Shows {mark}` stands before no test")),
        }
    }
    marks
}

fn items(tokens: TokenStream, path: &str, outer: &Before, marks: &mut Marks, taken: &mut Vec<String>) {
    let mut tokens = tokens.into_iter().peekable();
    let mut before = Before::default();
    while let Some(token) = tokens.next() {
        match &token {
            TokenTree::Punct(sign) if sign.as_char() == '#' => {
                if let Some(TokenTree::Group(group)) = tokens.peek()
                    && group.delimiter() == Delimiter::Bracket
                {
                    before.take(&group.stream());
                    tokens.next();
                }
            }
            TokenTree::Ident(word) if word == "fn" => {
                let name = tokens.next().map(|name| name.to_string()).unwrap_or_default();
                test(&before, outer, &format!("{path}{name}"), marks, taken);
                before = Before::default();
                // Parameters and body hold no test that is run.
                for next in tokens.by_ref() {
                    let body = matches!(&next, TokenTree::Group(group) if group.delimiter() == Delimiter::Brace);
                    if body || matches!(&next, TokenTree::Punct(sign) if sign.as_char() == ';') {
                        break;
                    }
                }
            }
            TokenTree::Ident(word) if word == "mod" => {
                let name = tokens.next().map(|name| name.to_string()).unwrap_or_default();
                if let Some(TokenTree::Group(group)) = tokens.peek() {
                    let inside = Before { idle: before.idle.take().or(outer.idle.clone()), ..Before::default() };
                    items(group.stream(), &format!("{path}{name}::"), &inside, marks, taken);
                    tokens.next();
                }
                before = Before::default();
            }
            TokenTree::Ident(word) if word == "proptest" => {
                if matches!(tokens.peek(), Some(TokenTree::Punct(sign)) if sign.as_char() == '!') {
                    tokens.next();
                    if let Some(TokenTree::Group(group)) = tokens.next() {
                        items(group.stream(), path, outer, marks, taken);
                    }
                }
                before = Before::default();
            }
            TokenTree::Group(group) if group.delimiter() == Delimiter::Brace => before = Before::default(),
            TokenTree::Punct(sign) if sign.as_char() == ';' => before = Before::default(),
            _ => {}
        }
    }
}

fn test(before: &Before, outer: &Before, name: &str, marks: &mut Marks, taken: &mut Vec<String>) {
    if !before.is_test {
        return;
    }
    for mark in &before.marks {
        taken.push(mark.clone());
        let list = mark.strip_suffix('.').ok_or_else(|| "it does not end with a full stop".to_owned());
        match list.and_then(Id::parse_list) {
            Err(wrong) => marks.wrong.push(format!("{name}: `Shows {mark}`: {wrong}")),
            Ok(ids) => {
                for id in ids {
                    match before.idle.clone().or(outer.idle.clone()) {
                        Some(why) => marks.idle.push((name.to_owned(), id, why)),
                        None => marks.shown.push((name.to_owned(), id)),
                    }
                }
            }
        }
    }
}
