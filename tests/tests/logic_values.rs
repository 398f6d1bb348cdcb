//! Temporal logic: values are those of rtamt and of the bare definition, a monitor that sees scan after scan finds the same, and its early
//! verdicts stand.

use serde_json::Value;
use valvewright_sim::logic::degree::Degree;
use valvewright_sim::logic::formula::{Formula, Span};
use valvewright_sim::logic::monitor::{Finding, Monitor};
use valvewright_sim::logic::stream::values;
use valvewright_tests::random_formulas::{Pair, pair};

const RECORDED: &str = include_str!("../data/temporal/rtamt.jsonl");

/// Seeds of the pairs that are drawn here.
const SEEDS: u64 = 3_000;

fn again(seed: u64) -> String {
    format!("again: cargo run -p valvewright-tests --example temporal -- 1 {seed}")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().expect("a number or inf").parse().expect("inf"))
}

#[test]
fn values_are_those_that_rtamt_gave() {
    let mut samples = 0;
    for line in RECORDED.lines().filter(|line| !line.starts_with('#')) {
        let one: Value = serde_json::from_str(line).expect("a pair");
        let seed = one["seed"].as_u64().expect("a seed");
        let pair = pair(seed);
        assert_eq!(
            pair.rtamt(),
            one["formula"],
            "the pairs are drawn otherwise than when they were recorded; {}",
            again(seed)
        );
        let ours = values(&pair.formula, 1.0, &pair.margins()).expect("whole scans");
        let theirs: Vec<f64> = one["rtamt"].as_array().expect("values").iter().map(number).collect();
        assert_eq!(ours.len(), theirs.len(), "{}", again(seed));
        for (at, (a, b)) in ours.iter().zip(&theirs).enumerate() {
            assert!(a == b || (a - b).abs() <= 1e-9, "sample {at}: {a} against {b}; {}", again(seed));
            samples += 1;
        }
    }
    assert!(samples > 3_000, "{samples} samples");
}

#[test]
fn values_are_those_of_the_bare_definition() {
    for seed in 0..SEEDS {
        let pair = pair(seed);
        let ours = values(&pair.formula, 1.0, &pair.margins()).expect("whole scans");
        assert_eq!(ours, pair.plainly(), "{}: {}", again(seed), pair.rtamt());
    }
}

fn monitor(pair: &Pair) -> Monitor {
    Monitor::new(&pair.formula, 1.0).expect("whole scans")
}

#[test]
fn a_monitor_finds_the_value_of_the_first_scan() {
    for seed in 0..SEEDS {
        let (pair, mut monitor) = {
            let pair = pair(seed);
            let monitor = monitor(&pair);
            (pair, monitor)
        };
        for scan in pair.margins() {
            monitor.scan(&scan);
        }
        let found = monitor.finish();
        assert_eq!(found.value.degree.get(), pair.plainly()[0], "{}: {}", again(seed), pair.rtamt());
        assert!(
            found.range.0 <= found.value.degree && found.value.degree <= found.range.1,
            "{}: {found:?}",
            again(seed)
        );
        // The value is that of one comparison in one scan, or its contrary, or without measure.
        if found.value.degree.get().is_finite() {
            let margin = pair.margins()[found.value.at as usize][found.value.atom as usize];
            assert_eq!(margin.abs(), found.value.degree.get().abs(), "{}: {found:?}", again(seed));
        }
    }
}

/// A verdict that is told early is the one at the end, and that of any other end; a copy goes on alike.
#[test]
fn an_early_verdict_stands_whatever_comes() {
    let mut early = [0, 0];
    for seed in 0..SEEDS {
        let one = pair(seed);
        let mut monitor = monitor(&one);
        let mut told = None;
        for (at, scan) in one.margins().iter().enumerate() {
            monitor.scan(scan);
            if told.is_none()
                && let Some(verdict) = monitor.verdict()
            {
                told = Some(verdict);
                for other in 0..5 {
                    let mut fork = monitor.clone();
                    for margin in other_end(&one, seed * 7 + other, at) {
                        fork.scan(&margin);
                    }
                    let end = fork.finish();
                    assert_eq!(end.value.degree.holds(), verdict, "{} after scan {at}: {}", again(seed), one.rtamt());
                }
            }
        }
        let end = monitor.finish();
        if let Some(verdict) = told {
            assert_eq!(end.value.degree.holds(), verdict, "{}: {}", again(seed), one.rtamt());
            early[usize::from(verdict)] += 1;
        }
    }
    assert!(early[0] > 300 && early[1] > 300, "{early:?} verdicts came early");
}

/// Margins that another trace has for the same atoms, for the rest of a run.
fn other_end(one: &Pair, seed: u64, from: usize) -> Vec<Vec<f64>> {
    let other = Pair { formula: one.formula.clone(), limits: one.limits.clone(), trace: pair(seed).trace };
    other.margins().into_iter().skip(from / 2).collect()
}

/// What a run could still have become covers what it does become.
#[test]
fn the_range_at_an_early_end_covers_every_longer_run() {
    for seed in 0..SEEDS {
        let one = pair(seed);
        if unbounded(&one.formula) {
            // What looks over all the run is over with it.
            continue;
        }
        let margins = one.margins();
        let mut monitor = monitor(&one);
        for scan in &margins[..margins.len() / 2] {
            monitor.scan(scan);
        }
        let cut = monitor.clone().finish();
        for scan in &margins[margins.len() / 2..] {
            monitor.scan(scan);
        }
        let whole = monitor.finish();
        let inside = cut.range.0 <= whole.value.degree && whole.value.degree <= cut.range.1;
        assert!(inside || !whole.known(), "{}: {cut:?} {whole:?} {}", again(seed), one.rtamt());
    }
}

