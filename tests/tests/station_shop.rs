//! Operators, settings, presets, the vehicle book and what is due: what is taken, what is refused and why.

use valvewright_core::kept::{Kept, Limits, Proof};
use valvewright_core::order::Sides;
use valvewright_core::record::presets::Presets;
use valvewright_core::record::roster::Role;
use valvewright_core::record::settings::{Clock, Settings};
use valvewright_core::units::{AbsPa, Milligram, Millis};
use valvewright_sim::run::Store as Part;
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{parse, shipped};
use valvewright_sim::shop::due::{self, Facts, Level, Mean};
use valvewright_sim::shop::opened::Shop;
use valvewright_sim::shop::{book, book_rows, due_page, operators, presets, settings};

const NOW: u32 = 820_540_800;

fn shop() -> Shop {
    let part = Part::of_workshop(&Kept::COMMISSIONED);
    Shop::open(&part.image(NOW)).expect("this part")
}

#[test]
fn the_first_is_a_supervisor_and_the_last_one_stays() {
    let mut shop = shop();
    let first = operators::add(&mut shop, 1, "Ben", Role::Technician, None).unwrap_err();
    assert!(first.why.contains("has to be a supervisor"), "{first:?}");
    operators::add(&mut shop, 1, "Ada", Role::Supervisor, None).unwrap();
    let nobody = operators::add(&mut shop, 2, "Ben", Role::Technician, None).unwrap_err();
    assert!(nobody.why.contains("needs a supervisor") && nobody.help.contains("--operator"), "{nobody:?}");
    operators::add(&mut shop, 2, "Ben", Role::Technician, Some(1)).unwrap();
    for (who, part) in [(2, "is a technician"), (3, "nobody has the number 3")] {
        let why = operators::remove(&mut shop, 2, Some(who)).unwrap_err();
        assert!(why.why.contains(part), "{why:?}");
    }
    for (number, part) in [(1, "somebody's"), (0, "no operator's number"), (10_000, "no operator's number")] {
        let why = operators::add(&mut shop, number, "Eve", Role::Technician, Some(1)).unwrap_err();
        assert!(why.why.contains(part), "{why:?}");
    }
    let long = operators::add(&mut shop, 3, "A name of seventee", Role::Technician, Some(1)).unwrap_err();
    assert!(long.help.contains("16 letters"), "{long:?}");
    let last = operators::remove(&mut shop, 1, Some(1)).unwrap_err();
    assert!(last.why.contains("last supervisor"), "{last:?}");
    operators::add(&mut shop, 4, "Cleo", Role::Supervisor, Some(1)).unwrap();
    operators::remove(&mut shop, 1, Some(4)).unwrap();
    let numbers: Vec<u16> = Shop::open(&shop.image()).unwrap().roster().all().iter().map(|one| one.number).collect();
    assert_eq!(numbers, [2, 4]);
    for number in 10..16 {
        operators::add(&mut shop, number, "One more", Role::Technician, Some(4)).unwrap();
    }
    let full = operators::add(&mut shop, 20, "Too many", Role::Technician, Some(4)).unwrap_err();
    assert!(full.why.contains("8 operators"), "{full:?}");
}

#[test]
fn settings_are_changed_one_by_one_and_refused_with_their_range() {
    let mut of = Settings::default();
    for (text, clock) in [
        ("language=fr", false),
        ("ticket=off", false),
        ("units=us", false),
        ("header4=Last", false),
        ("clock=-90000", true),
    ] {
        assert_eq!(settings::change(&mut of, text), Ok(clock), "{text}");
    }
    assert_eq!((of.clock, of.us_units, of.ticket, of.buzzer), (Clock::Offset(-90_000), true, false, true));
    assert_eq!(settings::header(&of), ["", "", "", "Last"]);
    settings::change(&mut of, "clock=not_set").unwrap();
    assert_eq!(of.clock, Clock::NotSet);
    let before = of.clone();
    for (text, part) in [
        ("clock=90001", "-90000 to +90000"),
        ("clock=now", "-90000 to +90000"),
        ("language=it", "en, de, es, fr"),
        ("ticket=yes", "on, off"),
        ("header1=this line is longer than thirty-two letters", "at most 32 letters"),
        ("header5=x", "nearest: `header"),
        ("header0=x", "settings: language"),
        ("headr1=x", "nearest: `header1`"),
        ("language", "KEY=VALUE"),
    ] {
        let why = settings::change(&mut of, text).unwrap_err();
        assert!(why.help.contains(part), "{text}: {why:?}");
        assert_eq!(of, before, "{text}");
    }
}

