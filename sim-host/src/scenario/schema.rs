//! The JSON schema of scenario files for editors, derived from what the reader asks of a file: the two cannot part.

use std::ops::RangeInclusive;

use serde_json::{Map, Value, json};

use super::diagnostic::{Problems, Source};
use super::parse;
use super::parse_row::MOST_JOBS;
use super::quantity::{Dim, range_text};
use super::reader::{self, Asked, Kind};
use super::shipped;

/// Tables that the demo has no need of; with them every table of the format is read.
const OTHER_TABLES: &str = "
[vehicle.gas]
R-1234yf = \"100 %\"
[[operator.act]]
at = \"1 min\"
do = \"pause\"
[expect.phases]
recover = \"pass\"
[[fault]]
id = \"F001\"
[[property]]
name = \"one\"
formula = \"always vessel.p < 16 bar\"
";

/// Keys of which a table that takes them all has exactly one: what sets off an act.
const ONE_OF: [&str; 3] = ["at", "phase", "notice"];

/// The schema, after JSON Schema draft 2020-12. `None` only if the demo did not read, which the tests hold.
pub fn schema() -> Option<Value> {
    let demo = shipped::source(shipped::DEMO)?;
    let one = demo.text + OTHER_TABLES;
    let mut tables = asked(&one)?;
    for (path, asked) in asked(&as_row(&one))? {
        match tables.iter_mut().find(|(known, _)| *known == path) {
            Some((_, known)) => join(known, asked),
            None => tables.push((path, asked)),
        }
    }
    let mut schema = table(&tables, "");
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Valvewright scenario");
    schema["oneOf"] = json!([
        { "required": ["order"], "properties": { "vehicle": { "type": "object" }, "job": false } },
        { "required": ["job"], "properties": {
            "vehicle": { "type": "array", "minItems": 1 }, "job": { "minItems": 1, "maxItems": MOST_JOBS }, "order": false, "operator": false, "expect": false, "fault": false, "property": false
        } },
    ]);
    Some(schema)
}

/// What the reader asks of a file with this text.
fn asked(text: &str) -> Option<Vec<(String, Vec<Asked>)>> {
    let document = reader::parse(&Source::new("schema", text)).ok()?.recording();
    parse::read_root(document.root(), None, &mut Problems::new())?;
    Some(document.recorded())
}

/// The same job as the only one of a row.
fn as_row(one: &str) -> String {
    let row = one.replace("[vehicle]\n", "[[vehicle]]\nname = \"only\"\n");
    let row = row.replace("[order]\n", "[[job]]\nvehicle = \"only\"\n");
    let row = row.replace("[operator]", "[job.operator]").replace("[[operator.act]]", "[[job.operator.act]]");
    let row = row.replace("[expect", "[job.expect").replace("[[fault]]", "[[job.fault]]");
    row.replace("[[property]]", "[[job.property]]")
}

/// Adds what the other form of a table is asked for; what must be there must be there in both.
fn join(known: &mut Vec<Asked>, other: Vec<Asked>) {
    for one in known.iter_mut() {
        one.required &= other.iter().any(|again| again.key == one.key && again.required);
    }
    for mut one in other {
        match known.iter_mut().find(|known| known.key == one.key) {
            Some(known) => known.kinds.append(&mut one.kinds),
            None => {
                one.required = false;
                known.push(one);
            }
        }
    }
}

