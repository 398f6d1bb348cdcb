//! The margin of a hazard at the moment: never below the least so far, equal to it when it is reached, back when the danger is over, and none where the
//! hazard cannot come.

use valvewright_core::job::PhaseKind;
use valvewright_sim::hazard::{CATALOGUE, HAZARD_COUNT, Id, Present};
use valvewright_sim::panel::{Session, Start};
use valvewright_sim::scenario::shipped;

fn session(name: &str) -> Session {
    let source = shipped::source(name).expect("it is shipped");
    Session::new(Start::of(source, false)).expect("it begins")
}

fn to(session: &mut Session, t: f64) {
    while session.run().time() < t - 1e-6 && session.step().expect("it runs") {}
}

fn all(session: &Session) -> [Present; HAZARD_COUNT] {
    session.run().hazards().expect("they are judged").present(session.run().plant())
}

fn of(session: &Session, id: Id) -> Present {
    all(session)[id as usize]
}

fn margin(session: &Session, id: Id) -> f64 {
    match of(session, id) {
        Present::Margin(margin) => margin,
        other => panic!("{id:?}: {other:?}"),
    }
}

#[test]
fn an_open_door_is_a_margin_that_falls_and_comes_back_while_the_least_stays() {
    let mut session = session("mild_hatchback");
    while session.run().phase() != Some(PhaseKind::Recover) {
        session.step().expect("it runs");
    }
    let began = session.run().time() + 30.0;
    to(&mut session, began);
    // Without its row nothing stops when the door opens.
    session.leave_out("I28", true).expect("there is such a row");
    assert_eq!(margin(&session, Id::H22), 1.0);
    session.act("open_door").expect("it runs");
    to(&mut session, began + 3.0);
    let low = margin(&session, Id::H22);
    // 5 s to the alert level, half of the way.
    assert!((0.65..0.75).contains(&low), "{low}");
    session.act("shut_door").expect("it runs");
    to(&mut session, began + 3.2);
    assert_eq!(margin(&session, Id::H22), 1.0);
    let least = session.run().hazards().expect("judged").worst(Id::H22).expect("seen");
    assert!(least < low + 1e-9 && least > 0.6, "{least}");
}

/// In every scan of a job in which gas escapes, and for all hazards.
#[test]
fn the_least_so_far_is_the_least_that_was_present() {
    let mut session = session("mild_hatchback");
    to(&mut session, 160.0);
    session.break_now(&[("id", "F128"), ("mode", "vapour"), ("tag", ""), ("severity", "")]).expect("a joint can leak");
    let mut least = [1.0_f64; HAZARD_COUNT];
    let mut differs = 0;
    while session.run().time() < 500.0 && session.step().expect("it runs") {
        // From here on the fan clears the cabinet.
        if (300.0..300.04).contains(&session.run().time()) {
            session.heal(0).expect("it acts");
        }
        for (at, present) in all(&session).into_iter().enumerate() {
            let id = CATALOGUE[at].id;
            let Present::Margin(now) = present else { continue };
            least[at] = least[at].min(now);
            let worst = session.run().hazards().expect("judged").worst(id).expect("seen");
            // The step in hand is not yet in the least so far.
            assert!(now >= worst.min(least[at]) - 1e-9, "{id:?} at {} s: {now}, least {worst}", session.run().time());
            differs += usize::from(now > worst + 0.1);
        }
    }
    assert!(least[Id::H01 as usize] < 0.6, "no gas came: {least:?}");
    assert!(differs > 1_000, "the present margin is the least one in all but {differs} looks");
    let hazards = session.run().hazards().expect("judged");
    for (at, least) in least.into_iter().enumerate() {
        let id = CATALOGUE[at].id;
        let worst = hazards.worst(id).expect("seen");
        // Between two scans a margin may have been lower by what one of them moves it.
        assert!(worst <= least + 1e-9 && worst > least - 0.06, "{id:?}: {worst} by the monitor, {least} by looking");
    }
}

#[test]
fn looking_changes_nothing() {
    let (mut looked, mut left) = (session("small_leak"), session("small_leak"));
    for one in 1..=40 {
        to(&mut looked, f64::from(one) * 20.0);
        all(&looked);
    }
    to(&mut left, 800.0);
    let results = |session: &Session| {
        let all = session.run().hazards().expect("judged").results();
        all.into_iter().map(|one| (one.worst_margin, one.worst_t_s)).collect::<Vec<_>>()
    };
    assert_eq!(results(&looked), results(&left));
}

#[test]
fn a_hazard_that_cannot_come_says_why_and_has_a_margin_when_it_can() {
    let mut session = session("large_leak");
    to(&mut session, 30.0);
    let said = |session: &Session, id| match of(session, id) {
        Present::Idle(why) | Present::Unknown(why) => why,
        Present::Margin(margin) => panic!("{id:?} has a margin of {margin}"),
    };
    for (id, words) in [
        (Id::H06, "nothing has been charged"),
        (Id::H08, "XV-6 is shut"),
        (Id::H10, "no way is open from the vessel to the vehicle"),
        (Id::H12, "no oil stands in the identifier"),
        (Id::H14, "stands as it is told"),
        (Id::H19, "wall clock"),
        (Id::H25, "when a coupler comes off"),
    ] {
        assert!(said(&session, id).contains(words), "{id:?}: {}", said(&session, id));
    }
    // The vessel stands there at any time.
    assert!(margin(&session, Id::H02) > 0.5 && margin(&session, Id::H23) > 0.5);
    session.act("emergency_stop").expect("it runs");
    to(&mut session, 32.0);
    assert!(said(&session, Id::H22).contains("nothing is on"), "{}", said(&session, Id::H22));

    let mut charging = self::session("mild_hatchback");
    while of(&charging, Id::H10) == Present::Idle("no way is open from the vessel to the vehicle") {
        assert!(charging.step().expect("it runs"), "the way to the vehicle was never seen open");
    }
    assert_eq!(charging.run().phase(), Some(PhaseKind::Charge));
    assert_eq!(margin(&charging, Id::H10), 1.0, "its circuit is tight");
}
