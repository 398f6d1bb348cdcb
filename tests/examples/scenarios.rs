//! Writes scenario files as they are shipped and with one thing changed at each place, with the reader's word on each, for the comparison
//! with an independent validator of the schema: `cargo run -p valvewright-tests --example scenarios`. One file a line as JSON; the
//! first line is the schema.
//!
//! `must` marks changes whose refusal a schema can express: it then has to refuse what the reader refuses. It always has to accept what the
//! reader accepts.

use serde_json::{Map, Value, json};
use toml_edit::{Document, Item, TableLike};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{parse, random, schema, shipped};

/// Drawn files that are taken besides the shipped ones.
const DRAWN: u64 = 12;
/// Texts that name something elsewhere or have a language of their own: which are right no schema can say.
const FREE: [&str; 9] = ["formula", "mode", "network", "severity", "step", "tag", "until", "vehicle", "when"];

fn of_table(table: &dyn TableLike) -> Value {
    Value::Object(table.iter().map(|(key, item)| (key.to_owned(), of_item(item))).collect())
}

fn of_item(item: &Item) -> Value {
    if let Some(tables) = item.as_array_of_tables() {
        return Value::Array(tables.iter().map(|one| of_table(one)).collect());
    }
    if let Some(table) = item.as_table_like() {
        return of_table(table);
    }
    match item.as_value() {
        Some(value) => of_value(value),
        None => Value::Null,
    }
}

fn of_value(value: &toml_edit::Value) -> Value {
    if let Some(list) = value.as_array() {
        return Value::Array(list.iter().map(of_value).collect());
    }
    if let Some(table) = value.as_inline_table() {
        return of_table(table);
    }
    let number = value.as_integer().map(Value::from).or(value.as_float().map(Value::from));
    number.or(value.as_bool().map(Value::from)).or(value.as_str().map(Value::from)).unwrap_or(Value::Null)
}

/// As TOML on one line; JSON's text in quotes is TOML's.
fn toml(value: &Value) -> String {
    match value {
        Value::Object(table) => format!("{{ {} }}", pairs(table).join(", ")),
        Value::Array(list) => format!("[{}]", list.iter().map(toml).collect::<Vec<_>>().join(", ")),
        other => other.to_string(),
    }
}

fn pairs(table: &Map<String, Value>) -> Vec<String> {
    table.iter().map(|(key, value)| format!("{} = {}", Value::from(key.as_str()), toml(value))).collect()
}

/// Every place of a file: the keys and numbers that lead there.
fn places(value: &Value, at: &str, list: &mut Vec<String>) {
    let below: Vec<(String, &Value)> = match value {
        Value::Object(table) => table.iter().map(|(key, value)| (format!("{at}/{key}"), value)).collect(),
        Value::Array(all) => all.iter().enumerate().map(|(key, value)| (format!("{at}/{key}"), value)).collect(),
        _ => Vec::new(),
    };
    for (at, value) in below {
        list.push(at.clone());
        places(value, &at, list);
    }
}

/// What stands in the place of a value, and whether a schema can tell.
fn instead(at: &str, value: &Value) -> Vec<(Value, bool)> {
    let key = at.rsplit('/').next().unwrap_or_default();
    // A vehicle's name is used by its jobs.
    let free = FREE.contains(&key) || key == "name" && at.starts_with("/vehicle");
    // A severity may be a plain number.
    let mut list =
        vec![(json!(17.5), key != "severity"), (json!(true), true), (json!({ "zzqx": 1 }), true), (json!([[]]), true)];
    let Some(text) = value.as_str() else { return list };
    let split = text.find(|c: char| c.is_alphabetic() || c == '%' || c == '°').filter(|at| *at > 0);
    let (number, unit) = text.split_at(split.unwrap_or(0));
    if number.trim().parse::<f64>().is_err() {
        list.extend([(json!("zzqx"), !free), (json!(""), !free)]);
        return list;
    }
    let number = number.trim();
    let raised = unit.replace('2', "²").replace('3', "³");
    let warm = ["degC", "°C", "degF", "K"].contains(&unit);
    list.extend([
        (json!(format!("{number} furlong")), true),
        (json!(number), unit != "%"),
        (json!(format!("{number}.{number}.1 {unit}")), true),
        (json!(format!("{number},5 {unit}")), true),
        (json!(format!("{unit} {number}")), true),
        (json!(format!("-1 {unit}")), !warm),
        (json!(format!("-0 {unit}")), false),
        (json!(format!("1e9 {unit}")), false),
        (json!(format!("  {number}{unit} ")), false),
        (json!(format!("+{number}  {raised}")), false),
        (json!(format!("{number}e0 {unit}")), false),
        (json!(format!("{}. {unit}", number.split('.').next().unwrap_or(number))), false),
    ]);
    if free {
        // What unit a severity has is known of its fault only.
        list.iter_mut().filter(|(value, _)| value.is_string()).for_each(|(_, must)| *must = false);
    }
    list
}

