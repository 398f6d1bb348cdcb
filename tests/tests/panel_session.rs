//! A run that is played by hand: what is saved of it replays to the same hash, going back leaves nothing behind, and what is refused
//! changes nothing.

use proptest::prelude::*;
use valvewright_sim::panel::{Session, Start};
use valvewright_sim::run::{RunOptions, Simulation, Stand};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::{parse, shipped};

fn session(by_hand: bool) -> Session {
    let source = shipped::source("mild_hatchback").expect("it is shipped");
    Session::new(Start::of(source, by_hand)).expect("it begins")
}

fn to(session: &mut Session, t: f64) {
    while session.run().time() < t - 1e-6 && session.step().expect("it runs") {}
}

/// To the end, with every question answered as it is asked.
fn answer_to_the_end(session: &mut Session) {
    let mut answered = 0;
    loop {
        if let Some(asked) = session.run().station().job().asked()
            && asked.number != answered
        {
            answered = asked.number;
            session.act("do_as_asked").expect("somebody asked");
        }
        if !session.step().expect("it runs") {
            return;
        }
    }
}

/// Hash at the end, and when that is, of a scenario's text.
fn replayed(text: String) -> (String, f64) {
    let scenario = parse::read(&Source::new("played.toml", text)).expect("what was saved can be read");
    let mut run = Simulation::new(&scenario, &RunOptions::BARE).expect("and run");
    while run.step().expect("the built-in controller has no trouble") == Stand::Running {}
    (run.hash(), run.time())
}

/// Faults, healed and not, acts, a way back in the middle, and questions left to the page.
#[test]
fn what_was_done_by_hand_is_a_scenario_that_replays_to_the_same_hash() {
    let mut played = session(true);
    to(&mut played, 30.0);
    played.act("pause").expect("it runs");
    to(&mut played, 36.35);
    played.act("resume").expect("it runs");
    to(&mut played, 49.0);
    let mut answered = 0;
    while played.run().time() < 400.0 {
        if let Some(asked) = played.run().station().job().asked()
            && asked.number != answered
        {
            answered = asked.number;
            played.act("do_as_asked").expect("somebody asked");
        }
        assert!(played.step().expect("it runs"));
    }
    // A way that is left again.
    played.break_now(&[("id", "F001"), ("mode", ""), ("tag", ""), ("severity", "")]).expect("a loop can break");
    to(&mut played, 420.0);
    let left = played.run().hash();
    played.back(390.05).expect("it was there");
    to(&mut played, 400.0);
    played.act("open_door").expect("it runs");
    to(&mut played, 405.0);
    played.act("shut_door").expect("it runs");
    to(&mut played, 420.0);
    assert_ne!(left, played.run().hash(), "the ways are no two ways");
    played.act("reset").expect("it runs");
    to(&mut played, 425.0);
    played.act("resume").expect("it runs");
    to(&mut played, 500.0);
    played.break_now(&[("id", "F002"), ("mode", ""), ("tag", ""), ("severity", "")]).expect("a loop can break");
    to(&mut played, 503.0);
    played.heal(0).expect("it acts");
    to(&mut played, 520.0);
    played.act("reset").expect("it runs");
    to(&mut played, 521.0);
    played.act("resume").expect("it runs");
    answer_to_the_end(&mut played);

    let text = played.written().expect("a scenario can say it");
    assert!(text.contains("open_door") && text.contains("until_at") && !text.contains("F001"), "{text}");
    assert!(text.contains("answers = \"none\""), "{text}");
    let (hash, t) = replayed(text);
    assert_eq!((hash, t), (played.run().hash(), played.run().time()));
    // And what was done counts: the job that nobody touched is another.
    let (untouched, _) = replayed(shipped::source("mild_hatchback").expect("shipped").text);
    assert_ne!(untouched, played.run().hash());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// What is undone leaves nothing: the run comes by the same way again.
    #[test]
    fn going_back_and_on_comes_to_the_same_hash(back in 0u32..6_000, broken in 0u32..6_000) {
        let (back, broken) = (f64::from(back) * 0.05, f64::from(broken) * 0.05);
        let mut straight = session(false);
        to(&mut straight, 300.0);
        let mut wandered = session(false);
        to(&mut wandered, broken);
        wandered.break_now(&[("id", "F002"), ("mode", ""), ("tag", ""), ("severity", "")]).expect("a loop can break");
        to(&mut wandered, 300.0);
        let first = wandered.run().hash();
        wandered.back(back).expect("a time of this run");
        prop_assert!((wandered.run().time() - back).abs() < 0.051);
        to(&mut wandered, 300.0);
        // What was done before that time stays, what was done then or later is undone.
        let kept = broken < back - 1e-6;
        let expected = if kept { first } else { straight.run().hash() };
        prop_assert_eq!(wandered.run().hash(), expected);
        prop_assert_eq!(wandered.deeds().len(), usize::from(kept));
    }
}

