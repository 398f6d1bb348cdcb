//! Wrong use of the command: exit code 64, the place, the accepted range, the nearest valid key, and nothing written.

use crate::cli_bench::Bench;
use valvewright_sim::scenario::shipped;

/// Runs a demo with one text swapped for another; the command must refuse and leave the folder as it was.
#[track_caller]
fn refused(from: &str, to: &str, says: &[&str]) {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    assert!(demo.contains(from), "`{from}` is not in the demo");
    let bench = Bench::new();
    bench.put("job.toml", &demo.replacen(from, to, 1));
    bench.run(&["run", "job.toml"]).exits(64).complains(says);
    assert_eq!(bench.listing(), ["job.toml"], "something was written");
    let json = bench.run(&["run", "job.toml", "--json"]).exits(64).json();
    assert_eq!(json["diagnostics"][0]["file"], "job.toml");
    assert!(json["diagnostics"][0]["line"].as_u64().is_some_and(|line| line >= 1));
    bench.run(&["check", "job.toml"]).exits(64).complains(says);
    assert_eq!(bench.listing(), ["job.toml"], "something was written");
}

#[test]
fn an_unknown_key_is_shown_with_the_nearest_valid_one() {
    refused(
        "ambient = ",
        "ambiant = ",
        &["job.toml:11:1: unknown key `ambiant`", "nearest valid key: `ambient`", "-10 degC to 50 degC"],
    );
}

#[test]
fn a_wrong_unit_is_shown_with_the_right_ones() {
    refused(
        "\"445 g\"",
        "\"445 mL\"",
        &["job.toml:24:11: vehicle.content: wrong unit", "accepted units: g, kg, mg", "accepted range: 0 g to 3420 g"],
    );
}

/// By letters `C` is one step from `K` as well as from `degC`.
#[test]
fn a_degree_written_otherwise_is_led_to_its_own_unit() {
    for (unit, near) in [("C", "degC"), ("deg C", "degC"), ("celsius", "degC"), ("F", "degF"), ("degrees F", "degF")] {
        let nearest = format!("nearest valid unit: `{near}`");
        refused("ambient = \"22 degC\"", &format!("ambient = \"22 {unit}\""), &["unknown unit", &nearest]);
    }
}

#[test]
fn a_charge_without_unit_is_told_what_an_order_accepts() {
    refused("charge = \"480 g\"", "charge = \"480\"", &["has no unit", "accepted range: 50 g to 10000 g"]);
    refused("charge = \"480 g\"", "charge = \"9e9 g\"", &["accepted range: 50 g to 10000 g"]);
}

#[test]
fn a_bound_of_time_is_a_round_number_in_some_unit() {
    refused("seed = 1", "seed = 1\ntime_limit = \"30 h\"", &["accepted range: 1 min to 24 h"]);
    refused("seed = 1", "seed = 1\ntime_limit = \"3 s\"", &["accepted range: 60 s to 86400 s"]);
}

#[test]
fn phases_in_a_wrong_order_are_one_mistake() {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    let bench = Bench::new();
    bench.put("job.toml", &demo.replacen("\"whole\"", "[\"charge\", \"recover\"]", 1));
    let json = bench.run(&["run", "job.toml", "--json"]).exits(64).json();
    let told = json["diagnostics"].as_array().expect("a list");
    assert_eq!(told.len(), 1, "{json}");
    assert!(told[0]["message"].as_str().is_some_and(|text| text.contains("order of a job")), "{json}");
}

#[test]
fn an_act_set_off_twice_is_told_so_and_where() {
    let twice = "[[operator.act]]\ndo = \"pause\"\nat = \"3 min\"\nphase = \"recover\"\n\n[expect]";
    refused("[expect]", twice, &["job.toml:50:9: operator.act[1]: `at` and `phase` are given, an act has only one of"]);
    let never = "[[operator.act]]\ndo = \"pause\"\n\n[expect]";
    refused("[expect]", never, &["operator.act[1]: an act needs one of `at`, `phase`, `notice`"]);
}

#[test]
fn a_key_given_twice_is_named_where_it_stands_again() {
    refused("humidity = ", "ambient = \"3 degC\"\nhumidity = ", &["job.toml:13:1: `ambient` is given twice"]);
}

#[test]
fn scenarios_and_the_fluid_verb_take_both_spellings_of_a_refrigerant() {
    let demo = shipped::source(shipped::DEMO).expect("shipped").text;
    let bench = Bench::new();
    let plain = demo.replace("refrigerant = \"R-1234yf\"", "refrigerant = \"R1234yf\"");
    assert_ne!(plain, demo);
    let gas = "[vehicle.gas]\nR1234yf = \"98 %\"\nR134a = \"2 %\"\n\n[vehicle.volumes]";
    bench.put("job.toml", &plain.replacen("[vehicle.volumes]", gas, 1));
    bench.run(&["check", "job.toml"]).exits(0);
    for name in ["R1234yf", "R-1234yf", "R134a", "R-134a"] {
        bench.run(&["fluid", name, "--temperature", "20degC"]).exits(0);
    }
    let twice = "[vehicle.gas]\nR-1234yf = \"98 %\"\nR1234yf = \"2 %\"\n\n[vehicle.volumes]";
    refused("[vehicle.volumes]", twice, &["job.toml:31:11: vehicle.gas: `R-1234yf` is given twice, here as `R1234yf`"]);
}

