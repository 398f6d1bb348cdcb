//! Expectations: each holds at its limit, fails just beyond it, and says by how much.

use valvewright_sim::report::data::{ExpectationResult, InterlockRecord, Outcome, RunResult, Verdict};
use valvewright_sim::scenario::expect::Expect;
use valvewright_sim::scenario::judge::judge_job;
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn scenario(expect: Expect) -> Scenario {
    let mut scenario = parse::read(&shipped::source(shipped::DEMO).expect("shipped")).expect("reads");
    scenario.expect = expect;
    scenario
}

fn judge(scenario: &Scenario, result: &RunResult) -> Vec<ExpectationResult> {
    judge_job(&scenario.expect, scenario.vehicle.content, &crate::report_sample::job(result))
}

fn last(list: Vec<ExpectationResult>) -> ExpectationResult {
    list.into_iter().last().expect("the verdict at least is judged")
}

#[test]
fn the_verdict_is_always_judged() {
    let mut result = crate::report_sample::result();
    let wanted = scenario(Expect { verdict: Verdict::Refused, ..Expect::default() });
    assert!(!last(judge(&wanted, &result)).held);
    result.verdict = Verdict::Refused;
    assert!(last(judge(&wanted, &result)).held);
}

/// The invented result shows 441.2 g of 438.9 g recovered, and 476.7 g charged of 480 g.
#[test]
fn masses_hold_at_the_limit_and_fail_beyond() {
    let mut result = crate::report_sample::result();
    for (limit, held) in [(0.0024, true), (0.0022, false)] {
        let one = last(judge(&scenario(Expect { recovered_within: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
        assert!(one.detail.contains("+2.3 g"), "{one:?}");
    }
    for (limit, held) in [(0.0034, true), (0.0032, false)] {
        let one = last(judge(&scenario(Expect { charged_within: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
        assert!(one.detail.contains("-3.3 g"), "{one:?}");
    }
    // 438.9 g of 445 g are 98.63 %.
    for (limit, held) in [(0.986, true), (0.987, false)] {
        let one = last(judge(&scenario(Expect { recovered_share: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
    }
    result.charged_g.target = None;
    assert!(!last(judge(&scenario(Expect { charged_within: Some(1.0), ..Expect::default() }), &result)).held);
    result.charged_g.target = Some(480.0);
    result.charged_g.truth = f64::NAN;
    assert!(!last(judge(&scenario(Expect { charged_within: Some(1.0), ..Expect::default() }), &result)).held);
}

/// 2.3 g off, against a limit of 2 g and of 3 g.
#[test]
fn a_missed_limit_is_told_as_beyond_and_a_held_one_as_inside() {
    let result = crate::report_sample::result();
    let found = |limit: f64| {
        let expect =
            Expect { recovered_within: Some(limit * 1e-3), charged_within: Some(limit * 1e-3), ..Expect::default() };
        judge(&scenario(expect), &result).into_iter().skip(1).map(|one| one.detail.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(
        found(2.0),
        [
            "shown +2.3 g against truth, 0.3 g beyond the limit",
            "true charge -3.3 g against target, 1.3 g beyond the limit"
        ]
    );
    assert_eq!(found(3.0)[0], "shown +2.3 g against truth, 0.7 g inside the limit");
}

#[test]
fn phases_times_leaks_and_trips_are_judged() {
    let mut result = crate::report_sample::result();
    let phase = |outcome| Expect { phases: vec![("evacuate".to_owned(), outcome)], ..Expect::default() };
    assert!(last(judge(&scenario(phase(Outcome::Pass)), &result)).held);
    assert!(!last(judge(&scenario(phase(Outcome::Failed)), &result)).held);
    let absent = Expect { phases: vec![("purge".to_owned(), Outcome::Pass)], ..Expect::default() };
    assert!(!last(judge(&scenario(absent), &result)).held);
    // Recovery takes 750 s, the job 2700 s.
    for (limit, held) in [(750.0, true), (749.0, false)] {
        assert_eq!(
            last(judge(&scenario(Expect { recovery_time: Some(limit), ..Expect::default() }), &result)).held,
            held
        );
    }
    // A recovery that failed or never ended is no quick one.
    let quick = scenario(Expect { recovery_time: Some(1e6), ..Expect::default() });
    let mut other = result.clone();
    other.phases.retain(|phase| phase.name != "recover");
    assert!(!last(judge(&quick, &other)).held);
    other = result.clone();
    other.phases.iter_mut().filter(|phase| phase.name == "recover").for_each(|phase| phase.outcome = Outcome::Failed);
    assert!(!last(judge(&quick, &other)).held);
    for (limit, held) in [(2700.0, true), (2699.0, false)] {
        assert_eq!(last(judge(&scenario(Expect { job_time: Some(limit), ..Expect::default() }), &result)).held, held);
    }
    assert!(!last(judge(&scenario(Expect { leak: Some("moisture".to_owned()), ..Expect::default() }), &result)).held);
    let trips =
        |ids: &[&str]| Expect { trips: Some(ids.iter().map(|id| (*id).to_owned()).collect()), ..Expect::default() };
    assert!(!last(judge(&scenario(trips(&[])), &result)).held);
    assert!(last(judge(&scenario(trips(&["I10"])), &result)).held);
    let again = InterlockRecord { t_s: 500.0, ..result.interlocks[0].clone() };
    result.interlocks.push(again);
    assert!(last(judge(&scenario(trips(&["I10"])), &result)).held, "a row that trips twice is one row");
    result.interlocks.clear();
    assert!(last(judge(&scenario(trips(&[])), &result)).held);
}

/// 0.8 g went into the air, the vessel was 41 % full.
#[test]
fn harm_is_judged_by_the_plant() {
    let mut result = crate::report_sample::result();
    for (limit, held) in [(0.9e-3, true), (0.7e-3, false)] {
        let one = last(judge(&scenario(Expect { escaped_most: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
        assert!(one.detail.contains("0.8 g"), "{one:?}");
    }
    for (limit, held) in [(0.42, true), (0.40, false)] {
        let one = last(judge(&scenario(Expect { vessel_level_most: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
        assert!(one.detail.contains("41.0 %"), "{one:?}");
    }
    for (limit, held) in [(6.03, true), (6.01, false)] {
        let one = last(judge(&scenario(Expect { vessel_most: Some(limit), ..Expect::default() }), &result));
        assert_eq!(one.held, held, "{one:?}");
        assert!(one.detail.contains("6020.0 g"), "{one:?}");
    }
    // What a controller does not say cannot be right.
    result.recovered_g.shown = None;
    let one = last(judge(&scenario(Expect { recovered_within: Some(1.0), ..Expect::default() }), &result));
    assert!(!one.held && one.detail.contains("does not say"), "{one:?}");
}
