//! What if: since when something could not be held up any more, asked of forks, and set points that lie elsewhere. The run at hand is not
//! touched by a question; what is altered is undone by going back.

use valvewright_sim::panel::{Question, Remedy, Session, Start, ask};
use valvewright_sim::scenario::shipped;

fn session() -> Session {
    let source = shipped::source("mild_hatchback").expect("it is shipped");
    Session::new(Start::of(source, false)).expect("it begins")
}

fn to(session: &mut Session, t: f64) {
    while session.run().time() < t - 1e-6 && session.step().expect("it runs") {}
}

fn broken(session: &mut Session, id: &str, mode: &str) {
    session.break_now(&[("id", id), ("mode", mode), ("tag", ""), ("severity", "")]).expect("it can break");
}

fn question(of: &str, remedy: Remedy, back: f64) -> Question {
    Question { of: of.to_owned(), remedy, back }
}

/// A wire that is cut trips its row, whatever is pressed; healed before it is cut, it never does.
#[test]
fn a_fault_that_is_mended_in_time_brings_nothing_about() {
    let mut session = session();
    to(&mut session, 200.0);
    broken(&mut session, "F001", "");
    to(&mut session, 230.0);
    let before = (session.run().hash(), session.run().time(), session.deeds().len());
    let mended = ask(&session, &question("I03", Remedy::HealAll, 30.0)).expect("it tripped");
    let pressed = ask(&session, &question("I03", Remedy::EmergencyStop, 30.0)).expect("it tripped");
    assert_eq!(before, (session.run().hash(), session.run().time(), session.deeds().len()), "the run was touched");

    assert!((200.0..201.0).contains(&mended.event_s), "{mended:?}");
    assert!(mended.odds.len() > 10 && mended.odds.iter().all(|one| one.of > 1), "{mended:?}");
    // Mended before it is cut, and in the scans in which the row's hold still runs: it does not come about.
    assert!(mended.odds.iter().filter(|one| one.t < 200.0).all(|one| one.came == 0), "{mended:?}");
    assert!(mended.inevitable_s.is_none_or(|t| t >= 200.0), "{mended:?}");
    // The stop cuts no wire: by it nothing is held up.
    assert!(pressed.odds.iter().all(|one| one.came == one.of), "{pressed:?}");
    assert_eq!(pressed.inevitable_s, pressed.odds.first().map(|one| one.t));

    let again = ask(&session, &question("I03", Remedy::HealAll, 30.0)).expect("it tripped");
    assert_eq!(again, mended, "the same question has two answers");
}

/// Gas in the cabinet: the emergency stop does not close a hole in the vessel, mending it early does.
#[test]
fn what_is_done_to_the_run_later_comes_in_its_forks_too() {
    let mut session = session();
    to(&mut session, 160.0);
    session.leave_out("I28", true).expect("there is such a row");
    to(&mut session, 170.0);
    broken(&mut session, "F070", "");
    to(&mut session, 300.0);
    // The moments lie before the row was taken out and before the fan failed: both must come in the forks, or H22 never does.
    let nothing = ask(&session, &question("H22", Remedy::Nothing, 60.0)).expect("it came about");
    assert!(nothing.odds.iter().any(|one| one.t < 160.0), "{nothing:?}");
    assert!(nothing.odds.iter().all(|one| one.came == one.of), "{nothing:?}");
    let ended = ask(&session, &question("H22", Remedy::Abort, 60.0)).expect("it came about");
    let first = ended.odds.first().expect("there are moments");
    assert_eq!(first.came, 0, "an order that is ended before the fan fails moves no gas: {ended:?}");
}

