//! The bytes of a workshop's records and items: examples that a board must meet, round trips, and what is not read.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::kept::{Boot, Proof};
use valvewright_core::order::{PHASE_COUNT, Sides};
use valvewright_core::record::Found;
use valvewright_core::record::event::{Changed, EVENT_BYTES, Event, Reading, What};
use valvewright_core::record::meter::Meter;
use valvewright_core::record::presets::Presets;
use valvewright_core::record::roster::{NAME_BYTES, OPERATORS, Operator, ROSTER_BYTES, Role, Roster, name};
use valvewright_core::record::service::{Ending, Mass, PhaseEnd, PhaseNote, SERVICE_BYTES, Service};
use valvewright_core::record::settings::{Clock, HEADER_BYTES, Language, SETTINGS_BYTES, Settings, line};
use valvewright_core::record::vehicle::{Oil, VEHICLE_BYTES, Vehicle, vehicle_name};
use valvewright_core::row::RowId;
use valvewright_core::token::{CodeFault, Kind, Part};
use valvewright_core::units::{AbsPa, Microlitre, Milligram, Millis};
use valvewright_core::verdict::{GasVerdict, LeakResult, LeakVerdict};

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The service of the book's example.
fn example() -> Service {
    let mut service = Service {
        number: 7,
        order: 2,
        begun: 0x30E8_9A80,
        ended: 0x30E8_A600,
        book: 3,
        operator: 12,
        refrigerant: Some(Refrigerant::R1234yf),
        high_voltage: true,
        ending: Ending::Met,
        leak: LeakResult {
            verdict: LeakVerdict::Tight,
            micro_pa_m3_per_s: -5,
            smallest_micro: 82,
            refrigerant: Some(Refrigerant::R1234yf),
        },
        gas: GasVerdict::Pure,
        vacuum: Some(AbsPa(4)),
        trip: Some(RowId::I05),
        trips: 2,
        ..Service::default()
    };
    service.say(Mass::Recovered, Milligram(426_000));
    service.say(Mass::Unknown, Milligram(-1_100));
    service.phases[2] = PhaseNote { end: PhaseEnd::Done, seconds: 869 };
    service
}

#[test]
fn the_bytes_of_a_service_are_those_of_the_book() {
    let bytes = example().encode();
    let unsaid = "00000080";
    let masses = format!("{unsaid}10800600{}b4fbffff{unsaid}", unsaid.repeat(5));
    let phases = format!("{}016503{}", "000000".repeat(2), "000000".repeat(9));
    let head = "01010200070000008\
                09ae83000a6e83003000000\
                0c000101";
    let findings = "0101fbffffff520000000104000000";
    assert_eq!(hex(&bytes), format!("{head}{masses}{findings}0502{phases}"));
    assert_eq!(Service::decode(&bytes), Some(example()));
}

#[test]
fn the_bytes_of_an_event_are_those_of_the_book() {
    let first = Some(Reading { watch: 9, value: -3, bad: true });
    let event = Event { clock: 0x0102_0304, what: What::Tripped(RowId::I03, first) };
    assert_eq!(hex(&event.encode()), "0101040302010309010 0fdffffff000000000000".replace(' ', ""));
    let event = Event { clock: 5, what: What::Started(Boot::BrownOut, true, Found::Lost) };
    assert_eq!(hex(&event.encode()), "0102050000000201040000000000000000000000");
}

/// Every kind of event once.
fn events() -> Vec<What> {
    let mut all = vec![
        What::Tripped(RowId::Hs1, None),
        What::Tripped(RowId::I31, Some(Reading { watch: 0, value: i32::MIN, bad: false })),
        What::Interrupted(u16::MAX, Milligram(-1)),
        What::NotStored,
    ];
    for boot in [Boot::PowerOn, Boot::Watchdog, Boot::BrownOut] {
        for found in [Found::Blank, Found::Sound, Found::Repaired, Found::Partly, Found::Lost] {
            all.push(What::Started(boot, found == Found::Lost, found));
        }
    }
    for part in Part::ALL {
        all.extend([What::Exchanged(part, false), What::Exchanged(part, true)]);
        let faults = [
            CodeFault::Mistyped,
            CodeFault::OtherVersion,
            CodeFault::NotOurs,
            CodeFault::UsedBefore,
            CodeFault::TooOld,
            CodeFault::Wait(Millis(u32::MAX)),
            CodeFault::NotStored,
        ];
        all.extend(faults.map(|fault| What::CodeRefused(part, fault)));
        all.extend(Kind::ALL.map(|kind| What::CodeRefused(part, CodeFault::OtherKind(kind))));
    }
    all.extend(Changed::ALL.map(|what| What::Changed(what, 9_999)));
    all.extend(Proof::ALL.map(|proof| What::Proved(proof, 77)));
    all.extend((0..4).map(|scale| What::Calibrated(scale, -7)));
    all
}

