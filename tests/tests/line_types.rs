//! The page of the line and the client in Python say what the Rust types are: order of fields, indices of variants, and bytes.

use std::collections::BTreeMap;
use std::process::{Command, Stdio};

use serde::de::{Deserialize, Deserializer, Error, Visitor, value};
use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{
    ANALOG_COUNT, Actuator, Actuators, Analog, Lamp, Machine, Outputs, RawFrame, Scale, ScaleSample, Switches,
};
use valvewright_core::input::{Broken, Input};
use valvewright_core::kept::{Boot, Hoses, Kept, Limits, Memory, Start};
use valvewright_core::order::{Field, PhaseKind, Procedure, Sides, Task, WorkOrder};
use valvewright_core::port::link::{Answer, Down, FORMAT, LinkFault, PACKET, Receiver, Setup, Took, Up, encode};
use valvewright_core::row::{FirstOut, RowId, Watch};
use valvewright_core::sense::SenseConfig;
use valvewright_core::sense::scale::ScaleConfig;
use valvewright_core::talk::{Asked, Command as Act, Notice, Question, Refusal};
use valvewright_core::token::{CodeFault, Kind, Part, Used};
use valvewright_core::units::{Instant, Milligram, Millis};
use valvewright_core::verdict::{GasVerdict, GiveUp, LeakResult, LeakVerdict, Outcome};

/// Takes down what the derived code asks for: the variants of an enum, or the fields of a struct, in the order of the line.
struct Names(&'static [&'static str]);

impl<'de> Deserializer<'de> for &mut Names {
    type Error = value::Error;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Self::Error> {
        Err(Error::custom("neither enum nor struct"))
    }
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Self::Error> {
        self.0 = variants;
        Err(Error::custom("seen"))
    }
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Self::Error> {
        self.0 = fields;
        Err(Error::custom("seen"))
    }
    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf option unit unit_struct newtype_struct seq
        tuple tuple_struct map identifier ignored_any
    }
}

fn names<'de, T: Deserialize<'de>>() -> Vec<String> {
    let mut names = Names(&[]);
    assert!(T::deserialize(&mut names).is_err());
    names.0.iter().map(|name| (*name).to_owned()).collect()
}

fn words<T: std::fmt::Debug>(list: &[T]) -> Vec<String> {
    list.iter().map(|one| format!("{one:?}")).collect()
}

/// Every type of the line with the names of its variants or fields.
fn types() -> BTreeMap<&'static str, Vec<String>> {
    let own = |list: &[&str]| list.iter().map(|one| (*one).to_owned()).collect();
    BTreeMap::from([
        ("Down", names::<Down>()),
        ("Setup", names::<Setup>()),
        ("StationConfig", names::<StationConfig>()),
        ("Refrigerant", names::<Refrigerant>()),
        ("SenseConfig", names::<SenseConfig>()),
        // These two go as tuples.
        ("Channel", own(&["low", "high", "noise", "seen_below"])),
        ("ScaleCal", own(&["zero_code", "span_code", "span_mass", "tare"])),
        ("ScaleConfig", names::<ScaleConfig>()),
        ("RawFrame", names::<RawFrame>()),
        ("Machine", names::<Machine>()),
        ("Start", names::<Start>()),
        ("Memory", names::<Memory>()),
        ("Hoses", names::<Hoses>()),
        ("Kept", names::<Kept>()),
        ("Limits", names::<Limits>()),
        ("Procedure", names::<Procedure>()),
        ("Task", names::<Task>()),
        ("Boot", names::<Boot>()),
        ("Used", names::<Used>()),
        ("Part", names::<Part>()),
        ("Kind", names::<Kind>()),
        ("CodeFault", names::<CodeFault>()),
        ("ScaleSample", names::<ScaleSample>()),
        ("Command", names::<Act>()),
        ("WorkOrder", names::<WorkOrder>()),
        ("Sides", names::<Sides>()),
        ("Up", names::<Up>()),
        ("Answer", names::<Answer>()),
        ("Outputs", names::<Outputs>()),
        ("Lamp", names::<Lamp>()),
        ("Took", names::<Took>()),
        ("LinkFault", names::<LinkFault>()),
        ("Notice", names::<Notice>()),
        ("Input", names::<Input>()),
        ("Broken", names::<Broken>()),
        ("Refusal", names::<Refusal>()),
        ("Field", names::<Field>()),
        ("PhaseKind", names::<PhaseKind>()),
        ("Outcome", names::<Outcome>()),
        ("Asked", names::<Asked>()),
        ("Question", names::<Question>()),
        ("RowId", names::<RowId>()),
        ("FirstOut", names::<FirstOut>()),
        ("Watch", names::<Watch>()),
        ("GasVerdict", names::<GasVerdict>()),
        ("LeakResult", names::<LeakResult>()),
        ("LeakVerdict", names::<LeakVerdict>()),
        ("GiveUp", names::<GiveUp>()),
        ("Analog", words(&Analog::ALL)),
        ("Scale", words(&Scale::ALL)),
        ("Actuator", words(&Actuator::ALL)),
    ])
}