/// A fault that was healed by hand is healed in the forks too, at its time, where they begin while it acts.
#[test]
fn what_was_healed_by_hand_later_heals_in_the_forks() {
    let mut session = session();
    to(&mut session, 200.0);
    broken(&mut session, "F001", "");
    to(&mut session, 205.0);
    session.heal(0).expect("it acts");
    to(&mut session, 215.0);
    session.act("reset").expect("it runs");
    to(&mut session, 217.0);
    session.act("resume").expect("it runs");
    to(&mut session, 260.0);
    session.leave_out("I28", true).expect("there is such a row");
    broken(&mut session, "F070", "");
    to(&mut session, 400.0);
    // Moments while F001 acts: only if it heals, and reset and resume come again, is refrigerant moved when the fan fails.
    let nothing = ask(&session, &question("H22", Remedy::Nothing, 100.0)).expect("it came about");
    let early: Vec<_> = nothing.odds.iter().filter(|one| (200.0..205.0).contains(&one.t)).collect();
    assert!(!early.is_empty(), "no moment while it acts: {nothing:?}");
    assert!(nothing.odds.iter().all(|one| one.came == one.of), "{nothing:?}");
}

#[test]
fn a_question_that_cannot_be_asked_is_refused() {
    let mut session = session();
    to(&mut session, 120.0);
    let why = |of: &str, back: f64| ask(&session, &question(of, Remedy::Pause, back)).err().unwrap_or_default();
    assert!(why("I03", 30.0).contains("has not come about"), "{}", why("I03", 30.0));
    assert!(why("the roof", 30.0).contains("accepted: a hazard"));
    assert!(why("I03", 0.0).contains("1 to 300"));
    assert!(why("I03", f64::NAN).contains("1 to 300"));
}

/// The cabinet gas trips its row at the figure to which it was moved, and the table's own is back after the way back.
#[test]
fn a_set_point_that_is_moved_trips_there() {
    let tripped_at = |to_percent: Option<f64>| {
        let mut session = session();
        to(&mut session, 165.0);
        if let Some(percent) = to_percent {
            session.set_point("cabinet_gas", percent).expect("it can be moved");
        }
        to(&mut session, 170.0);
        session
            .break_now(&[("id", "F128"), ("mode", "vapour"), ("tag", ""), ("severity", "")])
            .expect("a joint can leak");
        to(&mut session, 260.0);
        let locks = session.run().station().interlocks();
        (locks.first_out().map(|first| (first.row.as_str(), f64::from(first.value) * 0.1)), session)
    };
    let (table, _) = tripped_at(None);
    let (lower, _) = tripped_at(Some(8.0));
    let (higher, mut session) = tripped_at(Some(22.0));
    for (found, at) in [(table, 15.0), (lower, 8.0), (higher, 22.0)] {
        let (row, value) = found.expect("it trips");
        assert_eq!(row, "I01");
        assert!((at..at + 1.5).contains(&value), "{value} % LFL and not {at}");
    }
    assert!(session.written().is_err_and(|why| why.contains("interlock table was altered at 165 s")));
    session.back(160.0).expect("it was there");
    assert!(session.altered().moved.is_empty(), "the way back left the set point where it was");
    assert!(session.written().is_ok());
}

#[test]
fn every_set_point_that_the_page_offers_can_be_moved_and_put_back() {
    let mut plain = session();
    let mut moved = session();
    to(&mut moved, 30.0);
    let mut count = 0;
    for row in valvewright_core::interlock::table::ROWS {
        for point in moved.altered().shown(row) {
            let (watch, table) = (point["watch"].as_str().expect("a name"), point["table"].as_f64().expect("a figure"));
            moved.set_point(watch, table + 2.0).unwrap_or_else(|why| panic!("{watch}: {why}"));
            let shown = moved.altered().shown(row);
            let now = shown.iter().find(|one| one["watch"] == watch).expect("it is still there");
            assert_eq!(now["moved"], true, "{watch}");
            assert!((now["now"].as_f64().expect("a figure") - table - 2.0).abs() < 2e-3, "{now}");
            moved.set_point(watch, table).unwrap_or_else(|why| panic!("{watch}: {why}"));
            count += 1;
        }
    }
    assert!(count >= 15, "{count} set points can be moved");
    assert!(moved.altered().moved.is_empty());
    to(&mut plain, 200.0);
    to(&mut moved, 200.0);
    assert_eq!(plain.run().hash(), moved.run().hash(), "what was put back is not where it was");
    assert!(moved.set_point("no_such_thing", 1.0).is_err_and(|why| why.contains("vessel_pressure")));
    assert!(moved.set_point("fan_speed", f64::INFINITY).is_err());
}
