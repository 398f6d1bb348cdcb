//! Every shipped scenario as a whole job: what it must come to, within the figures of 40 CFR 82 Subpart B App. C and D.

use valvewright_core::drive::FORBIDDEN;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_sim::report::data::{JobResult, Outcome, Verdict};
use valvewright_sim::run::words;
use valvewright_sim::scenario::Scenario;
use valvewright_tests::job_runs::Run;

/// Every job of every shipped scenario, with its run.
fn jobs() -> impl Iterator<Item = (&'static Run, &'static JobResult)> {
    Run::all_shipped().flat_map(|run| run.result().jobs.iter().map(move |job| (run, job)))
}

#[test]
fn every_expectation_of_every_file_holds() {
    for run in Run::all_shipped() {
        let result = run.result();
        for (job, wanted) in result.jobs.iter().zip(run.scenario.jobs()) {
            assert_eq!(job.verdict, wanted.expect.verdict, "{}", run.replay());
        }
        assert_eq!(result.jobs.len(), run.scenario.jobs().count(), "{}", run.replay());
        assert!(!result.expectations.is_empty(), "{} expects nothing", result.scenario);
        for one in &result.expectations {
            assert!(one.held, "{}: {}\n{}", one.name, one.detail, run.replay());
        }
    }
}

/// 40 CFR 82 Subpart B App. C 7.1.3: recovered mass shown within 30 g. The holed circuit is judged by its own test below:
/// what leaves it through the hole leaves the vehicle too, and no scale sees that.
#[test]
fn recovered_mass_is_shown_within_30_g() {
    for (run, job) in jobs() {
        if job.phases.iter().all(|phase| phase.name != "recover" || phase.outcome == Outcome::Refused) {
            continue;
        }
        let r = job.recovered_g;
        assert!(r.truth > 0.0, "nothing was recovered\n{}", run.replay());
        assert!(r.off().abs() <= 30.0, "{r:?}\n{}", run.replay());
    }
}

/// A recovery that is given up leaves what it took in the ledger (LC6: every gram is somewhere).
/// Shows LC6.
#[test]
fn a_recovery_given_up_books_what_came_in() {
    let run = Run::shipped("large_leak");
    let recover = run.result().phases.iter().find(|p| p.name == "recover").expect("recovery ran");
    assert_eq!(recover.outcome, Outcome::Failed, "{}", run.replay());
    let (begin, end) = run.span("recover");
    let gained = run.channel_at("wt1", end) - run.channel_at("wt1", begin);
    let shown = run.result().recovered_g.shown.expect("the core says it");
    let truth = run.result().recovered_g.truth;
    assert!(gained > 30.0 && shown < gained, "{shown} g shown, {gained} g gained\n{}", run.replay());
    // Some of what the scale gained is air; it is found before it is enough to be told apart.
    assert!(
        (shown - truth).abs() <= 10.0 && (3.0..15.0).contains(&(gained - truth)),
        "{shown} g shown, {truth} g true\n{}",
        run.replay()
    );
}

/// 40 CFR 82 Subpart B App. C 9.1: delivered and indicated charge within 15 g. Worked example 500 g: 485 to 515 g pass.
/// Shows H06.
#[test]
fn charge_is_within_15_g_of_target_and_of_truth() {
    let mut charged = 0;
    for (run, job) in
        jobs().filter(|(_, job)| job.phases.iter().any(|p| p.name == "charge" && p.outcome == Outcome::Pass))
    {
        let c = job.charged_g;
        let target = c.target.expect("a charging order has a target");
        assert!((c.truth - target).abs() <= 15.0, "{c:?}\n{}", run.replay());
        assert!(c.off().abs() <= 15.0, "{c:?}\n{}", run.replay());
        charged += 1;
    }
    assert_eq!(charged, 21, "twenty-one of the shipped jobs end charged");
}

/// 40 CFR 82 Subpart B App. C 7.6: recovered oil measured within 20 mL.
#[test]
fn drained_oil_is_shown_within_20_ml() {
    for run in Run::all_shipped().filter(|run| run.told("oil_drained") > 0) {
        let r = run.result();
        assert!(
            r.oil_drained_ml.is_some_and(|shown| (shown - r.oil_drained_ml_true).abs() <= 20.0),
            "{} {}\n{}",
            r.oil_drained_ml.unwrap_or(f64::NAN),
            r.oil_drained_ml_true,
            run.replay()
        );
    }
}

