//! The JSON schema for editors: it takes every shipped scenario, and refuses what the reader refuses.

use serde_json::Value;
use toml_edit::{Item, TableLike};
use valvewright_sim::scenario::{schema, shipped};

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

fn against_schema(text: &str) -> Vec<String> {
    let document: toml_edit::Document<String> = toml_edit::Document::parse(text.to_owned()).expect("is TOML");
    table_faults(&schema::schema().expect("derived"), document.as_table(), "")
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
