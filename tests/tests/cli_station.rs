//! Stations through the program: listed, printed, checked alone and with a scenario, taken in place of another; contradictions with
//! both places.

use valvewright_sim::station::SHIPPED;

use crate::cli_bench::Bench;

fn shipped(name: &str) -> &'static str {
    SHIPPED.iter().find(|one| one.name == name).expect("shipped").text
}

/// The text with an edit, and line and column, from 1, of `at` in it.
fn edited(name: &str, (old, new): (&str, &str), at: &str) -> (String, String) {
    let text = shipped(name);
    assert_eq!(text.matches(old).count(), 1, "`{old}` must stand once in {name}.toml");
    let text = text.replace(old, new);
    let offset = text.find(at).unwrap_or_else(|| panic!("`{at}` is not in {name}.toml"));
    let line = text[..offset].matches('\n').count() + 1;
    let column = offset - text[..offset].rfind('\n').map_or(0, |end| end + 1) + 1;
    (text, format!("{line}:{column}"))
}

const TABLE: &str = "[controller]  ";

/// Puts a line behind the head of the reference's table.
fn stated(line: &str) -> (String, String) {
    let (text, _) = edited("workshop", ("rated = \"10 kg\"\n", "rated = \"10 kg\"\nLINE\n"), TABLE);
    let text = text.replace("LINE", line);
    let at = text.find(line).expect("put there");
    (text.clone(), format!("{}", text[..at].matches('\n').count() + 1))
}

/// What is stated, and the place in the network that says otherwise.
#[test]
fn a_station_that_contradicts_its_network_is_told_with_both_places() {
    for (line, key, place, own, network) in [
        ("vessel = \"13 L\"", "volume.vessel.volume", "\"12.5 L\"", "13 L", "12.5 L"),
        ("manifold = \"12 mL\"", "volume.manifold.volume", "\"10 mL\"\nrefrigerant_pressure", "12 mL", "10 mL"),
        ("air_changes = \"50 s\"", "element.K-1.flow", "\"60 m3/h\"", "50 s", "45 s"),
        ("compressor_draws = \"200 cm3/s\"", "element.C-1.displacement", "\"8 cm3\"", "200 cm3/s", "176.64 cm3/s"),
        ("charge_area = \"0.8 mm2\"", "element.\"XV-5+XV-10+XV-1\".diameter", "\"1 mm\"", "0.8 mm2", "0.714712 mm2"),
        ("without = [\"H-1\", \"H-2\"]", "`H-1+H-2`", "element.\"H-1+H-2\"]", "", ""),
        ("scales = { WT-2 = \"900 g\" }", "volume.used_oil.volume", "\"1 L\"", "0.9 kg", "0.98 kg"),
    ] {
        let bench = Bench::new();
        let (text, at) = stated(line);
        let offset = text.find(place).unwrap_or_else(|| panic!("{place}"));
        let there = text[..offset].matches('\n').count() + 1;
        bench.put("own.toml", &text);
        let said = bench.run(&["check", "own.toml"]).exits(64);
        let both = [format!("own.toml:{at}:"), format!("at own.toml:{there}:")];
        said.complains(&[&both[0], &both[1], key, own, network]);
    }
}

