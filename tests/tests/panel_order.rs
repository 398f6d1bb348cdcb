//! Another order from the page: judged by the scenario reader with its place in the text, nothing but the order comes in, and what is saved has it
//! and replays to the same hash.

use valvewright_sim::panel::{Session, Start};
use valvewright_sim::run::{RunOptions, Simulation, Stand};
use valvewright_sim::scenario::diagnostic::Source;
use valvewright_sim::scenario::order_text;
use valvewright_sim::scenario::shipped::{FAULTS, QUESTIONS, SHIPPED, UPKEEP};
use valvewright_sim::scenario::{parse, shipped};

fn session(name: &str) -> Session {
    let source = shipped::source(name).expect("it is shipped");
    Session::new(Start::of(source, false)).expect("it begins")
}

/// What comes of an order's text on a shipped scenario.
fn ordered(name: &str, text: &str) -> Result<Start, String> {
    let session = session(name);
    session.start().with_order(session.scenario(), text)
}

fn to_the_end(session: &mut Session) {
    while session.step().expect("it runs") {}
}

/// The order's own text changes nothing, in every shipped scenario of one job.
#[test]
fn an_order_as_it_stands_gives_the_scenario_as_it_stands() {
    let mut count = 0;
    for one in SHIPPED.iter().chain(QUESTIONS).chain(FAULTS).chain(UPKEEP) {
        let source = shipped::source(one.name).expect("it is shipped");
        let scenario = parse::read(&source).expect("it reads");
        let Some(text) = order_text::part(&source) else {
            assert!(!scenario.then.is_empty() || source.text.contains("[[job]]"), "{} has no order", one.name);
            continue;
        };
        assert!(text.contains("[order]") && !text.contains("[station]"), "{}: {text}", one.name);
        let made = order_text::with_order(&source, &scenario, &text, None);
        let made = made.unwrap_or_else(|list| panic!("{}: {list:#?}", one.name));
        assert_eq!(made.source, source, "{}", one.name);
        assert!(made.dropped.is_empty(), "{}: {:?}", one.name, made.dropped);
        count += 1;
    }
    assert!(count > 100, "{count} scenarios were looked at");
}

#[test]
fn what_is_saved_of_another_order_replays_to_the_same_hash() {
    let text = "# my own\n[order]\nphases = [\"identify\", \"recover\", \"evacuate\", \"charge\"]\ncharge = \"450 g\" # less\nevacuate_time = \"6 min\"\n";
    let start = ordered("mild_hatchback", text).expect("nothing is wrong with it");
    let mut played = Session::new(start).expect("it begins");
    assert_eq!((played.scenario().order.charge, played.scenario().order.phases.len()), (0.45, 4));
    for _ in 0..2_000 {
        played.step().expect("it runs");
    }
    played.act("pause").expect("it runs");
    played.step().expect("it runs");
    played.act("resume").expect("it runs");
    to_the_end(&mut played);
    let saved = played.written().expect("a scenario can say it");
    for words in ["Its [order] was changed on the panel", "# my own", "charge = \"450 g\" # less", "do = \"resume\""] {
        assert!(saved.contains(words), "`{words}` is not in what is saved: {saved}");
    }
    assert!(!saved.contains("evacuate_depth"), "a key that was taken out is saved: {saved}");
    let again = parse::read(&Source::new("played.toml", saved)).expect("it reads");
    let mut run = Simulation::new(&again, &RunOptions::BARE).expect("it begins");
    while run.step().expect("it runs") == Stand::Running {}
    assert_eq!((run.hash(), run.time()), (played.run().hash(), played.run().time()));
    // The same order is at hand when the run begins anew by itself, and not in another scenario.
    let anew = played.start().another(None, None).expect("the one at hand");
    assert!(anew.source.text.contains("450 g") && anew.note.is_some());
    let other = played.start().another(Some("mild_hatchback"), None).expect("it is shipped");
    assert!(other.source.text.contains("480 g") && other.note.is_none());
}

#[test]
fn what_is_wrong_is_told_with_its_place_range_and_nearest_key() {
    let tries: [(&str, &[&str]); 9] = [
        ("[order]\ncharg = \"450 g\"\n", &["order:2:1: unknown key `charg` in [order]", "nearest valid key: `charge`"]),
        ("[order]\n\nevacuate_time = \"10 s\"\n", &["order:3:17:", "accepted range: 60 s to 14400 s"]),
        ("[order]\ncharge = \"450 kPa\"\n", &["order:2:10:", "charge"]),
        ("[order]\ncharge = \"9 kg\"\n", &["order:2:10:", "vessel"]),
        ("[order]\nphases = [\"recover\", \"charging\"]\n", &["order:2:10:", "nearest valid value: `charge`"]),
        ("[order]\nphases = [\"recover\"]\ncharge = \"450 g\"\n", &["order:3:10:", "no charge phase"]),
        ("charge = \"450 g\"\n", &["order:1:1: `charge` is out of place", "below a line [order]"]),
        ("[order]\ncharge = \"450 g\ncharge = 3\n", &["order:2:", "broken TOML"]),
        ("", &["[order]"]),
    ];
    for (text, wanted) in tries {
        let why = ordered("mild_hatchback", text).err().unwrap_or_else(|| panic!("`{text}` is taken"));
        for words in wanted {
            assert!(why.contains(words), "`{text}`: `{why}` does not say `{words}`");
        }
    }
    // All of it at once.
    let both =
        ordered("mild_hatchback", "[order]\ncharg = \"1 g\"\nside = \"left\"\n").expect_err("two things are wrong");
    assert!(both.contains("`charg`") && both.contains("`side`"), "{both}");
}

