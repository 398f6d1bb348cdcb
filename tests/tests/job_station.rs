//! The second shipped station, of another kind than the reference, does every shipped job to a sound end: what a scenario expects
//! holds there too, but where the vessel is the point.

use valvewright_core::frame::Analog;
use valvewright_core::sense::scale::RAIL_HIGH;
use valvewright_sim::report::data::Verdict;
use valvewright_sim::run::{
    Control, RunOptions, RunOutcome, Simulation, instrument_spec, run_scenario, station_config, station_name,
};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::shipped::{self, SHIPPED};
use valvewright_sim::scenario::{Scenario, parse, random};
use valvewright_sim::station;

/// The second station.
const YARD: &str = "fleet_yard";

fn on(station: &str, source: &Source) -> Scenario {
    parse::read_on(source, Some(station)).unwrap_or_else(|wrong| panic!("{}: {wrong:?}", source.name))
}

fn run(scenario: &Scenario) -> RunOutcome {
    let outcome = run_scenario(scenario, &RunOptions::default(), &mut |_| Control::Continue);
    outcome.unwrap_or_else(|why| panic!("{}: {why}", scenario.name))
}

/// Never too much in the vessel, nothing lost, nothing broken.
fn sound(scenario: &Scenario, outcome: &RunOutcome) {
    let (name, result) = (&scenario.name, &outcome.result);
    assert!(!result.partial, "{name} came to no end");
    let rated = f64::from(station_config(scenario).expect("a station").vessel_rated.0) * 1e-3;
    let most = outcome.trace.channel("wt1").expect("recorded").values.iter().copied().fold(0.0, f32::max);
    assert!(f64::from(most) < rated, "{name}: {most} g in a vessel of {rated} g");
}

/// The scenario with another content of its vessel.
fn filled(source: &Source, from: &str, to: &str) -> Source {
    let (from, to) = (format!("vessel_content = \"{from}\""), format!("vessel_content = \"{to}\""));
    assert_eq!(source.text.matches(&from).count(), 1, "{}", source.name);
    Source { text: source.text.replace(&from, &to), ..source.clone() }
}

/// 40 L hold 3.2 kg back where 12.5 L hold 1 kg: two jobs need more in the vessel, and say so without it. The third is about a vessel
/// that is nearly full for 10 kg, and far from it for 32.
/// Shows LS7.
#[test]
fn every_shipped_job_comes_to_its_own_end_on_the_second_station() {
    for one in SHIPPED {
        let source = shipped::source(one.name).expect("shipped");
        let source = match one.name {
            "vessel_nearly_empty" => {
                let refused = parse::read_on(&source, Some(YARD)).expect_err("nothing to give");
                assert!(refused[0].message.contains("of which 3200 g stay in it"), "{refused:?}");
                filled(&source, "1.1 kg", "3.3 kg")
            }
            "city_bus" => {
                let scenario = on(YARD, &source);
                let short = run(&scenario);
                sound(&scenario, &short);
                assert_eq!(short.result.verdict, Verdict::Refused);
                let told =
                    short.result.phases.iter().any(|phase| phase.detail.to_string().contains("this charge needs"));
                assert!(told, "{:?}", short.result.phases);
                filled(&source, "3.5 kg", "6 kg")
            }
            _ => source,
        };
        let scenario = on(YARD, &source);
        let outcome = run(&scenario);
        sound(&scenario, &outcome);
        let result = &outcome.result;
        if one.name == "vessel_nearly_full" {
            assert_eq!(result.verdict, Verdict::Pass);
        } else {
            assert_eq!(result.exit_code(), 0, "{}: {:?}", one.name, result.expectations);
        }
        if result.verdict == Verdict::Pass {
            let off = result.charged_g.target.map_or(0.0, |target| result.charged_g.truth - target);
            assert!(off.abs() < 15.0, "{}: {off} g", one.name);
        }
        let expected = scenario.expect.trips.unwrap_or_default();
        for trip in &result.interlocks {
            assert!(expected.contains(&trip.id), "{}: {} tripped", one.name, trip.id);
        }
    }
}

/// Whatever a seed draws comes to an end there, too, unless the bigger vessel would have to give what it holds back.
#[test]
fn drawn_jobs_come_to_an_end_on_the_second_station() {
    let mut done = 0;
    for seed in 0..30 {
        let source = Source::new(format!("random-{seed}.toml"), random::text(seed));
        match parse::read_on(&source, Some(YARD)) {
            Ok(scenario) => {
                sound(&scenario, &run(&scenario));
                done += 1;
            }
            Err(wrong) => assert!(wrong[0].message.contains("more than the vessel can give"), "{seed}: {wrong:?}"),
        }
    }
    assert!(done >= 10, "only {done} of 30 could be ordered");
}