#[test]
fn every_preset_takes_both_ends_of_its_range_and_nothing_beyond() {
    for (name, low, high, below, above, range) in [
        ("charge.mass", "50 g", "10 kg", "49.9 g", "10.001 kg", "50 g to 10000 g"),
        ("pressure_test.over", "2 bar", "15 bar", "1.99 bar", "15.1 bar", "2 bar to 15 bar"),
        ("pressure_test.hold", "5 min", "2 h", "299 s", "121 min", "5 min to 120 min"),
        ("evacuate.time", "1 min", "4 h", "59 s", "241 min", "1 min to 240 min"),
        ("evacuate.depth", "0.2 mbar", "50 mbar", "0.19 mbar", "50.1 mbar", "0.2 mbar to 50 mbar"),
        ("leak_check.hold", "2 min", "2 h", "119 s", "121 min", "2 min to 120 min"),
        ("leak_check.circuit", "0.2 L", "20 L", "0.19 L", "20.1 L", "0.2 L to 20 L"),
        ("inject_oil.extra", "0 g", "200 g", "-1 g", "200.1 g", "0 g to 200 g"),
    ] {
        let mut of = Presets::default();
        for end in [low, high] {
            presets::change(&mut of, &format!("{name}={end}")).unwrap_or_else(|why| panic!("{name}={end}: {why:?}"));
            assert_eq!(Presets::decode(&of.encode()), Some(of.clone()), "{name}={end}");
        }
        let before = of.clone();
        for beyond in [below, above, "5", "much"] {
            let why = presets::change(&mut of, &format!("{name}={beyond}")).unwrap_err();
            assert!(why.help.contains(range), "{name}={beyond}: {why:?}");
            assert_eq!(of, before);
        }
        presets::change(&mut of, &format!("{name}=none")).unwrap();
        assert_eq!(of, Presets::default());
    }
    let mut of = Presets::default();
    presets::change(&mut of, "charge.sides=low").unwrap();
    presets::change(&mut of, "drain_oil.replace=no").unwrap();
    assert_eq!((of.sides, of.oil_replace), (Some(Sides::Low), Some(false)));
    let near = presets::change(&mut of, "evacuate.tim=5 min").unwrap_err();
    assert!(near.help.contains("nearest: `evacuate.time`"), "{near:?}");
}

#[test]
fn presets_go_where_an_order_says_nothing_and_nowhere_else() {
    let of = Presets {
        evacuate: Some(Millis::from_secs(1_800)),
        leak_hold: Some(Millis::from_secs(600)),
        depth: Some(AbsPa(150)),
        charge: Some(Milligram(700_000)),
        ..Presets::default()
    };
    let text = shipped::source("mild_hatchback").unwrap().text;
    let lines = text.lines().filter(|line| !line.starts_with("evacuate_time"));
    let source = Source::new("x.toml", lines.collect::<Vec<_>>().join("\n"));
    let mut scenario = parse::read(&source).unwrap();
    let before = scenario.order.clone();
    let used = presets::apply(&of, &mut scenario, &source);
    assert_eq!(scenario.order.evacuate_time, 1_800.0);
    let said = |key: &str| source.text.lines().any(|line| line.starts_with(key));
    assert!(said("evacuate_depth") && said("charge"), "the scenario says these");
    assert_eq!((scenario.order.evacuate_depth, scenario.order.charge), (before.evacuate_depth, before.charge));
    assert!(used.contains(&"evacuate.time 30 min".to_owned()), "{used:?}");
    let source = shipped::source("monday_morning").unwrap();
    let mut row = parse::read(&source).unwrap();
    let used = presets::apply(&of, &mut row, &source);
    assert!(used.iter().all(|one| one.starts_with("job ")), "{used:?}");
    let same = presets::apply(&Presets::default(), &mut row, &source);
    assert!(same.is_empty(), "{same:?}");
}

const HEAD: &str = "name,refrigerant,charge_g,circuit_ml,oil,high_voltage,sides";