fn unbounded(formula: &Formula) -> bool {
    let ahead = matches!(formula, Formula::Always(None, _) | Formula::Eventually(None, _) | Formula::Until(None, ..));
    ahead || formula.parts().into_iter().any(unbounded)
}

fn atom(at: usize) -> Box<Formula> {
    Box::new(Formula::Atom(at))
}

fn run(formula: &Formula, scans: &[&[f64]]) -> Finding {
    let mut monitor = Monitor::new(formula, 0.05).expect("whole scans");
    scans.iter().for_each(|scan| monitor.scan(scan));
    monitor.finish()
}

#[test]
fn at_the_limit_itself_the_sign_of_zero_decides() {
    let always = Formula::Always(None, atom(0));
    let never = Formula::Always(None, Box::new(Formula::Not(atom(0))));
    for (zero, holds) in [(0.0, true), (-0.0, false)] {
        assert_eq!(run(&always, &[&[1.0], &[zero], &[2.0]]).value.degree.holds(), holds, "{zero:?}");
        assert_eq!(run(&never, &[&[-1.0], &[zero]]).value.degree.holds(), !holds, "{zero:?}");
        assert_eq!(run(&always, &[&[1.0], &[zero]]).value.degree.get().to_bits(), 0, "zero is told as zero");
    }
}

/// A signal that is no number never makes a formula hold, on whichever side it stands.
#[test]
fn a_signal_that_is_no_number_counts_against_the_formula() {
    let held = Formula::Always(None, atom(0));
    let never = Formula::Always(None, Box::new(Formula::Not(atom(0))));
    let implied = Formula::Always(None, Box::new(Formula::Implies(atom(0), atom(1))));
    for (formula, scans) in [
        (&held, [&[1.0, 1.0], &[f64::NAN, 1.0]]),
        (&never, [&[-1.0, 1.0], &[-f64::NAN, 1.0]]),
        (&implied, [&[-1.0, -1.0], &[f64::NAN, -1.0]]),
    ] {
        let found = run(formula, &[scans[0], scans[1]]);
        assert!(!found.value.degree.holds(), "{found:?}");
        assert_eq!(found.unknown, Some((1, 0)));
    }
}

fn span(from: f64, to: f64) -> Option<Span> {
    Some(Span { from, to })
}

#[test]
fn a_run_shorter_than_its_window_is_known_not_to_be_known() {
    let soon = Formula::Eventually(span(0.0, 10.0), atom(0));
    let long = Formula::Always(span(0.0, 10.0), atom(0));
    let (no, yes): (&[f64], &[f64]) = (&[-1.0], &[1.0]);
    let found = run(&soon, &[no, no]);
    assert!(!found.value.degree.holds() && !found.known(), "{found:?}");
    let found = run(&long, &[yes, yes]);
    assert!(found.value.degree.holds() && !found.known(), "{found:?}");
    assert!(run(&soon, &[no, yes]).known() && run(&long, &[yes, no]).known());
    // A window that begins beyond the end is empty.
    let later = Formula::Always(span(60.0, 70.0), atom(0));
    assert_eq!(run(&later, &[no]).value.degree, Degree::MOST);
    assert!(!run(&later, &[no]).known());
}

#[test]
fn a_span_between_two_scans_is_refused_and_one_of_no_length_is_now() {
    let between = Formula::Eventually(span(0.06, 0.09), atom(0));
    assert!(Monitor::new(&between, 0.05).is_err());
    let now = Formula::Eventually(span(0.0, 0.0), atom(0));
    assert!(run(&now, &[&[1.0], &[-1.0]]).value.degree.holds());
    assert!(!run(&now, &[&[-1.0], &[1.0]]).value.degree.holds());
}

/// 0.3 s are six scans of 50 ms, though 0.3 / 0.05 is a little less than six in floats.
#[test]
fn a_span_reaches_the_scan_that_it_names() {
    let soon = Formula::Eventually(span(0.0, 0.3), atom(0));
    let no: &[f64] = &[-1.0];
    assert!(run(&soon, &[no, no, no, no, no, no, &[1.0]]).value.degree.holds());
    assert!(!run(&soon, &[no, no, no, no, no, no, no, &[1.0]]).value.degree.holds());
}

#[test]
fn what_is_true_or_false_for_long_takes_no_room() {
    let inner = Formula::Implies(atom(0), Box::new(Formula::Eventually(span(0.0, 1.0), atom(1))));
    let bounded = Formula::Always(None, Box::new(inner));
    let nested =
        Formula::Always(None, Box::new(Formula::Implies(atom(0), Box::new(Formula::Eventually(None, atom(1))))));
    // Twenty presses: what looks ahead without bound keeps each change of both its sides.
    for (formula, most) in [(&bounded, 10), (&nested, 82)] {
        let mut monitor = Monitor::new(formula, 0.05).expect("whole scans");
        for scan in 0..100_000 {
            let pressed = if scan % 5_000 == 0 { f64::INFINITY } else { f64::NEG_INFINITY };
            monitor.scan(&[pressed, -pressed]);
        }
        assert!(monitor.room() <= most, "{} samples are kept", monitor.room());
    }
    // Of figures a window keeps no more than it looks over.
    let window = Formula::Always(None, Box::new(Formula::Eventually(span(0.0, 2.0), atom(0))));
    let mut monitor = Monitor::new(&window, 0.05).expect("whole scans");
    for scan in 0..100_000 {
        monitor.scan(&[-f64::from(scan)]);
        assert!(monitor.room() <= 42, "{} samples are kept", monitor.room());
    }
}
