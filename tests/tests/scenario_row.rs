//! A row of jobs in one file: each with its vehicle, order, operator and expectations; and what is said where it does not add up.

use valvewright_sim::plant::{Plant, Tolerance};
use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{change_vehicle, network_for, network_of, visitors};
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::model::{Act, Answers, Phase, Sides};
use valvewright_sim::scenario::{Scenario, parse, shipped};

const HEAD: &str = r#"
name = "row"
title = "Three jobs on one station"
[site]
ambient = "22 degC"
[station]
refrigerant = "R-1234yf"
vessel_content = "3 kg"
"#;

const VEHICLES: &str = r#"
[[vehicle]]
name = "small"
label = "Small car"
refrigerant = "R-1234yf"
charge_label = "450 g"
content = "400 g"
volumes = { high_side = "1.6 L", low_side = "1.4 L", accumulator = "0.8 L" }
[[vehicle]]
name = "van"
label = "Van with a second evaporator"
refrigerant = "R-1234yf"
charge_label = "1.1 kg"
content = "900 g"
leak = "0.3 mm"
water = "5 g"
[vehicle.volumes]
high_side = "2.5 L"
low_side = "2.4 L"
accumulator = "1.4 L"
[vehicle.gas]
R-1234yf = "95 %"
R-134a = "5 %"
"#;

const JOBS: &str = r#"
[[job]]
vehicle = "small"
charge = "450 g"
[job.expect]
charged_within = "15 g"
[[job]]
vehicle = "van"
after = "25 min"
phases = ["identify"]
sides = "low"
[job.operator]
answers = "none"
[[job.operator.act]]
phase = "identify"
do = "abort"
[job.expect]
verdict = "refused"
[job.expect.phases]
identify = "refused"
[[job]]
vehicle = "small"
phases = ["pressure_test", "evacuate", "charge"]
"#;

fn read(text: &str) -> Result<Scenario, Vec<Diagnostic>> {
    parse::read(&Source::new("row.toml", text))
}