/// Whatever else is in the text, by whatever way of writing it, is refused with its name.
#[test]
fn no_other_table_comes_in_with_an_order() {
    let good = "[order]\ncharge = \"450 g\"\n";
    let tries = [
        ("[station]\nnetwork = \"/etc/passwd\"\n", "station"),
        ("[station.record]\nlost = true\n", "station"),
        ("[[fault]]\nid = \"F001\"\n", "fault"),
        ("[[operator.act]]\ndo = \"reset\"\nat = \"1 s\"\n", "operator"),
        ("[expect]\nverdict = \"fail\"\n", "expect"),
        ("[[job]]\nvehicle = \"x\"\n", "job"),
        ("[order.station]\nnetwork = \"/etc/passwd\"\n", "station"),
        ("station.network = \"/etc/passwd\"\n", "station"),
        ("network = \"/etc/passwd\"\n", "network"),
        ("controller = \"sh\"\n", "controller"),
    ];
    for (text, key) in tries {
        let why =
            ordered("mild_hatchback", &format!("{good}{text}")).err().unwrap_or_else(|| panic!("`{text}` is taken"));
        assert!(why.contains(&format!("`{key}`")), "`{text}`: {why}");
    }
    let first = ordered("mild_hatchback", &format!("seed = 7\nstation.network = \"/etc/passwd\"\n{good}"));
    assert!(
        first.is_err_and(|why| why.contains("`seed`") && why.contains("`station`") && why.contains("stays as it is"))
    );
    let inside = ordered("mild_hatchback", "[order]\nsides = \"\"\"both\n[station]\nnetwork = 'x'\n\"\"\"\n");
    assert!(inside.is_err_and(|why| why.contains("order:2:9:")), "a table inside a text");
    // Written in another way it is an order all the same, and comes to stand where the other one stood.
    for text in ["order = { charge = \"450 g\" }\n", "order.charge = \"450 g\"\n"] {
        let start = ordered("mild_hatchback", text).unwrap_or_else(|why| panic!("`{text}`: {why}"));
        let order = start.source.text.find("[order]").expect("it has a head");
        assert!(start.source.text.find("[operator]").is_some_and(|at| at > order), "{}", start.source.text);
    }
}

#[test]
fn an_order_of_a_lesson_or_of_a_row_stays_and_says_why() {
    let good = "[order]\ncharge = \"450 g\"\n";
    let why = ordered("monday_morning", good).expect_err("it has several");
    assert!(why.contains("row of jobs") && why.contains("[[job]]"), "{why}");
    let lesson = valvewright_sim::lesson::shipped("door_opened").expect("it is shipped");
    let session = Session::new(Start::of_lesson(lesson, true)).expect("it begins");
    let why = session.start().with_order(session.scenario(), good).expect_err("it is a lesson's");
    assert!(why.contains("the lesson's") && session.start().order_stays().is_some(), "{why}");
}

/// What a file expects of a phase that is not ordered any more would make it unreadable.
#[test]
fn expectations_of_phases_that_are_gone_are_taken_out_and_named() {
    let source = shipped::source("mild_hatchback").expect("it is shipped");
    let text = source.text + "\n[expect.phases]\nrecover = \"pass\"\ncharge = \"pass\"\nverify = \"pass\"\n";
    let session = Session::new(Start::of(Source::new("own.toml", text), false)).expect("it begins");
    let start = session.start().with_order(session.scenario(), "[order]\nphases = [\"recover\"]\n");
    let start = start.expect("nothing is wrong with it");
    let note = start.note.clone().expect("it was changed");
    assert!(note.contains("charge, verify") && !note.contains("recover,"), "{note}");
    let phases = Session::new(start).expect("it begins").scenario().expect.phases.clone();
    assert_eq!(phases.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["recover"]);
}

#[test]
fn a_procedure_of_upkeep_takes_another_mass() {
    let text = order_text::part(&shipped::source("fill_vessel").expect("it is shipped")).expect("it has an order");
    let mass = text.lines().find(|line| line.starts_with("mass")).expect("it goes by a mass").to_owned();
    let start = ordered("fill_vessel", &text.replace(&mass, "mass = \"1.5 kg\"")).expect("nothing is wrong with it");
    let upkeep = Session::new(start).expect("it begins").scenario().order.upkeep;
    assert_eq!(upkeep.map(|(_, mass)| mass), Some(1.5));
    let why = ordered("fill_vessel", &text.replace(&mass, "mass = \"1 g\"")).expect_err("too little");
    assert!(why.contains("mass"), "{why}");
}