#[test]
fn what_is_refused_says_what_would_be_taken_and_changes_nothing() {
    let (mut asked, mut quiet) = (session(false), session(false));
    for one in [&mut asked, &mut quiet] {
        to(one, 100.0);
    }
    let broken = |id, severity| [("id", id), ("mode", ""), ("tag", ""), ("severity", severity)];
    let refused = [
        (asked.act("confirm!"), "accepted: confirm"),
        (asked.act("exchange"), "accepted: confirm"),
        (asked.break_now(&broken(concat!("F", "999"), "")), "nearest"),
        (asked.break_now(&broken("F023", "3 bananas")), "severity"),
        (asked.break_now(&broken("", "")), "id"),
        (asked.heal(0), "no fault number 0"),
        (asked.leave_out(concat!("I", "99"), true), "no row"),
        (asked.back(-1.0), "accepted: 0 to"),
        (asked.back(1e9), "accepted: 0 to"),
        (asked.back(f64::NAN), "accepted: 0 to"),
        (asked.start().another(Some("/etc/passwd"), None).map(drop), "no shipped scenario"),
    ];
    for (answer, wanted) in refused {
        let why = answer.expect_err("it is refused");
        assert!(why.contains(wanted), "`{why}` does not say `{wanted}`");
    }
    for one in [&mut asked, &mut quiet] {
        to(one, 200.0);
    }
    assert_eq!(asked.run().hash(), quiet.run().hash());
    assert!(asked.deeds().is_empty());
}

#[test]
fn a_run_that_is_over_takes_no_more_acts_but_can_be_gone_back_in() {
    let mut played = session(false);
    while played.step().expect("it runs") {}
    assert!(played.act("reset").expect_err("it is over").contains("go back"));
    let end = played.run().hash();
    played.back(1_000.0).expect("it was there");
    while played.step().expect("it runs") {}
    assert_eq!(played.run().hash(), end);
}

/// A run of hours keeps no more copies than a short one, and every moment of it can be come back to.
#[test]
fn a_long_run_thins_its_copies_and_goes_back_all_the_same() {
    let source = || shipped::source("wet_circuit").expect("it is shipped");
    let mut straight = Session::new(Start::of(source(), false)).expect("it begins");
    to(&mut straight, 3_000.0);
    let mut long = Session::new(Start::of(source(), false)).expect("it begins");
    let mut most = 0;
    while long.step().expect("it runs") {
        most = most.max(long.copies());
    }
    assert!(long.run().scans() > 400 * 200, "too short to need thinning: {} scans", long.run().scans());
    assert!(most <= 402, "{most} copies");
    assert!(long.copies() > 100, "{} copies are left", long.copies());
    long.back(3_000.0).expect("it was there");
    assert_eq!((long.run().time(), long.run().hash()), (straight.run().time(), straight.run().hash()));
}

#[test]
fn more_deeds_than_a_run_keeps_are_refused_and_change_nothing() {
    let mut busy = session(false);
    to(&mut busy, 10.0);
    let refused = (0..600).find_map(|_| busy.act("reset").err());
    let why = refused.expect("six hundred deeds were taken");
    assert!(why.contains("500") && why.contains("save it"), "{why}");
    let (deeds, copies) = (busy.deeds().len(), busy.copies());
    assert!((400..=500).contains(&deeds), "{deeds} deeds");
    assert!(busy.act("reset").is_err() && busy.set_point("cabinet_gas", 20.0).is_err());
    assert_eq!((busy.deeds().len(), busy.copies()), (deeds, copies));
}