#[test]
fn every_event_comes_back_as_it_was_and_none_as_another() {
    let mut seen = std::collections::BTreeSet::new();
    for what in events() {
        let event = Event { clock: 9, what };
        assert_eq!(Event::decode(&event.encode()), Some(event));
        assert!(seen.insert(event.encode()), "{what:?} has the bytes of another one");
    }
    assert!(seen.len() > 50, "{}", seen.len());
}

#[test]
fn settings_of_the_layout_before_are_read_and_written_anew() {
    // Version, language, ticket, buzzer, clock, two lines of 32 bytes.
    let mut before = vec![0, 1, 0, 1];
    before.extend(3_600_i32.to_le_bytes());
    for text in ["Werkstatt Beispiel", ""] {
        before.push(text.len() as u8);
        before.extend(text.as_bytes());
        before.resize(before.len() + 32 - text.len(), 0);
    }
    let read = Settings::decode(&before).expect("layout 0");
    let header = [line("Werkstatt Beispiel"), line(""), line(""), line("")].map(Option::unwrap);
    let due =
        Settings { language: Language::De, ticket: false, clock: Clock::Offset(3_600), header, ..Settings::default() };
    assert_eq!(read, due);
    let anew = read.encode();
    assert_eq!((anew[0], Settings::decode(&anew)), (1, Some(due)));
    before.push(0);
    assert_eq!(Settings::decode(&before), None, "a byte too many");
    before[0] = 2;
    assert_eq!(Settings::decode(&before), None, "a version that is not known");
}

#[test]
fn the_bytes_of_items_are_those_of_the_book() {
    let settings = Settings {
        header: [line("Ab").unwrap(), line("").unwrap(), line("").unwrap(), line("").unwrap()],
        ..Settings::default()
    };
    let bytes = settings.encode();
    assert_eq!((bytes.len(), hex(&bytes[..16])), (SETTINGS_BYTES, "01000101000100000000000000024162".into()));
    let mut roster = Roster::default();
    roster.add(Operator { number: 258, role: Role::Supervisor, name: name("Ada").unwrap() }).unwrap();
    assert_eq!(hex(&roster.encode()[..9]), "010102010103416461");
    let presets = Presets { evacuate: Some(Millis(60_000)), sides: Some(Sides::Low), ..Presets::default() };
    let none = "00000080";
    let due = format!("01{none}60ea0000{}ff02000000", none.repeat(6));
    assert_eq!(hex(&presets.encode()), due);
    let bytes = vehicle().encode();
    assert_eq!(
        (bytes.len(), hex(&bytes[..27])),
        (VEHICLE_BYTES, "01050000000600000001c0270900e067350002010204677265790".to_owned() + "0")
    );
    let meter = Meter { starts: 1, powered: 2, compressor: 3, pump: 4, fan: 5, heater: 6, book: 7 };
    assert_eq!(hex(&meter.encode()), "0101000000020000000300000004000000050000000600000007000000");
}

fn vehicle() -> Vehicle {
    Vehicle {
        number: 5,
        name: vehicle_name("grey").unwrap(),
        refrigerant: Refrigerant::R134a,
        charge: Milligram(600_000),
        circuit: Microlitre(3_500_000),
        oil: Oil::Poe68,
        high_voltage: true,
        sides: Sides::Low,
        served: 6,
    }
}

#[test]
fn what_is_too_long_is_refused_and_not_cut() {
    assert!(line(&"x".repeat(32)).is_some() && line(&"x".repeat(33)).is_none());
    assert!(line(&"\u{fc}".repeat(23)).is_some(), "46 bytes of {HEADER_BYTES}");
    assert!(line(&"\u{fc}".repeat(24)).is_none() && line("a\tb").is_none());
    assert!(name(&"y".repeat(16)).is_some() && name(&"y".repeat(17)).is_none());
    assert!(name("").is_none() && name(" a").is_none() && name(&"\u{20ac}".repeat(9)).is_none(), "{NAME_BYTES} bytes");
    assert!(vehicle_name(&"z".repeat(24)).is_some() && vehicle_name(&"z".repeat(25)).is_none());
}