/// The contacts with their bits.
const SWITCHES: [(&str, u16); 10] = [
    ("LS1_NOT_FULL", Switches::LS1_NOT_FULL),
    ("LS2_NOT_HIGH", Switches::LS2_NOT_HIGH),
    ("PSH1_HEALTHY", Switches::PSH1_HEALTHY),
    ("FSL1_FLOW", Switches::FSL1_FLOW),
    ("ZS1_DOOR_SHUT", Switches::ZS1_DOOR_SHUT),
    ("ZS2_COUPLED", Switches::ZS2_COUPLED),
    ("HS1_A_RELEASED", Switches::HS1_A_RELEASED),
    ("HS1_B_RELEASED", Switches::HS1_B_RELEASED),
    ("PSH2_HEALTHY", Switches::PSH2_HEALTHY),
    ("FLUSH_PORT", Switches::FLUSH_PORT),
];

fn page() -> String {
    std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/line.md")).expect("the page is there")
}

/// Rows of the table under a heading: what stands in the first column, and in the second.
fn table(page: &str, heading: &str) -> Vec<(String, String)> {
    let part = page.split(&format!("\n### {heading}\n")).nth(1).unwrap_or_else(|| panic!("no heading {heading}"));
    let part = part.split("\n#").next().unwrap_or(part);
    let rows = part.lines().filter(|line| line.starts_with("| ")).skip(2);
    rows.map(|row| {
        let mut cells = row.split(" | ").map(|cell| cell.trim_matches(['|', ' ', '`']).to_owned());
        (cells.next().unwrap_or_default(), cells.next().unwrap_or_default())
    })
    .collect()
}

#[test]
fn the_page_lists_every_type_in_the_order_of_the_line() {
    let page = page();
    for (name, wanted) in types() {
        let table = table(&page, if name == "Channel" { "ChannelConfig" } else { name });
        let told: Vec<String> = if table.first().is_some_and(|(first, _)| first == "0") {
            for (at, (index, _)) in table.iter().enumerate() {
                assert_eq!(index, &at.to_string(), "{name}");
            }
            table.into_iter().map(|(_, second)| second).collect()
        } else {
            table.into_iter().map(|(first, _)| first).collect()
        };
        assert_eq!(told, wanted, "{name}");
    }
    let told = table(&page, "Switches");
    assert_eq!(told.len() as u32, (Switches::ALL | Switches::FLUSH_PORT).count_ones());
    for ((bit, name), (wanted, mask)) in told.iter().zip(SWITCHES) {
        assert_eq!((name.as_str(), 1 << bit.parse::<u16>().expect("a bit")), (wanted, mask));
    }
    assert!(page.contains(&format!("The format of this page is {FORMAT}.")), "format {FORMAT}");
}