/// Each row: the edit, a text at the place that is pointed at, what is said, what is offered.
#[test]
fn each_mistake_of_a_station_is_named_with_its_place_and_remedy() {
    let rated = "rated = \"10 kg\"\n";
    let rows: &[(&str, &str, &str, &str, &str)] = &[
        (rated, "rated = \"1 t\"\n", "\"1 t\"", "unknown unit", "2500 g to 11250 g"),
        (rated, "rated = \"0 kg\"\n", "\"0 kg\"", "outside the accepted range", "2.5 kg to 11.25 kg"),
        (rated, "rated = -1\n", "rated = -1", "no unit", "accepted units: g, kg, mg"),
        (rated, "heel = \"0 g\"\n", "\"0 g\"\nhose", "outside the accepted range", "1000 g to 5000 g"),
        (rated, "recovery_end = \"20 kPa\"\n", "\"20 kPa\"", "outside", "31 kPa to 60 kPa"),
        (rated, "recovery_end = \"60 kPa\"\nrecovery_restart = \"61 kPa\"\n", "\"61 kPa\"", "outside", "65 kPa to"),
        (rated, "leak_limit = \"1 Pa m3/s\"\n", "\"1 Pa m3/s\"", "outside", "0.0002 Pa m3/s to 0.02 Pa m3/s"),
        (rated, "vesel = \"12.5 L\"\n", "vesel", "unknown key", "nearest valid key: `vessel`"),
        (rated, "without = [\"XV-5\"]\n", "[\"XV-5\"]", "cannot do without XV-5", "its heater, H-1 and H-2 together"),
        (
            rated,
            "without = [\"H-2\"]\n",
            "[\"H-2\"]",
            "two contactors of one heater",
            "name both, or none; with both the element `H-1+H-2` goes",
        ),
        (rated, "without = [\"H3\"]\n", "[\"H3\"]", "`H3` is no actuator", "accepted: H-1 and H-2"),
        (rated, "scales = { WT-1 = \"11 kg\" }\n", "\"11 kg\"", "outside", "12 kg to 100 kg"),
        (rated, "scales = { WT-4 = \"11 kg\" }\n", "WT-4", "unknown key", "valid keys: WT-1, WT-2, WT-3"),
        (
            rated,
            "transmitters = { PT-1 = [\"0 bar\", \"5 bar\"] }\n",
            "[\"0 bar\"",
            "does not suit",
            "2000 kPa to 5000 kPa",
        ),
        (rated, "transmitters = { PT-1 = [\"35 bar\", \"0 bar\"] }\n", "[\"35 bar\"", "does not suit", "at 4 mA 0 kPa"),
        (rated, "transmitters = { PT-1 = [\"35 bar\"] }\n", "[\"35 bar\"", "two ends", "PT-1 = ["),
        (rated, "transmitters = { PT-1 = [\"0 degC\", \"35 bar\"] }\n", "\"0 degC\"", "wrong unit", "kPa, Pa"),
        (
            rated,
            "transmitters = { PT-9 = [\"0 bar\", \"35 bar\"] }\n",
            "PT-9",
            "unknown key",
            "nearest valid key: `PT-",
        ),
        (TABLE, "[controler]  ", "controler]", "unknown key `controler`", "nearest valid key: `controller`"),
        (
            "volume = \"12.5 L\"",
            "volume = \"20 L\"",
            "\"20 L\"",
            "hold 1.2 kg as gas alone",
            "[controller], and the element `H-1+H-2` goes too",
        ),
        ("volume = \"12.5 L\"", "volume = \"500 L\"", "\"500 L\"", "gives the controller", "2 L to 120 L"),
        (
            "[element.\"XV-6\"]",
            "[element.\"XV-66\"]",
            "element.\"XV-66\"]",
            "no actuator `XV-66`",
            "nearest name: `XV-6`",
        ),
        (
            "[element.\"XV-6\"]",
            "[element.heavy]",
            "element.\"XV-1\"]",
            "no element follows `XV-6`",
            "each actuator needs",
        ),
        (
            "[element.\"H-1+H-2\"]",
            "[element.heater]",
            "element.\"XV-1\"]",
            "no element follows `H-1`, `H-2`",
            "without = [",
        ),
        ("[volume.discharge.wall]", "[volume.discharge.cold_wall]", "volume.discharge]", "needs a wall", "looks for"),
        ("[element.\"K-1\"]", "[element.breeze]", "[controller]", "`air_changes` is missing", "5 s to 600 s"),
    ];
    for (old, new, at, message, help) in rows {
        let bench = Bench::new();
        let (text, place) = edited("workshop", (old, new), at);
        bench.put("own.toml", &text);
        let said = bench.run(&["check", "own.toml"]).exits(64);
        let line = place.split(':').next().unwrap_or_default();
        said.complains(&[&format!("own.toml:{line}:"), message, help]);
    }
    let bench = Bench::new();
    bench.put("own.toml", &shipped("fleet_yard").replace("without = [\"H-1\", \"H-2\"]\n", ""));
    bench.run(&["check", "own.toml"]).exits(64).complains(&["no element follows `H-1`, `H-2`", "own.toml:"]);
    bench.put(
        "own.toml",
        &shipped("fleet_yard").replace("PT-1 = [\"0 bar\", \"40 bar\"]", "TT-3 = [\"-40 degC\", \"160 degC\"]"),
    );
    bench.run(&["check", "own.toml"]).exits(64).complains(&["there is no heater"]);
}

