//! Vehicles with one coupler: the job is done through it, whichever it is.

use valvewright_sim::report::data::Verdict;
use valvewright_tests::job_runs::Run;

/// The gas is drawn from the side that is there, so that it can be identified, recovered and given back.
#[test]
fn a_job_through_the_high_side_alone_is_done() {
    let as_written = [
        ("mild_hatchback", "sides = \"both\"", ""),
        ("cold_morning", "[order]", "[order]\n"),
        ("city_bus", "[order]", "[order]\n"),
    ];
    for (name, there, before) in as_written {
        for side in ["low", "high"] {
            let order = format!("{before}sides = \"{side}\"");
            let run = Run::new(name, &[(there, &order)], "", None);
            let r = run.result();
            assert_eq!(r.verdict, Verdict::Pass, "{side}\n{}", run.replay());
            assert!(r.recovered_g.off().abs() <= 30.0 && r.charged_g.off().abs() <= 15.0, "{side}\n{}", run.replay());
        }
    }
}