/// Shows LS1.
#[test]
fn refrigerant_and_energy_are_conserved() {
    for run in Run::all_shipped() {
        let r = run.result();
        assert!(r.mass_balance_rel <= 1e-9, "mass {:e}\n{}", r.mass_balance_rel, run.replay());
        assert!(r.energy_balance_error_rel <= 1e-6, "energy {:e}\n{}", r.energy_balance_error_rel, run.replay());
    }
}

/// Shows LS4.
#[test]
fn same_seed_same_bytes_and_another_seed_others() {
    for run in Run::all_shipped() {
        let name = &run.result().scenario;
        let again = Run::new(name, &[], "", None);
        assert_eq!(again.result().trace_hash, run.result().trace_hash, "{}", run.replay());
        assert_eq!(again.result().ticks, run.result().ticks);
        assert_eq!(again.outcome.tape.frames, run.outcome.tape.frames, "{}", run.replay());
    }
    let run = Run::shipped("mild_hatchback");
    let other = Run::new("mild_hatchback", &[], "", Some(99));
    assert_ne!(other.result().trace_hash, run.result().trace_hash);
    assert_eq!(other.result().verdict, Verdict::Pass, "{}", other.replay());
}

/// Whatever became of a vehicle that leaks or is wet, nothing is charged into it.
/// Shows I14, F124, F126, H10.
#[test]
fn leaking_and_wet_circuits_are_not_charged() {
    let charge = Actuators::of(&[Actuator::Xv5, Actuator::Xv10]);
    for name in ["large_leak", "small_leak", "forgotten_seal", "wet_circuit", "very_wet"] {
        let run = Run::shipped(name);
        let r = run.result();
        assert_eq!(r.verdict, Verdict::Refused, "{}", run.replay());
        let refusal = r.phases.iter().find(|p| p.name == "charge").expect("the refused charge is on record");
        assert_eq!(refusal.outcome, Outcome::Refused, "{}", run.replay());
        let (station, _) = run.refeed(|ms, _, out, _| {
            assert!(out.on.and(charge).is_empty(), "charge valve on at {ms} ms\n{}", run.replay())
        });
        assert!(!station.job().ledger.charge_begun);
        assert_eq!(r.charged_g.shown, Some(0.0));
        assert!(r.charged_g.truth.abs() < 1e-9, "{:?}", r.charged_g);
    }
}

/// Choked flow of air through the scenario's hole, Q = Cd A p sqrt(k) (2/(k+1))^((k+1)/(2(k-1))) sqrt(R T), with the Cd of 0.8
/// that the shipped network gives its leak and k = 1.4 of air, Pa m3/s.
fn air_inflow(scenario: &Scenario) -> f64 {
    let (k, area) = (1.4f64, std::f64::consts::FRAC_PI_4 * scenario.vehicle.leak.powi(2));
    let choked = k.sqrt() * (2.0 / (k + 1.0)).powf((k + 1.0) / (2.0 * (k - 1.0)));
    0.8 * area * scenario.site.barometer * choked * (287.05 * scenario.site.ambient).sqrt()
}

/// 2 % for gauge class and hose temperatures. The coarser one leaves the gauge's span within the hold: its rise is taken from the
/// first reading, which stands below the circuit while the pump has only just been shut off, so that it reads up to an eighth high.
#[test]
fn leaks_are_called_leaks_with_their_size() {
    for (name, off) in [("small_leak", 0.02), ("forgotten_seal", 0.125)] {
        let run = Run::shipped(name);
        let leak = &run.result().leak;
        assert_eq!(leak.verdict, "leak", "{}", run.replay());
        let expected = air_inflow(&run.scenario);
        let seen = leak.pa_m3_per_s.expect("a checked circuit has a throughput");
        assert!((seen / expected - 1.0).abs() < off, "{name}: {seen:e} against {expected:e} Pa m3/s\n{}", run.replay());
    }
}

#[test]
fn wet_circuits_are_never_called_a_leak() {
    for name in ["wet_circuit", "very_wet"] {
        let run = Run::shipped(name);
        assert_eq!(run.result().leak.verdict, "moisture", "{}", run.replay());
        let verdicts: Vec<_> = run.result().notices.iter().filter(|n| n.id == "leak").collect();
        assert_eq!(verdicts.len(), 3, "checked, and dried twice more\n{}", run.replay());
        assert!(verdicts.iter().all(|n| n.text.contains("flattens")), "{}", run.replay());
        assert_eq!(run.told("drying_again"), 2, "{}", run.replay());
    }
}