#[test]
fn stations_are_listed_printed_and_checked_by_name() {
    let bench = Bench::new();
    let list = bench.run(&["list"]).exits(0).out;
    assert!(list.contains("fleet_yard") && list.contains("workshop"), "{list}");
    let json = bench.run(&["list", "--json"]).exits(0).json();
    assert_eq!(json["stations"].as_array().map(Vec::len), Some(SHIPPED.len()));
    for one in SHIPPED {
        assert_eq!(bench.run(&["list", one.name]).exits(0).out, one.text);
        let told = bench.run(&["check", one.name]).exits(0).out;
        assert!(told.contains(": station is well"), "{told}");
    }
    let told = bench.run(&["check", "yard_coach", "mild_hatchback", "--json"]).exits(0).json();
    assert_eq!((told[0]["station"].as_str(), told[1]["station"].as_str()), (Some("fleet_yard"), Some("workshop")));
}

#[test]
fn a_scenario_and_its_station_are_both_told_of() {
    let bench = Bench::new();
    let demo = include_str!("../../sim-host/scenarios/mild_hatchback.toml");
    let job = |network: &str, label: &str| {
        let text = demo.replace("[station]\n", &format!("[station]\nnetwork = \"{network}\"\n"));
        text.replace("\"22 degC\"", label)
    };
    bench.put("own.toml", &shipped("workshop").replace("rated = \"10 kg\"", "rated = \"100 kg\""));
    bench.put("job.toml", &job("own.toml", "\"122 degC\""));
    bench.run(&["check", "job.toml"]).exits(64).complains(&["job.toml:11:11", "own.toml:22:9", "2.5 kg to 11.25 kg"]);
    bench.put("job.toml", &job("fleet_yrd", "\"22 degC\""));
    bench.run(&["check", "job.toml"]).exits(64).complains(&[
        "job.toml:16:11",
        "nearest shipped station: `fleet_yard`",
        "shipped stations: workshop, fleet_yard",
    ]);
    bench.run(&["run", "job.toml"]).exits(64).complains(&["fleet_yrd cannot be read", "nearest shipped station"]);
    // A file of that name beside the scenario comes before the shipped one.
    bench.put("job.toml", &job("fleet_yard", "\"22 degC\""));
    bench.run(&["check", "job.toml"]).exits(0);
    bench.put("fleet_yard", "refrigerant = \"R1234yf\"\n");
    bench.run(&["check", "job.toml"]).exits(64).complains(&["./fleet_yard:1:1", "`volume` is missing"]);
    // It stands beside this scenario, and not beside one elsewhere.
    std::fs::create_dir(bench.path("jobs")).expect("a folder");
    bench.put("jobs/job.toml", &job("fleet_yard", "\"22 degC\""));
    bench.put("workshop", "");
    bench.run(&["check", "jobs/job.toml", "mild_hatchback"]).exits(0);
}

/// What a vessel may hold is the station's to say.
#[test]
fn another_station_may_be_taken_for_a_run() {
    let bench = Bench::new();
    let quiet = ["--trace", "none", "--no-report", "--json"];
    let run = |station: &str| bench.run(&[&["run", "mild_hatchback", "--station", station][..], &quiet].concat());
    let yard = run("fleet_yard").exits(0).json();
    let home = run("workshop").exits(0).json();
    let usual = bench.run(&[&["run", "mild_hatchback"][..], &quiet].concat()).exits(0).json();
    assert_eq!(home["trace_hash"], usual["trace_hash"]);
    assert_ne!(yard["trace_hash"], usual["trace_hash"]);
    bench
        .run(&["run", "mild_hatchback", "--station", "nowhere.toml"])
        .exits(64)
        .complains(&["shipped stations: workshop"]);
    bench.put("small.toml", &shipped("workshop").replace("\"12.5 L\"", "\"6 L\"").replace("rated = \"10 kg\"\n", ""));
    bench.run(&["run", "mild_hatchback", "--station", "small.toml"]).exits(64).complains(&[
        "mild_hatchback.toml:17:18",
        "station.vessel_content: \"6 kg\" is outside",
        "0 kg to 4.8 kg",
    ]);
    bench.put("broken.toml", &shipped("workshop").replace("rated = ", "ratd = "));
    bench
        .run(&["run", "mild_hatchback", "--station", "broken.toml"])
        .exits(64)
        .complains(&["broken.toml:22:1", "`rated`"]);
}

