//! The JSON schema for editors: it takes every shipped scenario, and refuses what the reader refuses.

use serde_json::Value;
use toml_edit::{Item, TableLike};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{parse, schema, shipped};

/// What the schema says against a value; a small part of JSON Schema, the one that ours uses.
fn faults(schema: &Value, item: &Item, path: &str) -> Vec<String> {
    if let Some(forms) = schema["anyOf"].as_array() {
        let all: Vec<Vec<String>> = forms.iter().map(|form| faults(form, item, path)).collect();
        return if all.iter().any(Vec::is_empty) { Vec::new() } else { all.concat() };
    }
    let wrong = |what: &str| vec![format!("{path}: {what}")];
    match schema["type"].as_str().expect("every form has a type") {
        "object" => item.as_table_like().map_or_else(|| wrong("no table"), |table| table_faults(schema, table, path)),
        "array" => {
            if let Some(tables) = item.as_array_of_tables() {
                return tables.iter().flat_map(|table| table_faults(&schema["items"], table, path)).collect();
            }
            let Some(array) = item.as_array() else { return wrong("no array") };
            array.iter().flat_map(|value| faults(&schema["items"], &Item::Value(value.clone()), path)).collect()
        }
        "string" => {
            let Some(text) = item.as_str() else { return wrong("no text") };
            let words = schema["enum"].as_array();
            let pattern = schema["pattern"].as_str().map(|pattern| regex_lite::Regex::new(pattern).expect("a pattern"));
            match (words, pattern) {
                (Some(words), _) if !words.iter().any(|word| word == text) => wrong("no known word"),
                (_, Some(pattern)) if !pattern.is_match(text) => wrong("no match"),
                _ => Vec::new(),
            }
        }
        "integer" if item.as_integer().is_none() => wrong("no whole number"),
        "number" if item.as_float().is_none() && item.as_integer().is_none() => wrong("no number"),
        "boolean" if item.as_bool().is_none() => wrong("no flag"),
        _ => Vec::new(),
    }
}

fn table_faults(schema: &Value, table: &dyn TableLike, path: &str) -> Vec<String> {
    assert_eq!(schema["additionalProperties"], false, "{path} is open");
    let mut list = Vec::new();
    for (key, item) in table.iter() {
        match schema["properties"].get(key) {
            Some(form) => list.extend(faults(form, item, &format!("{path}.{key}"))),
            None => list.push(format!("{path}.{key}: unknown")),
        }
    }
    for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        if !table.contains_key(key) {
            list.push(format!("{path}.{key}: missing"));
        }
    }
    list
}

/// One job or a row of them: exactly one form of the file's own table fits.
fn form_faults(schema: &Value, table: &dyn TableLike) -> Vec<String> {
    let fits = |form: &&Value| {
        let needs = form["required"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let all = needs.into_iter().all(|key| table.contains_key(key));
        let fits_type = |(key, wanted): (&String, &Value)| match (table.get(key), wanted["type"].as_str()) {
            (None, _) => true,
            (Some(item), Some("object")) => item.is_table_like(),
            (Some(item), Some("array")) => item.is_array() || item.is_array_of_tables(),
            (Some(_), _) => *wanted != Value::Bool(false),
        };
        all && form["properties"].as_object().expect("told apart by keys").iter().all(fits_type)
    };
    match schema["oneOf"].as_array().expect("two forms").iter().filter(fits).count() {
        1 => Vec::new(),
        count => vec![format!("{count} forms fit")],
    }
}

fn against_schema(text: &str) -> Vec<String> {
    let document: toml_edit::Document<String> = toml_edit::Document::parse(text.to_owned()).expect("is TOML");
    let schema = schema::schema().expect("derived");
    let mut faults = table_faults(&schema, document.as_table(), "");
    faults.extend(form_faults(&schema, document.as_table()));
    faults
}

#[test]
fn every_shipped_scenario_fits_the_schema() {
    for one in shipped::SHIPPED {
        assert_eq!(against_schema(one.text), Vec::<String>::new(), "{}", one.name);
    }
}

#[test]
fn what_the_reader_refuses_the_schema_refuses() {
    let demo = shipped::SHIPPED[0].text;
    for (from, to, fault) in [
        ("ambient = ", "ambiant = ", ".site.ambiant: unknown"),
        ("ambient = ", "ambiant = ", ".site.ambient: missing"),
        ("\"445 g\"", "\"445 mL\"", ".vehicle.content: no match"),
        ("\"445 g\"", "445", ".vehicle.content: no text"),
        ("\"R-1234yf\"", "\"R-12\"", ".station.refrigerant: no known word"),
        ("low_side = \"1.4 L\"", "", ".vehicle.volumes.low_side: missing"),
        ("delay = \"5 s\"", "delay = \"5 s\"\nact = [{ do = \"jump\" }]", ".operator.act.do: no known word"),
    ] {
        assert!(demo.contains(from));
        let found = against_schema(&demo.replacen(from, to, 1));
        assert!(found.iter().any(|one| one == fault), "{to}: {found:?}");
    }
}

/// The demo as the only job of a row.
fn row() -> String {
    let row = shipped::SHIPPED[0].text.replace("[vehicle]\n", "[[vehicle]]\nname = \"one\"\n");
    let row = row.replace("[order]\n", "[[job]]\nvehicle = \"one\"\n");
    row.replace("[operator]\n", "[job.operator]\n").replace("[expect]\n", "[job.expect]\n")
}

#[test]
fn a_row_fits_the_schema_and_its_mistakes_do_not() {
    let row = row() + "[[job]]\nvehicle = \"one\"\nafter = \"20 min\"\n";
    assert_eq!(against_schema(&row), Vec::<String>::new());
    assert!(parse::read(&Source::new("row.toml", row.as_str())).is_ok());
    for (from, to, fault) in [
        ("after = \"20 min\"", "after = \"20 g\"", ".job.after: no match"),
        ("after = ", "before = ", ".job.before: unknown"),
        ("delay = \"5 s\"", "delay = 5", ".job.operator.delay: no text"),
        ("[[vehicle]]\nname = \"one\"\n", "[[vehicle]]\n", ".vehicle.name: missing"),
        ("[job.expect]\n", "[expect]\n", "0 forms fit"),
    ] {
        assert!(row.contains(from));
        let found = against_schema(&row.replacen(from, to, 1));
        assert!(found.iter().any(|one| one == fault), "{to}: {found:?}");
    }
    let mixed = shipped::SHIPPED[0].text.to_owned() + "[[job]]\nvehicle = \"one\"\n";
    assert_eq!(against_schema(&mixed), ["0 forms fit"]);
}