fn table(tables: &[(String, Vec<Asked>)], path: &str) -> Value {
    let none = Vec::new();
    let asked = tables.iter().find(|(one, _)| one == path).map_or(&none, |(_, asked)| asked);
    let mut properties = Map::new();
    for one in asked {
        let below = if path.is_empty() { one.key.clone() } else { format!("{path}.{}", one.key) };
        let mut forms: Vec<Value> = Vec::new();
        for kind in &one.kinds {
            let form = value(tables, &below, kind);
            if !forms.contains(&form) {
                forms.push(form);
            }
        }
        let form = if forms.len() == 1 { forms.swap_remove(0) } else { json!({ "anyOf": forms }) };
        properties.insert(one.key.clone(), form);
    }
    let choice: Vec<Value> = ONE_OF.iter().map(|key| json!({ "required": [key] })).collect();
    let chooses = ONE_OF.iter().all(|key| asked.iter().any(|one| one.key == *key));
    let required: Vec<&str> = asked.iter().filter(|one| one.required).map(|one| one.key.as_str()).collect();
    let mut form =
        json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false });
    if chooses {
        form["oneOf"] = json!(choice);
    }
    form
}

fn value(tables: &[(String, Vec<Asked>)], path: &str, kind: &Kind) -> Value {
    match kind {
        Kind::Quantity(dim, range) => {
            let mut form = quantity(*dim, range);
            form["description"] = json!(format!("{}: {}", dim.noun(), range_text(*dim, range, None)));
            form
        }
        Kind::Quantities(dim) => {
            json!({ "type": "array", "items": quantity(*dim, &(f64::NEG_INFINITY..=f64::INFINITY)) })
        }
        Kind::Text => json!({ "type": "string" }),
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Like(form) => json!({ "type": "string", "pattern": form }),
        Kind::TextsLike(form) => json!({ "type": "array", "items": { "type": "string", "pattern": form } }),
        Kind::Words(words) => {
            json!({ "type": "array", "items": { "type": "string", "enum": words }, "minItems": 1, "uniqueItems": true })
        }
        Kind::Word(words) => json!({ "type": "string", "enum": words }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Whole(range) => json!({ "type": "integer", "minimum": range.start(), "maximum": range.end() }),
        Kind::Table => table(tables, path),
        Kind::Tables => json!({ "type": "array", "items": table(tables, &format!("{path}[1]")) }),
    }
}

/// A number as the reader takes it, without its sign.
const NUMBER: &str = r"([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?";

/// A quantity as text with one of its units; a bare number too where the dimension takes one. Of a range the schema knows whether the
/// value may be below zero, and for bare numbers both ends.
fn quantity(dim: Dim, range: &RangeInclusive<f64>) -> Value {
    let mut bare = json!({ "type": "number" });
    for (key, end) in [("minimum", range.start()), ("maximum", range.end())] {
        if end.is_finite() {
            bare[key] = json!(end);
        }
    }
    let units: Vec<String> = dim.units().map(spellings).collect();
    if units.is_empty() {
        return bare;
    }
    // Below zero on one scale of temperature is above it on another.
    let signed = *range.start() < 0.0 || dim == Dim::Temperature;
    let number =
        if signed { format!("[-+]?{NUMBER}") } else { format!(r"(\+?{NUMBER}|-(0+\.?0*|\.0+)([eE][-+]?[0-9]+)?)") };
    if dim.takes_bare_number() {
        let text = format!(r"^\s*{number}\s*({})?\s*$", units.join("|"));
        json!({ "anyOf": [{ "type": "string", "pattern": text }, bare] })
    } else {
        let text = format!(r"^\s*{number}\s*({})\s*$", units.join("|"));
        json!({ "type": "string", "pattern": text })
    }
}

/// A unit in all the spellings that the reader takes, as a regular expression: raised digits, micro, and what stands between two units.
fn spellings(unit: &str) -> String {
    let raised = |digit: char| format!(r"\^?[{digit}{}]", if digit == '2' { '²' } else { '³' });
    let micro = ["um", "uPa s"].contains(&unit);
    let of = |(at, c): (usize, char)| match c {
        '(' | ')' => format!(r"\{c}"),
        ' ' => r"[\s·*]+".to_owned(),
        '2' | '3' => raised(c),
        'u' if at == 0 && micro => "[uµμ]".to_owned(),
        other => other.to_string(),
    };
    let own: String = unit.chars().enumerate().map(of).collect();
    if unit == "permille" { format!("{own}|‰") } else { own }
}