/// Runs Python in the folder of the clients.
fn python(code: &str) -> String {
    let mut command = Command::new("python3");
    command.arg("-B").args(["-c", code]).current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/clients"));
    let output = command.stderr(Stdio::inherit()).output().expect("python3 starts");
    assert!(output.status.success(), "{code}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn the_client_in_python_has_every_type_in_the_order_of_the_line() {
    let told: serde_json::Value =
        serde_json::from_str(&python("import runpy; runpy.run_path('line.py', run_name='__main__')")).expect("JSON");
    assert_eq!(told["format"], FORMAT);
    let list = |of: &serde_json::Value| -> Vec<String> {
        let list = of.as_array().unwrap_or_else(|| panic!("no list: {of}"));
        list.iter().map(|one| one.as_str().or(one[0].as_str()).expect("a name").to_owned()).collect()
    };
    let places = ["Analog", "Scale", "Actuator"];
    let mut wanted = types();
    for place in places {
        assert_eq!(list(&told["places"][place]), wanted.remove(place).expect("listed"), "{place}");
    }
    let contacts = list(&told["places"]["Switches"]).into_iter().map(|name| name.to_lowercase());
    assert_eq!(contacts.collect::<Vec<_>>(), SWITCHES.map(|(name, _)| name.replace('_', "").to_lowercase()));
    for (name, wanted) in &wanted {
        let either = [&told["structs"][name], &told["enums"][name]].into_iter().find(|one| !one.is_null());
        assert_eq!(&list(either.unwrap_or_else(|| panic!("no {name}"))), wanted, "{name}");
    }
    let count =
        told["structs"].as_object().map_or(0, |all| all.len()) + told["enums"].as_object().map_or(0, |all| all.len());
    assert_eq!(count, wanted.len(), "a type that is not of the line");
}

/// Numbers of a text that do not belong to a name.
fn numbers(text: &str) -> Vec<i64> {
    let find = regex_lite::Regex::new(r"(^|[^A-Za-z0-9_-])(-?[0-9]+)").expect("a pattern");
    find.captures_iter(text).map(|one| one[2].parse().expect("a number")).collect()
}

/// Every notice with every reason in it, written by the client and read by the core, to the last number and its sign.
#[test]
fn every_notice_of_the_client_is_read_by_the_core() {
    let told = python(
        "
import line

count = 0

def samples(kind):
    global count
    if kind.endswith('?'):
        return [None, *samples(kind[:-1])]
    if kind in line.STRUCTS:
        fields = line.STRUCTS[kind]
        return [{name: samples(inner)[-1] for name, inner in fields}]
    if kind in line.ENUMS:
        held = lambda inner: [[]] if not inner else [[one, *rest] for one in samples(inner[0]) for rest in held(inner[1:])][:60]
        return [(name, *one) if inner else name for name, inner in line.ENUMS[kind] for one in held(inner)]
    if kind == 'bool':
        return [True]
    count += 1
    return [-70_000 - count if kind == 'i32' else 300 + count % 60_000]

def numbers(value):
    if isinstance(value, dict):
        return [n for one in value.values() for n in numbers(one)]
    if isinstance(value, (tuple, list)):
        return [n for one in value for n in numbers(one)]
    return [value] if type(value) is int else []

for notice in samples('Notice'):
    packet = line.packet(9, 'Up', ('Scan', line.answer(notices=[notice])))
    name = notice if isinstance(notice, str) else notice[0]
    print(packet.hex(), name, *numbers(notice))
",
    );
    let mut seen = std::collections::BTreeSet::new();
    for row in told.lines() {
        let mut cells = row.split(' ');
        let bytes = unhex(cells.next().expect("bytes"));
        let name = cells.next().expect("a name");
        let wanted: Vec<i64> = cells.map(|one| one.parse().expect("a number")).collect();
        let mut receiver = Receiver::new();
        let got = bytes.iter().find_map(|byte| receiver.feed::<Up>(*byte));
        let Some(Ok((9, Up::Scan(answer)))) = got else { panic!("{row}: {got:?}") };
        let notice = answer.notices.first().unwrap_or_else(|| panic!("{row}"));
        let text = format!("{notice:?}");
        assert!(text.starts_with(name), "{row}: {text}");
        assert_eq!(numbers(&text), wanted, "{row}: {text}");
        seen.insert(name.to_owned());
    }
    assert_eq!(seen, names::<Notice>().into_iter().collect());
}

fn unhex(text: &str) -> Vec<u8> {
    let digits: Vec<char> = text.chars().filter(char::is_ascii_hexdigit).collect();
    let byte = |pair: &[char]| u8::from_str_radix(&pair.iter().collect::<String>(), 16).expect("two digits");
    digits.chunks(2).map(byte).collect()
}

fn hex(bytes: &[u8]) -> String {
    let line = |part: &[u8]| part.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ");
    bytes.chunks(32).map(line).collect::<Vec<_>>().join("\n")
}

/// Examples of the page, in its order: the word behind `text`, and the packet.
fn examples() -> Vec<(&'static str, Vec<u8>)> {
    fn packet<T: serde::Serialize>(number: u32, message: &T) -> Vec<u8> {
        let mut buffer = [0; PACKET];
        encode(number, message, &mut buffer).expect("it fits").to_vec()
    }
    const COUNTS: [u16; ANALOG_COUNT] = [
        24_000, 16_000, 16_000, 60_000, 13_000, 34_000, 33_800, 33_800, 33_700, 10_950, 10_930, 40_000, 27_000, 27_000,
    ];
    let frame = RawFrame {
        analog: COUNTS,
        scales: [1_300_000, 1_300_020, 100_500, 420_000].map(|code| ScaleSample { code, sequence: 7 }),
        switches: Switches(Switches::ALL),
        machine: Machine { sequence: 2, beat: 50, clock: 820_454_400, coils: Actuators::SAFE, ..Machine::default() },
        command: Some(Act::Confirm(3)),
        ..RawFrame::default()
    };
    let on = Actuators::of(&[Actuator::Xv4, Actuator::K1]);
    let answer = Answer {
        outputs: Outputs { on, lamp: Lamp::Green, ..Outputs::default() },
        notices: [Notice::PhaseStarted(PhaseKind::Recover), Notice::Recovered(Milligram(-1_500))].into_iter().collect(),
        state: 0,
        took: Took::default(),
    };
    let config = StationConfig::reference(Refrigerant::R1234yf);
    let setup =
        Setup { format: FORMAT, config, start: Start::first(Millis::from_secs(86_400)), patience: Millis(1_000) };
    vec![
        ("ready", packet(0, &Up::Ready { format: FORMAT, name: "demo".try_into().expect("it fits") })),
        ("scan", packet(2, &Down::Scan { now: Instant(50), frame })),
        ("answer", packet(2, &Up::Scan(answer))),
        ("bye", packet(3, &Down::Bye)),
        ("setup", packet(0, &Down::Setup(setup))),
    ]
}

#[test]
fn the_bytes_of_the_page_are_those_of_the_core_and_of_the_client() {
    let page = page();
    for (name, packet) in examples() {
        let printed = page.split(&format!("\n```text {name}\n")).nth(1).and_then(|rest| rest.split("\n```").next());
        let printed = printed.unwrap_or_else(|| panic!("no example `{name}`"));
        assert_eq!(printed, hex(&packet), "{name}: what the page prints, and what it should");
        let kind = if matches!(name, "ready" | "answer") { "Up" } else { "Down" };
        let code = format!(
            "import line\np = bytes.fromhex('{}')\nn, m = line.unpack(p[:-1], '{kind}')\nprint(line.packet(n, '{kind}', m).hex())",
            hex(&packet).replace('\n', " ")
        );
        assert_eq!(unhex(&python(&code)), packet, "{name}");
    }
}

#[test]
fn the_client_stuffs_pieces_of_every_length() {
    let told = python(
        "
import line
for length in [0, 1, 2, 252, 253, 254, 255, 256, 507, 508, 509, 600]:
    for zero in [None, 0, length // 2, length - 1]:
        data = bytearray(1 + at % 255 for at in range(length))
        if zero is not None and 0 <= zero < length:
            data[zero] = 0
        stuffed = line.stuff(bytes(data))
        assert 0 not in stuffed and line.unstuff(stuffed) == data, (length, zero)
print('held')
",
    );
    assert_eq!(told.trim(), "held");
}

/// A client's own mistakes are named where they are made.
#[test]
fn the_client_names_what_it_cannot_write() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/clients");
    for (notice, words) in [
        ("('Recoverd', 5)", "Notice has no variant Recoverd"),
        ("('Recovered',)", "Notice Recovered holds 1 values (i32), not 0"),
        ("('Recovered', 'much')", "'much' is no i32"),
    ] {
        let code = format!("import line\nline.packet(1, 'Up', ('Scan', line.answer(notices=[{notice}])))");
        let run = std::process::Command::new("python3").args(["-c", &code]).current_dir(folder).output();
        let said = String::from_utf8_lossy(&run.expect("python3 runs").stderr).into_owned();
        assert!(said.contains(words), "{notice}: {said}");
    }
}