#[test]
fn an_import_takes_all_rows_or_none_and_says_what_is_wrong_with_each() {
    let good = format!("{HEAD}\ngrey estate,R-1234yf,480,3500,PAG 46,false,both\n\"van, long\",R-134a,950.5,4200,,,\n");
    let made = book_rows::from_csv(&good).unwrap();
    assert_eq!((made.len(), made[1].name.as_str(), made[1].charge), (2, "van, long", Milligram(950_500)));
    let bad = format!(
        "{HEAD}\ngood,R-134a,500,3000,,,\n,R-12,20,3000,,,\nlong,R-134a,10001,199,mineral,maybe,left\nshort,R-134a\nx,R-134a,-5,3e3,,,\n"
    );
    let wrong = book_rows::from_csv(&bad).unwrap_err();
    let lines: Vec<usize> = wrong.iter().map(|one| one.line).collect();
    assert_eq!(lines, [3, 3, 3, 4, 4, 4, 4, 4, 5, 6, 6], "{wrong:?}");
    for part in [
        "name ``",
        "`R-12` is none of: R-1234yf, R-134a",
        "`20` is no number from 50 to 10000",
        "200 to 20000",
        "`mineral`",
        "`maybe`",
        "`left`",
        "2 cells",
    ] {
        assert!(wrong.iter().any(|one| one.why.contains(part)), "{part}: {wrong:?}");
    }
    for (text, part) in [
        ("", "column `name` is missing"),
        ("name,gas,refrigerant,charge_g,circuit_ml\n", "unknown column `gas`"),
        ("name,refrigerant\n", "column `charge_g` is missing"),
    ] {
        assert!(book_rows::from_csv(text).unwrap_err().iter().any(|one| one.why.contains(part)), "{part}");
    }
    let json = r#"[{"name":"a","refrigerant":"R-134a","charge_g":500,"circuit_ml":3000,"high_voltage":true},{"name":"b","colour":"red"},7]"#;
    let wrong = book_rows::from_json(json).unwrap_err();
    assert!(wrong.iter().all(|one| one.line >= 2) && wrong.len() == 5, "{wrong:?}");
    for text in ["{", "7", "{\"vehicle\":[]}"] {
        assert_eq!(book_rows::from_json(text).unwrap_err().len(), 1, "{text}");
    }
}

#[test]
fn a_book_goes_out_and_comes_in_again_and_is_full_at_its_limit() {
    let mut shop = shop();
    let row = |at: usize| format!("vehicle {at},R-134a,{},3000,POE 68,true,low\n", 500 + at);
    let text = format!("{HEAD}\n{}", (0..20).map(row).collect::<String>());
    let numbers = book::add(&mut shop, book_rows::from_csv(&text).unwrap()).unwrap();
    assert_eq!(numbers, (1..=20).collect::<Vec<u32>>());
    let (entries, damaged) = book::entries(&shop);
    assert_eq!((entries.len(), damaged), (20, 0));
    let csv = book_rows::from_csv(&book::to_csv(&entries).unwrap()).unwrap();
    let json = book_rows::from_json(&serde_json::to_string(&entries).unwrap()).unwrap();
    assert_eq!(csv, json);
    assert_eq!(csv, book_rows::from_csv(&text).unwrap());
    // Five more have no place, and none of them is taken.
    let full = book::add(&mut shop, csv[..5].to_vec()).unwrap_err();
    assert!(full.why.contains("room for 4 more"), "{full:?}");
    assert_eq!(book::entries(&shop).0.len(), 20);
    assert_eq!(book::remove(&mut shop, 7).unwrap(), "vehicle 6");
    assert!(book::remove(&mut shop, 7).unwrap_err().why.contains("no vehicle 7"));
    // A number is not given twice.
    assert_eq!(book::add(&mut shop, csv[..5].to_vec()).unwrap(), [21, 22, 23, 24, 25]);
    let again = Shop::open(&shop.image()).unwrap();
    assert_eq!(book::entries(&again).0.len(), 24);
}

fn facts(kept: Kept) -> Facts {
    let mean = Mean { services: 10, recovered_g: Some(400.0), pump_s: Some(1_200.0) };
    Facts {
        kept: Some(kept),
        clock: NOW,
        mean,
        proved: [None; 6],
        calibrated: [None; 4],
        exports: Some((0, 100)),
        wear: 0,
    }
}