/// 6 um let in what the hold can't tell from rest; the pass says below what, and that is above what comes in: choked flow of
/// air through a thin hole, as for the small leak below the limit of 2e-3 Pa m3/s.
#[test]
fn a_fine_leak_passes_as_below_a_figure_that_holds() {
    let run = Run::shipped("fine_leak");
    let leak = &run.result().leak;
    assert_eq!(leak.verdict, "pass", "{}", run.replay());
    let inflow = air_inflow(&run.scenario);
    let below = leak.below_pa_m3_per_s.expect("a pass says below what");
    assert!((inflow..2e-3).contains(&below), "{below:e} for {inflow:e} Pa m3/s\n{}", run.replay());
}

/// What is in the way is told before anything is done: what there is room for, and what the label says.
#[test]
fn a_vessel_without_room_is_refused_with_both_figures_before_anything_moves() {
    let run = Run::shipped("vessel_nearly_full");
    let recover = run.result().phases.iter().find(|p| p.name == "recover").expect("the refusal is on record");
    assert_eq!(recover.outcome, Outcome::Refused, "{}", run.replay());
    // 10 kg less 9.7 kg; class of the scale, hose force and creep make a few gram.
    let said = |figure: &str| recover.detail.contains(figure);
    assert!((295..=305).any(|g| said(&format!("room for {g}."))) && said("650.0 g"), "{}", run.replay());
    run.refeed(|ms, _, out, _| {
        let moving = out.on.and(Actuators::of(&[Actuator::C1, Actuator::P1, Actuator::Xv3, Actuator::Xv6]));
        assert!(moving.is_empty(), "{moving:?} at {ms} ms\n{}", run.replay());
    });
}

/// The law of the drive and of the gate over each scan of each job.
/// Shows LC4.
#[test]
fn no_forbidden_pair_and_nothing_against_an_inhibit() {
    for run in Run::all_shipped() {
        run.refeed(|ms, _, out, station| {
            for (a, b, why) in FORBIDDEN {
                assert!(
                    !(out.on.has(*a) && out.on.has(*b)),
                    "{} with {} at {ms} ms: {why}\n{}",
                    a.tag(),
                    b.tag(),
                    run.replay()
                );
            }
            assert!(
                !out.on.has(Actuator::C1) || out.on.has(Actuator::Xv4),
                "C-1 on a shut XV-4 at {ms} ms\n{}",
                run.replay()
            );
            assert!(
                !out.on.has(Actuator::Xv6) || out.on.has(Actuator::P1),
                "XV-6 on a standing P-1 at {ms} ms\n{}",
                run.replay()
            );
            let inhibits = station.interlocks().inhibits();
            assert!(out.on.and(inhibits.off).is_empty(), "against an inhibit at {ms} ms\n{}", run.replay());
            assert_eq!(out.on.and(inhibits.force), inhibits.force, "not forced at {ms} ms\n{}", run.replay());
        });
    }
}

/// The kept frames are the whole input: outputs, notices and ledger come out again, and two replays end equal in every bit.
#[test]
fn replay_of_the_frames_gives_the_job_again() {
    for run in Run::all_shipped() {
        let (first, notices) = run.refeed(|ms, _, out, _| {
            assert_eq!(out.on, run.traced_on(f64::from(ms) * 1e-3), "outputs differ at {ms} ms\n{}", run.replay());
        });
        let told: Vec<_> = notices.iter().map(|(ms, n)| (f64::from(*ms) * 1e-3, words::notice(n))).collect();
        let kept: Vec<_> = run.result().notices.iter().map(|n| (n.t_s, (n.id.as_str(), n.text.clone()))).collect();
        assert_eq!(told, kept, "{}", run.replay());
        // The ledger of the core is that of its last order.
        let (ledger, last) = (first.job().ledger, run.result().jobs.last().expect("a job"));
        assert_eq!(Some(f64::from(ledger.recovered.0) * 1e-3), last.recovered_g.shown, "{}", run.replay());
        assert_eq!(Some(f64::from(ledger.charged().0) * 1e-3), last.charged_g.shown, "{}", run.replay());
        let (second, _) = run.refeed(|_, _, _, _| {});
        assert_eq!(first, second, "{}", run.replay());
    }
}