fn row() -> Scenario {
    let all = [HEAD, VEHICLES, JOBS].concat();
    read(&all).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

#[test]
fn each_job_has_its_own() {
    let row = row();
    let jobs: Vec<_> = row.jobs().collect();
    assert_eq!(jobs.len(), 3);
    assert_eq!(jobs.iter().map(|job| job.after).collect::<Vec<_>>(), [0.0, 1500.0, 600.0]);
    let names: Vec<_> = jobs.iter().filter_map(|job| job.vehicle.name.as_deref()).collect();
    assert_eq!(names, ["small", "van", "small"]);
    assert_eq!(jobs[0].vehicle, jobs[2].vehicle);
    assert_eq!((jobs[0].order.charge, jobs[2].order.charge, jobs[1].order.charge), (0.45, 0.45, 0.0));
    assert_eq!(jobs[1].order.phases, [Phase::Identify]);
    assert_eq!((jobs[1].order.sides, jobs[2].order.sides), (Sides::Low, Sides::Both));
    assert_eq!((jobs[0].operator.answers, jobs[1].operator.answers), (Answers::Confirm, Answers::None));
    assert_eq!(jobs[1].operator.acts[0].act, Act::Abort);
    assert_eq!((jobs[0].expect.verdict, jobs[1].expect.verdict), (Verdict::Pass, Verdict::Refused));
    assert_eq!(jobs[1].expect.phases.len(), 1);
    assert_eq!((&row.vehicle, &row.order, &row.expect), (jobs[0].vehicle, jobs[0].order, jobs[0].expect));
    assert_eq!(row.job(3), None);
    let alone = row.alone(1).expect("a second job");
    assert_eq!((alone.then.len(), alone.jobs().count(), &alone.vehicle), (0, 1, jobs[1].vehicle));
}

#[test]
fn one_vehicle_with_its_order_is_one_job() {
    let demo = parse::read(&shipped::source(shipped::DEMO).expect("shipped")).expect("reads");
    assert_eq!((demo.jobs().count(), demo.vehicle.name.as_ref()), (1, None));
    assert_eq!(demo.alone(0).as_ref(), Some(&demo));
    let written = serde_json::to_value(&demo).expect("plain data");
    assert!(
        written.get("then").is_none() && written["vehicle"].get("name").is_none(),
        "a single job is written as ever"
    );
}

/// What is written in `inline` lists means the same.
#[test]
fn a_row_may_stand_in_lists() {
    let job = "job = [{ vehicle = \"small\" }, { vehicle = \"van\", phases = [\"identify\"], after = \"1 min\" }]\n";
    let text = [job, HEAD, VEHICLES].concat();
    let row = read(&text).unwrap_or_else(|problems| panic!("{problems:#?}"));
    assert_eq!(row.jobs().map(|job| job.after).collect::<Vec<_>>(), [0.0, 60.0]);
}

/// The first charge must be in the vessel; what a later one finds there is not known while the file is read.
#[test]
fn the_first_charge_is_held_against_the_vessel_and_later_ones_against_the_format() {
    let with = |first: &str, later: &str| {
        let jobs = JOBS.replacen("\"450 g\"", &format!("\"{first}\""), 1);
        read(&[HEAD, VEHICLES, &jobs, &format!("charge = \"{later}\"\n")].concat())
    };
    assert!(with("2.4 kg", "9 kg").is_ok());
    let said = with("2.5 kg", "9 kg").expect_err("the vessel gives 2.4 kg");
    assert!(said[0].message.starts_with("job[1].charge: 2500 g is more than the vessel can give"), "{said:?}");
    let said = with("2.4 kg", "11 kg").expect_err("no order charges so much");
    assert!(
        said[0].message.starts_with("job[3].charge: ")
            && said[0].help.as_deref().is_some_and(|help| help.contains("10 kg")),
        "{said:?}"
    );
}

/// Head, vehicles, jobs; where it is said, what, and what to do.
#[test]
fn each_mistake_is_named_with_its_place_and_remedy() {
    let single = "[vehicle]\nlabel = \"Car\"\n";
    let fifty_one = "[[job]]\nvehicle = \"small\"\n".repeat(51);
    let cases: &[(&str, &str, &str, &str, &str)] = &[
        (
            VEHICLES,
            &JOBS.replace("\"van\"", "\"wan\""),
            "\"wan\"",
            "no vehicle is called `wan`",
            "nearest valid name: `van`; known: small, van",
        ),
        (
            VEHICLES,
            "[[job]]\nvehicle = \"small\"\n",
            "[[vehicle]]\nname = \"van\"",
            "vehicle[2]: no job has this vehicle",
            "vehicle = \"van\"",
        ),
        (VEHICLES, "", "[[vehicle]]", "`job` is missing", "add a [[job]] for each"),
        ("", JOBS, "", "`vehicle` is missing", "add `vehicle`: tables [[vehicle]]"),
        (
            "",
            "[order]\nphases = \"whole\"\n[expect]\n[[job]]\nvehicle = \"x\"\n",
            "order]",
            "`order` is out of place",
            "stand in its [[job]]",
        ),
        (single, JOBS, "[vehicle]", "[vehicle] is one vehicle", "write [[vehicle]]"),
        (VEHICLES, "[order]\nphases = \"whole\"\n", "order]", "`order` is out of place", "[job.expect]"),
        (
            &VEHICLES.replace("\"van\"", "\"small\""),
            JOBS,
            "\"small\"\nlabel = \"Van",
            "is the name of vehicle[1]",
            "of its own",
        ),
        (
            &VEHICLES.replace("\"van\"", "\"my van\""),
            JOBS,
            "\"my van\"",
            "vehicle[2].name: `my van` cannot name",
            "1 to 64 letters",
        ),
        (
            &VEHICLES.replace("name = \"van\"", ""),
            JOBS,
            "[[vehicle]]\n\n",
            "`name` is missing in [vehicle[2]]",
            "add `name`",
        ),
        (VEHICLES, &JOBS.replace("\"25 min\"", "\"30 s\""), "\"30 s\"", "job[2].after: \"30 s\" is outside", "60 s to"),
        (VEHICLES, &JOBS.replace("\"25 min\"", "\"25 h\""), "\"25 h\"", "job[2].after: \"25 h\" is outside", "24 h"),
        (
            VEHICLES,
            &JOBS.replacen("charge =", "after = \"5 min\"\ncharge =", 1),
            "\"5 min\"",
            "job[1].after: no job is before",
            "take `after` out",
        ),
        (
            VEHICLES,
            &JOBS.replace("phases = [\"identify\"]", "phases = [\"identity\"]"),
            "[\"identity\"]",
            "job[2].phases: `identity` is no phase",
            "identify",
        ),
        (
            VEHICLES,
            &JOBS.replace("sides", "side"),
            "side = \"low\"",
            "unknown key `side` in [job[2]]",
            "nearest valid key: `sides`",
        ),
        (VEHICLES, &fifty_one, "", "51 jobs stand in a row", "accepted: 1 to 50"),
        (
            &VEHICLES.replace("content = \"900 g\"", "content = \"9 kg\""),
            JOBS,
            "\"9 kg\"",
            "vehicle[2].content",
            "accepted range",
        ),
        (
            &VEHICLES.replace("\"95 %\"", "\"90 %\""),
            JOBS,
            "[vehicle.gas]",
            "vehicle[2].gas: the shares sum to 95.000 %",
            "100 %",
        ),
    ];
    for (vehicles, jobs, place, message, help) in cases {
        let text = [HEAD, vehicles, jobs].concat();
        let said = read(&text).expect_err(message);
        let told = said.iter().map(|one| format!("{one}\n")).collect::<String>();
        let one = said.iter().find(|one| one.message.contains(message)).unwrap_or_else(|| panic!("{message}:\n{told}"));
        assert!(one.help.as_deref().is_some_and(|said| said.contains(help)), "{help}:\n{told}");
        assert_eq!(one.file, "row.toml");
        if !place.is_empty() {
            let line = text[..text.find(place).expect("the place")].matches('\n').count() + 1;
            assert_eq!(one.line, line, "{message}:\n{told}");
        }
    }
    for empty in ["vehicle = []\n", "job = []\n"] {
        let rest = if empty.starts_with('v') { JOBS } else { VEHICLES };
        let said = read(&[empty, HEAD, rest].concat()).expect_err("an empty list");
        assert!(said.iter().any(|one| one.message.contains("is empty") && one.line == 1), "{said:?}");
    }
}

/// The networks of the jobs, and the plant over all of them.
#[test]
fn the_vehicles_of_a_row_come_to_the_plant_one_after_another() {
    let row = row();
    let theirs = visitors(&row).expect("the shipped network");
    let all =
        ["accumulator", "expansion", "leak", "nitrogen", "nitrogen_bottle", "release", "suction", "vehicle_compressor"];
    assert!(
        all.iter().chain(&["vehicle_high", "vehicle_low"]).all(|name| theirs.contains(*name)) && theirs.len() == 10
    );
    assert_eq!(format!("{:?}", network_for(&row, 0)), format!("{:?}", network_of(&row)));
    assert!(network_for(&row, 3).is_err_and(|why| why.to_string().contains("there is no job 4; the scenario has 3")));
    let mut plant = Plant::new(&network_for(&row, 0).expect("a network"), Tolerance::STATION).expect("a plant");
    for (job, leak, bottle) in [(1, true, false), (2, false, true)] {
        plant.advance(plant.time() + 60.0);
        let made = change_vehicle(&mut plant, &row, job).unwrap_or_else(|why| panic!("{why}"));
        let content = row.job(job).expect("a job").vehicle.content;
        let brought = made.arrived.refrigerant_kg + made.arrived.second_kg;
        assert!((brought - content).abs() < 1e-9, "{brought} kg of {content}");
        assert_eq!(plant.element("leak").is_some(), leak);
        assert_eq!(plant.volume("nitrogen_bottle").is_some(), bottle);
        assert!(plant.mixed());
    }
    plant.advance(plant.time() + 60.0);
    let balance = plant.balance();
    assert!(balance.mass_error_kg.abs() < 1e-12 && balance.second_error_kg.abs() < 1e-12, "{balance:?}");
    assert_eq!(plant.fault(), None);
}

/// The shipped row; what becomes of it is held in `run_row`.
const MONDAY: &str = include_str!("../../sim-host/scenarios/monday_morning.toml");

#[test]
fn monday_morning_is_five_vehicles_on_one_station() {
    let row =
        parse::read(&Source::new("monday_morning.toml", MONDAY)).unwrap_or_else(|problems| panic!("{problems:#?}"));
    assert_eq!(row.name, "monday_morning");
    let names: Vec<_> = row.jobs().filter_map(|job| job.vehicle.name.as_deref()).collect();
    assert_eq!(names, ["runabout", "van", "hissing_saloon", "convertible", "estate"]);
    let verdicts = row.jobs().map(|job| job.expect.verdict);
    let (good, bad) = (Verdict::Pass, Verdict::Refused);
    assert_eq!(verdicts.collect::<Vec<_>>(), [good, good, bad, bad, good]);
    let mut plant = Plant::new(&network_of(&row).expect("a network"), Tolerance::STATION).expect("a plant");
    for job in 1..5 {
        plant.advance(plant.time() + 30.0);
        change_vehicle(&mut plant, &row, job).unwrap_or_else(|why| panic!("{why}"));
    }
    let came = plant.exchanged().arrived.refrigerant_kg;
    let written: f64 = row.jobs().skip(1).map(|job| job.vehicle.content).sum();
    assert!((came - written).abs() < 1e-9, "{came} kg of {written}");
    assert!(plant.balance().mass_error_kg.abs() < 1e-12);
}