/// The book shows the very words.
#[test]
fn check_shows_what_the_controller_will_be_told() {
    let bench = Bench::new();
    let ours = shipped("workshop").replace("\"12.5 L\"", "\"16 L\"").replace("rated = \"10 kg\"\n", "");
    bench.put("ours.toml", &ours);
    let told = bench.run(&["check", "ours.toml"]).exits(0).out;
    let shown = format!("```text\n$ valvewright check ours.toml\n{told}```\n");
    assert!(include_str!("../../docs/own.md").contains(&shown), "docs/own.md does not show\n{shown}");
    let told = bench.run(&["check", "fleet_yard"]).exits(0).out;
    for line in [
        "fill limit    R-1234yf 32 kg, R-134a 32 kg at 21 degC",
        "transmitters  PT-1 0 bar to 40 bar, TT-2 -40 degC to 200 degC",
        "not built in  H-1, H-2",
    ] {
        assert!(told.contains(line), "{told}");
    }
    // 80 % of 16 L as liquid at 21 degC lie between the usual and the highest rating.
    bench.put("full.toml", &ours.replace("[controller]", "[controller]\nrated = \"14.4 kg\""));
    let json = bench.run(&["check", "full.toml", "fleet_yard", "mild_hatchback", "--json"]).exits(0).json();
    let limit = |name: &str| json[0]["told"]["fill_limit_kg"][name].as_f64().expect("a mass");
    assert!((14.0..14.3).contains(&limit("R-1234yf")), "{json}");
    assert_eq!(limit("R-134a"), 14.4);
    assert_eq!(json[0]["told"]["scales_kg"]["WT-1"], 36.0);
    assert_eq!(json[0]["told"]["hose_ml"], 54.287);
    assert_eq!(json[1]["told"]["without"], serde_json::json!(["H-1", "H-2"]));
    assert_eq!(json[1]["told"]["transmitters"][0]["at_20_ma"], "40 bar");
    assert!(json[2].get("told").is_none(), "a scenario tells a controller nothing");
}

#[test]
fn a_file_in_the_place_of_another_is_told_as_what_it_is() {
    let bench = Bench::new();
    bench.put("ours.toml", shipped("workshop"));
    bench.put("job.toml", include_str!("../../sim-host/scenarios/mild_hatchback.toml"));
    bench.put("rig.toml", "refrigerant = \"R1234yf\"\n[volume.a]\nvolume = \"1 L\"\n[[step]]\n");
    for (line, what, help) in [
        (&["run", "ours.toml"][..], "ours.toml is a station file", "`valvewright run SCENARIO --station ours.toml`"),
        (&["run", "fleet_yard"], "fleet_yard is a station file", "run SCENARIO --station fleet_yard`"),
        (&["run", "rig.toml"], "rig.toml is a rig", "`valvewright rig rig.toml`"),
        (
            &["run", "city_bus", "--station", "job.toml"],
            "job.toml is a scenario",
            "`valvewright run job.toml --station",
        ),
        (&["run", "job.toml", "--station", "city_bus"], "city_bus is a scenario", "stations: workshop, fleet_yard"),
        (&["run", "job.toml", "--station", "rig.toml"], "rig.toml is a rig", "`valvewright rig rig.toml`"),
    ] {
        let said = bench.run(line).exits(64);
        said.complains(&[what, help]);
        assert!(!said.err.contains("unknown key"), "{}", said.err);
    }
}