/// A file with the value at a place taken out, renamed or changed.
fn change(file: &Value, at: &str, make: &dyn Fn(&mut Map<String, Value>, &str)) -> Option<Value> {
    let mut file = file.clone();
    let (above, key) = at.rsplit_once('/')?;
    make(file.pointer_mut(above)?.as_object_mut()?, key);
    Some(file)
}

fn tell(name: &str, file: &Value, must: bool) {
    let Value::Object(table) = file else { return };
    let text = pairs(table).join("\n") + "\n";
    let read = parse::read(&Source::new(name, text)).is_ok();
    println!("{}", json!({ "name": name, "file": file, "read": read, "must": must }));
}

fn main() {
    println!("{}", schema::schema().expect("derived"));
    let shipped = shipped::SHIPPED.iter().map(|one| (one.name.to_owned(), one.text.to_owned()));
    let property = "\n[[property]]\nname = \"p\"\nwhy = \"x\"\nformula = \"always vessel.p < 16 bar\"\n";
    let demo = shipped::SHIPPED.iter().take(1).map(|one| ("with_property".to_owned(), one.text.to_owned() + property));
    let faults = "
[[fault]]
id = \"F023\"
mode = \"rate\"
tag = \"WT-1B\"
severity = \"0.3 g/s\"
phase = \"charge\"
step = \"fill\"
after = \"40 s\"
for = \"30 s\"
[[fault]]
id = \"F065\"
severity = 6
row = \"I03\"
until_notice = \"tripped\"
[[fault]]
id = \"F001\"
when = \"vessel.p > 10 bar\"
until_row = \"I03\"
[[fault]]
id = \"F138\"
notice = \"recovered\"
until = \"C-1 is off\"
[[fault]]
id = \"F070\"
at = \"5 min\"
until_at = \"6 min\"
";
    let faulty = shipped::SHIPPED.iter().take(1).map(|one| ("with_faults".to_owned(), one.text.to_owned() + faults));
    let demo = demo.chain(faulty);
    let drawn = (0..DRAWN).map(|seed| (format!("random:{seed}"), random::text(seed)));
    for (name, text) in shipped.chain(demo).chain(drawn) {
        let document = Document::parse(text).expect("is TOML");
        let file = of_table(document.as_table());
        tell(&name, &file, false);
        let mut all = Vec::new();
        places(&file, "", &mut all);
        for at in all {
            let name = format!("{name}{at}");
            let renamed = change(&file, &at, &|table, key| {
                if let Some(value) = table.remove(key) {
                    table.insert(format!("{key}x"), value);
                }
            });
            renamed.iter().for_each(|file| tell(&name, file, true));
            let without = change(&file, &at, &|table, key| _ = table.remove(key));
            without.iter().for_each(|file| tell(&name, file, false));
            for (other, must) in instead(&at, file.pointer(&at).unwrap_or(&Value::Null)) {
                let changed = change(&file, &at, &|table, key| _ = table.insert(key.to_owned(), other.clone()));
                changed.iter().for_each(|file| tell(&name, file, must));
            }
        }
    }
}