fn level(of: &Facts, id: &str) -> Level {
    due::items(of).into_iter().find(|one| one.id == id).unwrap_or_else(|| panic!("no {id}")).level
}

#[test]
fn it_is_good_below_80_percent_soon_from_there_and_due_from_100() {
    let shares = [
        (0, Level::Good),
        (799, Level::Good),
        (800, Level::Soon),
        (999, Level::Soon),
        (1_000, Level::Due),
        (1_500, Level::Due),
    ];
    for (permille, due) in shares {
        let drier = Milligram((i64::from(Limits::USUAL.drier.0) * i64::from(permille) / 1_000) as i32);
        let pump_oil = Limits::USUAL.pump_oil / 1_000 * permille;
        let mut of = facts(Kept { drier, pump_oil, ..Kept::COMMISSIONED });
        of.exports = Some((permille, 1_000));
        of.wear = permille * 10;
        of.calibrated[2] = Some(NOW - due::CALIBRATION / 1_000 * permille);
        let year = 365 * 86_400;
        let made = NOW - year / 1_000 * permille;
        of.proved[Proof::Identifier as usize] = Some(made);
        if let Some(kept) = &mut of.kept {
            kept.due[Proof::Identifier as usize] = made + year;
        }
        for id in ["filter_drier", "pump_oil", "export", "flash", "calibration_wt_2", "identifier"] {
            assert_eq!(level(&of, id), due, "{id} at {permille}/1000");
        }
    }
    assert_eq!(
        (Level::of(79, 100), Level::of(80, 100), Level::of(99, 100), Level::of(100, 100)),
        (Level::Good, Level::Soon, Level::Soon, Level::Due)
    );
}

#[test]
fn what_is_not_known_is_never_good_and_what_is_lost_is_due() {
    let of = facts(Kept::COMMISSIONED);
    for id in ["gas_detector", "relief_valve", "calibration_wt_1a", "calibration_wt_3"] {
        assert_eq!(level(&of, id), Level::Unknown, "{id}");
    }
    let lost = Facts { kept: None, ..of.clone() };
    assert_eq!((level(&lost, "filter_drier"), level(&lost, "pump_oil")), (Level::Due, Level::Due));
    assert_eq!(level(&lost, "gas_detector"), Level::Unknown);
    let mut unset = of;
    unset.clock = 0;
    unset.calibrated[0] = Some(5);
    if let Some(kept) = &mut unset.kept {
        kept.due[0] = NOW;
    }
    assert_eq!((level(&unset, "gas_detector"), level(&unset, "calibration_wt_1a")), (Level::Unknown, Level::Unknown));
}

#[test]
fn the_forecast_is_what_is_left_over_the_mean() {
    let used = Kept { drier: Milligram(60_000_000), pump_oil: Limits::USUAL.pump_oil - 12_000, ..Kept::COMMISSIONED };
    let mut of = facts(used);
    let left = |of: &Facts, at: usize| due::items(of)[at].left.clone();
    assert_eq!(left(&of, 0), "about 20 more services, by the mean of 10");
    assert_eq!(left(&of, 1), "about 10 more services, by the mean of 10");
    of.mean = Mean::default();
    assert!(left(&of, 0).contains("no forecast"));
    of.kept = Some(Kept { drier: Milligram(70_000_000), ..Kept::COMMISSIONED });
    assert_eq!(left(&of, 0), "nothing is left");
}

#[test]
fn the_page_says_what_the_text_says() {
    let mut of = facts(Kept { drier: Milligram(60_000_000), pump_oil: Limits::USUAL.pump_oil, ..Kept::COMMISSIONED });
    of.calibrated[0] = Some(NOW - 86_400);
    let items = due::items(&of);
    let (text, page) = (due::text(&items), due_page::page(&items, NOW, &["settings: a <word>".into()]));
    for one in &items {
        assert!(text.contains(&one.name) && page.contains(&one.name), "{}", one.name);
        assert!(text.contains(&one.used) && page.contains(&one.used.replace('<', "&lt;")), "{}", one.used);
    }
    for part in ["width:100%", "width:88.2%", "settings: a &lt;word&gt;", "flammable", "1 due, 1 due soon"] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("<script") && !page.contains("http://") && !page.contains("https://"));
    assert_eq!(due::worst(&items), Level::Due);
}
