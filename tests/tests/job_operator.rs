//! The operator in the middle of a job: stop, door, pause, abort, couplers, answers. Each test is one simulated run.

use valvewright_core::drive::LINE_LAG;
use valvewright_core::frame::{Actuator, Actuators};
use valvewright_core::talk::Command;
use valvewright_sim::report::data::{Outcome, Verdict};
use valvewright_tests::job_runs::Run;

const CAR: &str = "mild_hatchback";
/// Every phase that runs in that job; the vessel has not rested, so no purge.
const PHASES: [&str; 9] =
    ["identify", "recover", "drain_oil", "evacuate", "leak_check", "inject_oil", "charge", "verify", "clear_hoses"];

/// A planned act some seconds after the begin of a phase.
fn act(act: &str, phase: &str, after: u32) -> String {
    format!("\n[[operator.act]]\ndo = \"{act}\"\nphase = \"{phase}\"\nafter = \"{after} s\"\n")
}

fn run(acts: &[String]) -> Run {
    Run::new(CAR, &[], &acts.concat(), None)
}

/// The job came to its end with its masses inside 40 CFR 82 Subpart B App. C 7.1.3 (30 g) and 9.1 (15 g).
fn held(run: &Run) {
    let r = run.result();
    assert_eq!(r.verdict, Verdict::Pass, "{}", run.replay());
    let (back, given) = (r.recovered_g, r.charged_g);
    assert!(back.off().abs() <= 30.0, "{back:?}\n{}", run.replay());
    assert!(given.off().abs() <= 15.0, "{given:?}\n{}", run.replay());
    assert!((given.truth - 480.0).abs() <= 15.0, "{given:?}\n{}", run.replay());
}

/// Everything but the fan is off `within` ms of the scan in which `command` came, and stays off for `quiet` ms.
fn dark_after(run: &Run, command: &Command, valves_within: u32, within: u32, quiet: u32) {
    let (mut at, mut last, mut fed) = (None, Actuators::NONE, None);
    run.refeed(|ms, frame, out, _| {
        if out.on.has(Actuator::Xv5) {
            fed = Some(ms);
        }
        if at.is_none() && frame.command.as_ref() == Some(command) {
            at = Some(ms);
            assert!(!last.is_empty() || ms > 0);
        }
        last = out.on;
        let Some(spent) = at.map(|at| ms - at).filter(|spent| *spent <= quiet) else { return };
        let rest = out.on.without(Actuators::SAFE);
        // XV-4 outlasts C-1 by design, so that the compressor never runs against a shut valve.
        let valves = rest.and(Actuators::VALVES).without(Actuators::of(&[Actuator::Xv4]));
        // XV-1 and XV-2 outlast XV-5, so that no liquid is locked in.
        let led = fed.is_some_and(|fed| ms - fed <= LINE_LAG.0 + 150);
        let valves = if led { valves.without(Actuators::of(&[Actuator::Xv1, Actuator::Xv2])) } else { valves };
        assert!(
            spent < valves_within || valves.is_empty(),
            "{valves:?} on {spent} ms after {command:?}\n{}",
            run.replay()
        );
        assert!(spent < within || rest.is_empty(), "{rest:?} on {spent} ms after {command:?}\n{}", run.replay());
    });
    assert!(at.is_some(), "{command:?} was never given\n{}", run.replay());
}

/// Shows HS-1.
#[test]
fn emergency_stop_in_recovery_then_reset_and_resume() {
    let run = run(&[
        act("emergency_stop", "recover", 160),
        act("reset", "recover", 170),
        act("release_stop", "recover", 180),
        act("resume", "recover", 182),
        act("reset", "recover", 185),
        act("resume", "recover", 190),
    ]);
    held(&run);
    let (begin, _) = run.span("recover");
    let mut stopped = false;
    run.refeed(|ms, _, out, station| {
        let t = f64::from(ms) * 1e-3 - begin;
        // Contacts are judged by a majority of three scans: dark in the second.
        if (160.15..185.0).contains(&t) {
            stopped = true;
            assert_eq!(out.on, Actuators::SAFE, "at {t:.2} s of recovery\n{}", run.replay());
        }
        if (181.0..184.9).contains(&t) {
            assert!(!station.interlocks().latched().is_empty(), "the latch outlives the button\n{}", run.replay());
        }
        // C-1 ran until the stop; its restart delay is three minutes (I13), kept over resets.
        if (160.15..339.9).contains(&t) {
            assert!(!out.on.has(Actuator::C1), "C-1 at {t:.2} s of recovery\n{}", run.replay());
        }
    });
    assert!(stopped, "the stop came in the phase\n{}", run.replay());
    let trips: Vec<_> = run.result().interlocks.iter().map(|r| r.id.as_str()).collect();
    assert_eq!(trips, ["HS-1"], "{}", run.replay());
    // Reset with the button still in, and resume with the latch still on.
    assert_eq!(run.told("refused"), 2, "{}", run.replay());
}

/// Shows I28, F114, H22.
#[test]
fn open_door_stops_everything_until_shut_reset_and_resumed() {
    let run = run(&[
        act("open_door", "evacuate", 100),
        act("shut_door", "evacuate", 130),
        act("reset", "evacuate", 135),
        act("resume", "evacuate", 140),
    ]);
    held(&run);
    let (begin, _) = run.span("evacuate");
    let mut seen = 0;
    run.refeed(|ms, _, out, _| {
        if (100.15..135.0).contains(&(f64::from(ms) * 1e-3 - begin)) {
            seen += 1;
            assert_eq!(out.on, Actuators::SAFE, "{}", run.replay());
        }
    });
    assert!(seen > 600);
    assert_eq!(run.result().interlocks.iter().filter(|r| r.id == "I28").count(), 1, "{}", run.replay());
}