#[test]
fn both_ends_of_a_loop_and_of_a_scale_reckon_with_one_range() {
    for one in station::SHIPPED {
        let scenario = on(one.name, &shipped::source(shipped::DEMO).expect("shipped"));
        assert_eq!(station_name(&scenario).expect("a station").0, one.name);
        let config = station_config(&scenario).expect("a station");
        let spec = instrument_spec(&config);
        for ((input, device), channel) in Analog::ALL.into_iter().zip(&spec.analog).zip(&config.sense.channels) {
            let unit = station::transmitter(input).core_per_truth;
            let ends = ((device.low * unit).round() as i32, (device.high * unit).round() as i32);
            assert_eq!(ends, (channel.low(), channel.high()), "{} {input:?}", one.name);
        }
        for (device, scale) in spec.scales.iter().zip(&config.sense.scales) {
            let full = f64::from(scale.cal.span_mass().0) * 1e-3;
            let code = device.zero_code + full * device.counts_per_gram;
            assert!((code - f64::from(scale.cal.span_code())).abs() < 1.0 && code < 0.7 * f64::from(RAIL_HIGH));
        }
    }
}

/// The reference with other transmitters, another vessel and another platform does the demo as well, whatever its devices err by.
#[test]
fn the_demo_passes_with_wider_transmitters_and_a_smaller_vessel() {
    let shipped = station::source(None).expect("shipped").text;
    let edit = |old: &str, new: &str, text: String| {
        assert_eq!(text.matches(old).count(), 1, "{old}");
        text.replace(old, new)
    };
    let ranges = "[controller.transmitters]\nPT-1 = [\"0 bar\", \"50 bar\"]\nPT-2 = [\"0 bar\", \"50 bar\"]\n\
                  PT-3 = [\"0 bar\", \"50 bar\"]\nPT-5 = [\"0 bar\", \"50 bar\"]\nPT-4 = [\"0 Pa\", \"20 kPa\"]\n\
                  TT-1 = [\"-50 degC\", \"200 degC\"]\nAT-2 = [\"0 %\", \"50 %\"]\nIT-1 = [\"0 A\", \"40 A\"]\n\
                  ST-1 = [\"0 rpm\", \"4000 rpm\"]\nET-1 = [\"0 V\", \"60 V\"]\n";
    let wide = edit("[controller]", "WIDE", shipped.clone()).replace("WIDE", &format!("{ranges}\n[controller]"));
    let small = edit("volume = \"12.5 L\"", "volume = \"9 L\"", edit("rated = \"10 kg\"\n", "", shipped));
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in [("wide.toml", wide), ("small.toml", small)] {
        let path = folder.path().join(name).display().to_string();
        std::fs::write(&path, text).expect("written");
        for seed in 1..=4 {
            let scenario = Scenario { seed, ..on(&path, &shipped::source(shipped::DEMO).expect("shipped")) };
            let result = run(&scenario).result;
            assert_eq!(result.exit_code(), 0, "{name}, seed {seed}: {:?}", result.expectations);
        }
    }
}

/// IT-1 carries the current of both stages, TT-2 feels the gas of the second, WT-1 weighs the condenser with the vessel, and the plant's
/// account of the station counts what lies between.
#[test]
fn what_the_instruments_touch_follows_the_names_of_the_file() {
    let scenario = on(YARD, &shipped::source("yard_coach").expect("shipped"));
    let mut job =
        Simulation::new(&scenario, &RunOptions { no_samples: true, ..RunOptions::default() }).expect("starts");
    job.run_until(600.0).expect("runs");
    assert_eq!(job.phase().map(|phase| phase.name()), Some("recover"));
    let value = |name: &str| job.signal(name).unwrap_or_else(|| panic!("no signal {name}"));
    let near = |seen: f64, is: f64| (seen - is).abs() < 1e-3 * is.abs();
    let (first, second) = (value("C-1.current"), value("C-1/second.current"));
    assert!(first > 1.0 && second > 0.8, "{first} A, {second} A");
    let truth = job.truth();
    assert!(near(truth.c1_current_a, first + second), "{} A of {first} A and {second} A", truth.c1_current_a);
    assert!(near(truth.t_discharge, value("C-1/second.t_out")), "{} K", truth.t_discharge);
    assert!(near(truth.m_vessel_kg, value("vessel.weight") + value("condenser.weight")), "{} kg", truth.m_vessel_kg);
    assert!(near(truth.separator_level, value("separator.m_liq") + value("separator.m_oil")), "1 L of separator");
    assert!(value("interstage.p") > value("separator.p"), "the first stage compresses");
}