#[test]
fn a_charge_above_the_vessels_content_is_refused() {
    refused(
        "charge = \"480 g\"",
        "charge = \"6.2 kg\"",
        &["job.toml:36:10: order.charge: 6200 g is more than the vessel can give", "accepted range: 50 g to 5445 g"],
    );
}

#[test]
fn a_vehicle_without_a_volume_is_refused() {
    let volumes = "[vehicle.volumes]\nhigh_side = \"1.6 L\"\nlow_side = \"1.4 L\"\naccumulator = \"0.8 L\"\n";
    refused(
        volumes,
        "",
        &[
            "job.toml:20:1: `volumes` is missing in [vehicle]",
            "high_side, low_side and accumulator, each 0.05 L to 10 L",
        ],
    );
    refused(
        "high_side = \"1.6 L\"",
        "high_side = \"0 L\"",
        &["job.toml:30:13: vehicle.volumes.high_side", "accepted range: 0.05 L to 10 L"],
    );
}

#[test]
fn broken_toml_is_shown_where_it_breaks() {
    refused("[order]", "[order", &["job.toml:34:7: broken TOML"]);
}

#[test]
fn a_file_that_is_no_text_is_refused() {
    let bench = Bench::new();
    std::fs::write(bench.path("job.toml"), b"name = \"\xff\"").expect("writable");
    bench.run(&["run", "job.toml"]).exits(64).complains(&["job.toml:1:9", "not UTF-8"]);
    assert_eq!(bench.listing(), ["job.toml"]);
}

#[test]
fn a_missing_file_is_refused_with_what_is_shipped() {
    let bench = Bench::new();
    for (arguments, near) in [
        (["run", "mild_hatchbak"], "nearest shipped name: `mild_hatchback`"),
        (["run", "jobs/small_leek.toml"], "nearest shipped name: `small_leak`"),
        (["run", "nothing-like-it.toml"], "shipped: mild_hatchback"),
        (["rig", "b9"], "nearest shipped name: `b"),
        (["check", "hot_yrad.toml"], "nearest shipped name: `hot_yard`"),
    ] {
        bench.run(&arguments).exits(64).complains(&[near]);
    }
    assert!(bench.listing().is_empty());
}

#[test]
fn an_existing_folder_is_not_overwritten_without_force() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("mine")).expect("writable");
    bench.put("mine/result.json", "precious");
    bench.put("mine/notes.txt", "also mine");
    let refusal = bench.run(&["run", "--out", "mine"]).exits(64);
    refusal.complains(&["mine exists and is not overwritten", "--force"]);
    assert_eq!(std::fs::read_to_string(bench.path("mine/result.json")).expect("still there"), "precious");
    assert_eq!(bench.listing(), ["mine", "mine/notes.txt", "mine/result.json"]);

    let forced = bench.run(&["run", "--out", "mine", "--force", "--json"]);
    assert!(matches!(forced.code, Some(0 | 1)), "{}", forced.err);
    assert!(std::fs::read_to_string(bench.path("mine/result.json")).expect("written").contains("trace_hash"));
    assert_eq!(std::fs::read_to_string(bench.path("mine/notes.txt")).expect("left alone"), "also mine");
}

#[test]
fn a_file_in_place_of_the_folder_is_not_helped_by_force() {
    let bench = Bench::new();
    bench.put("mine", "precious");
    for arguments in [&["run", "--out", "mine"][..], &["run", "--out", "mine", "--force"]] {
        let said = bench.run(arguments).exits(64);
        said.complains(&["mine is a file, not a folder", "give a folder with --out"]);
        assert!(!said.err.contains("--force"), "{}", said.err);
    }
}

#[test]
fn wrong_arguments_exit_with_64_and_help_with_0() {
    let bench = Bench::new();
    for wrong in [
        &["rum"][..],
        &["run", "--sed", "3"],
        &["run", "--seed", "-1"],
        &["check"],
        &["fluid"],
        &["run", "--trace", "xml"],
    ] {
        let said = bench.run(wrong).exits(64);
        assert!(said.err.contains("error:") && said.out.is_empty(), "{wrong:?}: {}", said.err);
    }
    let json = bench.run(&["rum", "--json"]).exits(64).json();
    assert!(json["error"].as_str().is_some_and(|error| error.contains("rum")));
    let help = bench.run(&["-h"]).exits(0).out;
    assert!(help.lines().count() <= 24, "the short help is longer than a screen:\n{help}");
    for verb in ["run", "check", "rig", "fluid", "matrix", "list", "completions"] {
        assert!(help.contains(verb));
        bench.run(&[verb, "--help"]).exits(0);
    }
}

#[test]
fn property_questions_out_of_range_name_the_range() {
    let bench = Bench::new();
    for (arguments, says) in [
        (
            &["fluid", "R1234yf", "--temperature", "250degC"][..],
            &["--temperature", "accepted range: -100 degC", "nearest valid value"][..],
        ),
        (&["fluid", "R1234yf", "--temperature", "23.7"], &["has no unit", "degC"]),
        (&["fluid", "R12", "--temperature", "20degC"], &["R-1234yf, R-134a"]),
        (&["fluid", "R134a", "--density", "9000 kg/m3", "--temperature", "20degC"], &["--density", "accepted range"]),
        (
            &["fluid", "R134a", "--density", "20 kg/m3", "--internal-energy", "9000 kJ/kg"],
            &["--internal-energy", "accepted range"],
        ),
        (&["fluid", "R134a"], &["give --temperature"]),
    ] {
        bench.run(arguments).exits(64).complains(says);
    }
}