#[test]
fn paused_once_in_every_phase_the_job_still_holds() {
    let acts: Vec<_> = PHASES.iter().flat_map(|p| [act("pause", p, 12), act("resume", p, 60)]).collect();
    let run = run(&acts);
    held(&run);
    assert_eq!((run.told("paused"), run.told("resumed")), (PHASES.len(), PHASES.len()), "{}", run.replay());
}

#[test]
fn a_pause_in_the_middle_of_fill_or_hold_costs_no_gram() {
    for phase in ["recover", "charge"] {
        for after in [35, 90] {
            let run = run(&[act("pause", phase, after), act("resume", phase, after + 200)]);
            held(&run);
            assert_eq!(run.told("paused"), 1, "{}", run.replay());
        }
    }
}

#[test]
fn paused_outputs_are_dark() {
    let run = run(&[act("pause", "recover", 100), act("resume", "recover", 400)]);
    dark_after(&run, &Command::Pause, 100, 3_000, 290_000);
}

/// A rise that went on unwatched can't be judged by its shape: the hold begins anew, and a leak stays a leak.
#[test]
fn a_pause_in_the_leak_check_begins_the_hold_anew() {
    for after in [70, 200, 300] {
        let acts = [act("pause", "leak_check", after), act("resume", "leak_check", after + 300)];
        let run = Run::new("small_leak", &[], &acts.concat(), None);
        assert_eq!(run.result().leak.verdict, "leak", "{}", run.replay());
        let whole = run.result().phases.iter().find(|p| p.name == "leak_check").map_or(0.0, |p| p.seconds);
        assert!(whole > f64::from(after) + 300.0 + 360.0, "{whole} s are no hold begun anew\n{}", run.replay());
        assert_eq!(run.result().charged_g.shown, Some(0.0), "{}", run.replay());
    }
}

/// Shows F112, LC6.
#[test]
fn abort_in_any_phase_goes_dark_and_keeps_the_ledger() {
    for phase in PHASES {
        // The injection is over within half a minute; C-1 waits for its rest before it draws.
        let run = run(&[act(
            "abort",
            phase,
            match phase {
                "inject_oil" => 8,
                "recover" => 130,
                _ => 40,
            },
        )]);
        let r = run.result();
        assert_eq!(r.verdict, Verdict::Aborted, "{phase}\n{}", run.replay());
        // After a charge was begun the hoses are still cleared.
        let clears = matches!(phase, "charge" | "verify");
        let ends: Vec<_> = r.phases.iter().map(|p| (p.name.as_str(), p.outcome)).collect();
        let expected = [(phase, Outcome::Aborted), ("clear_hoses", Outcome::Pass)];
        assert!(ends.ends_with(if clears { &expected } else { &expected[..1] }), "{ends:?}\n{}", run.replay());
        dark_after(&run, &Command::Abort, 100, 3_000, 5_000);
        let back = r.recovered_g;
        if phase != "identify" {
            assert!(back.truth > 1.0 && back.off().abs() <= 30.0, "{phase}: {back:?}\n{}", run.replay());
        }
    }
}

#[test]
fn couplers_off_in_recovery_end_the_identity() {
    let run = run(&[act("uncouple", "recover", 160), act("couple", "recover", 190)]);
    let r = run.result();
    // The charge is refused for want of a leak check, and that is the verdict of the job.
    assert_eq!(r.verdict, Verdict::Refused, "{}", run.replay());
    let recover = r.phases.iter().find(|p| p.name == "recover").map(|p| p.outcome);
    assert_eq!(recover, Some(Outcome::Failed), "{}", run.replay());
    let (begin, end) = run.span("recover");
    assert!(end < begin + 160.5, "recovery went on until {end} s without couplers\n{}", run.replay());
    let taking = Actuators::of(&[Actuator::C1, Actuator::Xv3, Actuator::Xv4]);
    run.refeed(|ms, _, out, _| {
        if f64::from(ms) * 1e-3 > begin + 160.2 {
            assert!(out.on.and(taking).is_empty(), "{:?} at {ms} ms without an identity\n{}", out.on, run.replay());
        }
    });
}

#[test]
fn a_declined_draw_in_still_gives_an_honest_charge() {
    let decline = "\n[[operator.act]]\ndo = \"decline\"\nnotice = \"ask_draw_in\"\nafter = \"5 s\"\n";
    let run = Run::new(CAR, &[], decline, None);
    let c = run.result().charged_g;
    assert_eq!((run.told("drawn_in"), run.told("ask_shut_couplers")), (0, 1), "{}", run.replay());
    assert_eq!(run.result().verdict, Verdict::Pass, "{}", run.replay());
    assert!(c.off().abs() <= 15.0, "{c:?}\n{}", run.replay());
}

#[test]
fn answers_resets_and_resumes_out_of_place_are_refused() {
    let at = |what: &str, t: u32| format!("\n[[operator.act]]\ndo = \"{what}\"\nat = \"{t} s\"\n");
    let run = run(&[at("confirm", 20), at("resume", 22), at("reset", 24), at("decline", 200)]);
    held(&run);
    let refused: Vec<_> =
        run.result().notices.iter().filter(|n| n.id == "refused").map(|n| n.text.to_string()).collect();
    let (question, paused, latched) = ("no question is open", "nothing is paused", "nothing is latched");
    let expected = [question, paused, latched, question];
    assert_eq!(refused.len(), 4, "{}", run.replay());
    for (text, part) in refused.iter().zip(expected) {
        assert!(text.contains(part), "{text}\n{}", run.replay());
    }
}