#[test]
fn a_list_that_no_station_writes_is_not_read() {
    let mut roster = Roster::default();
    for number in 1..=OPERATORS as u16 {
        let role = if number == 1 { Role::Supervisor } else { Role::Technician };
        roster.add(Operator { number, role, name: name("Someone").unwrap() }).unwrap();
    }
    let bytes = roster.encode();
    assert_eq!(Roster::decode(&bytes), Some(roster));
    for (at, byte, why) in [
        (0, 2, "another version"),
        (1, 9, "nine of eight"),
        (2, 2, "a number twice"),
        (4, 0, "nobody is a supervisor"),
        (4, 2, "a role that is none"),
        (5, 0, "nobody's name"),
        (5, 25, "a name longer than its place"),
        (6, 0xFF, "no text"),
    ] {
        let mut bytes = bytes;
        bytes[at] = byte;
        assert_eq!(Roster::decode(&bytes), None, "{why}");
    }
    assert_eq!(Roster::decode(&bytes[..ROSTER_BYTES - 1]), None);
    let mut presets = Presets { depth: Some(AbsPa(5_000)), ..Presets::default() };
    assert!(Presets::decode(&presets.encode()).is_some());
    presets.depth = Some(AbsPa(5_001));
    assert_eq!(Presets::decode(&presets.encode()), None, "outside the range of an order");
    assert_eq!(Vehicle::decode(&Vehicle { charge: Milligram(49_999), ..vehicle() }.encode()), None);
    assert_eq!(Vehicle::decode(&Vehicle { number: 0, ..vehicle() }.encode()), None);
}

prop_compose! {
    fn a_service()(
        words in any::<[u32; 4]>(), order in any::<u16>(), operator in any::<u16>(), place in 0_usize..3, high in any::<bool>(),
        ending in 0_usize..4, masses in any::<[Option<i32>; 9]>(), leak in (0_usize..4, any::<i32>(), any::<i32>()),
        gas in 0_usize..6, vacuum in any::<Option<i32>>(), trip in proptest::option::of(0_usize..RowId::ALL.len()), trips in any::<u8>(),
        phases in any::<[(u8, u16); PHASE_COUNT]>(),
    ) -> Service {
        let refrigerants = [None, Some(Refrigerant::R1234yf), Some(Refrigerant::R134a)];
        let leaks = [LeakVerdict::Unknown, LeakVerdict::Tight, LeakVerdict::Leak, LeakVerdict::Moisture];
        let gases = [GasVerdict::Unknown, GasVerdict::Pure, GasVerdict::Air, GasVerdict::Foreign, GasVerdict::FlammableForeign, GasVerdict::Inconclusive];
        let said = |value: &Option<i32>| value.filter(|value| *value != i32::MIN);
        Service {
            number: words[0], begun: words[1], ended: words[2], book: words[3], order, operator,
            refrigerant: refrigerants[place], high_voltage: high, ending: Ending::ALL[ending],
            masses: masses.map(|one| said(&one).map(Milligram)),
            leak: LeakResult { verdict: leaks[leak.0], micro_pa_m3_per_s: leak.1, smallest_micro: leak.2, refrigerant: refrigerants[place] },
            gas: gases[gas], vacuum: said(&vacuum).map(AbsPa), trip: trip.map(|at| RowId::ALL[at]), trips,
            phases: phases.map(|(end, seconds)| PhaseNote { end: PhaseEnd::ALL[usize::from(end) % 6], seconds }),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: RngSeed::Fixed(11), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_service_comes_back_as_it_was(service in a_service()) {
        prop_assert_eq!(Service::decode(&service.encode()), Some(service));
    }

    /// Whatever bytes stand there, what is read writes the same bytes again: nothing is taken for what it is not.
    #[test]
    fn what_is_read_from_any_bytes_is_what_they_say(mut bytes in proptest::collection::vec(any::<u8>(), 0..240), version in 0_u8..3) {
        if let Some(first) = bytes.first_mut() { *first = version; }
        if let Some(read) = Service::decode(&bytes) { prop_assert_eq!(&read.encode()[..], &bytes[..]); }
        if let Some(read) = Event::decode(&bytes) { prop_assert_eq!(read.encode().len(), bytes.len()); }
        if let Some(read) = Presets::decode(&bytes) { prop_assert_eq!(&read.encode()[..], &bytes[..]); }
        if let Some(read) = Meter::decode(&bytes) { prop_assert_eq!(&read.encode()[..], &bytes[..]); }
        if let Some(read) = Roster::decode(&bytes) { prop_assert_eq!(Roster::decode(&read.encode()), Some(read)); }
        if let Some(read) = Vehicle::decode(&bytes) { prop_assert_eq!(Vehicle::decode(&read.encode()), Some(read)); }
        if let Some(read) = Settings::decode(&bytes) { prop_assert_eq!(Settings::decode(&read.encode()), Some(read)); }
    }

    /// One byte of a service changed: another service, or none, never the same.
    #[test]
    fn a_changed_byte_is_never_read_as_the_same(service in a_service(), at in 0..SERVICE_BYTES, by in 1_u8..) {
        let mut bytes = service.encode();
        bytes[at] ^= by;
        prop_assert_ne!(Service::decode(&bytes), Some(service));
    }
}

#[test]
fn an_event_fits_its_place() {
    assert_eq!(EVENT_BYTES, 20);
    assert_eq!(example().encode().len(), 113);
}
