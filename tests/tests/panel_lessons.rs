//! Lessons: each that is shipped can be solved by its own solution and does not solve itself; what is wrong with a lesson's file is told with its
//! place; what a student hands in says what was done. The page for teachers is made from them:
//! `VALVEWRIGHT_WRITE=1 cargo test -p valvewright-tests --test suite -- panel_lessons` writes it anew.

use std::fmt::Write;
use std::path::Path;

use valvewright_sim::lesson::{self, LESSONS, Lesson, Stand, What};
use valvewright_sim::panel::{Session, Start, solve};
use valvewright_sim::scenario::diagnostic::Source;

/// As many as were asked for at least.
const LEAST: usize = 12;

fn text(name: &str) -> &'static str {
    LESSONS.iter().find(|(one, _)| *one == name).map(|(_, text)| *text).expect("it is shipped")
}

fn all() -> Vec<Lesson> {
    let read = |(name, text): &(&str, &str)| {
        lesson::read(&Source::new(format!("{name}.toml"), *text)).unwrap_or_else(|wrong| panic!("{name}: {wrong:#?}"))
    };
    LESSONS.iter().map(read).collect()
}

fn begun(name: &str, may_hint: bool) -> Session {
    let lesson = lesson::shipped(name).expect("it is shipped");
    Session::new(Start::of_lesson(lesson, may_hint)).expect("it begins")
}

#[test]
fn every_shipped_lesson_is_solved_by_its_solution_and_not_by_itself() {
    let lessons = all();
    assert!(lessons.len() >= LEAST, "{} lessons", lessons.len());
    for (lesson, (name, _)) in lessons.iter().zip(LESSONS) {
        assert_eq!(lesson.name, *name, "a lesson is called as its file");
        assert!((1..=5).contains(&lesson.hints.len()), "{name} has {} hints", lesson.hints.len());
        let played = solve(lesson).unwrap_or_else(|why| panic!("{name}: {why}"));
        let open: Vec<_> = played.goals.iter().filter(|goal| goal.stand != Stand::Holds).collect();
        let replay = format!("valvewright panel --lesson {name} --solve");
        assert!(played.solved_s.is_some() && played.answered, "{name} is not solved: {open:?}; {replay}");
        assert!(!played.by_itself, "{name} solves itself; {replay}");
    }
}

/// An answer alone does not do, and neither do the goals alone.
#[test]
fn goals_and_answer_are_both_wanted() {
    for lesson in all().into_iter().filter(|one| one.question.is_some()) {
        let name = lesson.name.clone();
        let mut wrong = lesson.clone();
        wrong.solution.answer = Some("no such thing".to_owned());
        let played = solve(&wrong).unwrap_or_else(|why| panic!("{name}: {why}"));
        assert!(played.solved_s.is_none() && !played.answered, "{name} takes any answer");
        let mut session = Session::new(Start::of_lesson(lesson.clone(), true)).expect("it begins");
        let answer = lesson.solution.answer.expect("its solution answers");
        let (learning, run) = session.learn().expect("it is a lesson");
        learning.answer(&answer, run).expect("it is right");
        assert!(learning.solved().is_none(), "{name} is solved by its answer alone");
    }
}

#[test]
fn what_was_solved_on_a_way_that_is_left_is_not_solved() {
    let mut session = begun("door_opened", true);
    let to =
        |session: &mut Session, t: f64| while session.run().time() < t - 1e-6 && session.step().expect("it runs") {};
    let began = session.run().time();
    let answer = |session: &mut Session| {
        let (learning, run) = session.learn().expect("it is a lesson");
        learning.answer("i28", run)
    };
    session.act("open_door").expect("it runs");
    to(&mut session, began + 5.0);
    session.act("shut_door").expect("it runs");
    to(&mut session, began + 20.0);
    session.act("reset").expect("it runs");
    to(&mut session, began + 22.0);
    session.act("resume").expect("it runs");
    to(&mut session, began + 400.0);
    assert!(session.learning().is_some_and(|one| one.solved().is_none()), "the answer is not given yet");
    answer(&mut session).expect("it is right");
    assert!(session.learning().is_some_and(|one| one.solved().is_some()));
    session.back(began + 10.0).expect("it was there");
    assert!(session.learning().is_some_and(|one| one.solved().is_none()), "the door is open again");
}

#[test]
fn hints_come_one_by_one_and_can_be_switched_off() {
    let mut session = begun("two_together", true);
    let shown = |session: &Session| {
        let learning = session.learning().expect("it is a lesson");
        learning.shown(session.run())["hints"].as_array().map(Vec::len)
    };
    assert_eq!(shown(&session), Some(0));
    for read in 1..=3 {
        session.learn().expect("it is a lesson").0.hint().expect("there is one");
        assert_eq!(shown(&session), Some(read));
    }
    let more = session.learn().expect("it is a lesson").0.hint();
    assert!(more.is_err_and(|why| why.contains("no more hints")));
    let mut strict = begun("two_together", false);
    let refused = strict.learn().expect("it is a lesson").0.hint();
    assert!(refused.is_err_and(|why| why.contains("switched off")));
    // A lesson that is begun from a page whose hints are off has none either.
    let next = strict.start().to_lesson("no_room").expect("it is shipped");
    assert!(next.lesson.is_some_and(|(_, may_hint)| !may_hint));
}

#[test]
fn what_is_handed_in_says_what_was_done_and_replays() {
    let mut session = begun("no_room", true);
    session.learn().expect("it is a lesson").0.hint().expect("there is one");
    let wrong = session.learn().map(|(learning, run)| learning.answer("300", run)).expect("it is a lesson");
    assert!(wrong.is_err_and(|why| why.contains("300")));
    while session.step().expect("it runs") {}
    session.learn().map(|(learning, run)| learning.answer("296 g", run)).expect("it is a lesson").expect("it is right");
    let result = session.result().expect("it is a lesson");
    assert_eq!(result["solved"], true, "{result:#}");
    assert_eq!(result["hints_read"], 1);
    assert_eq!(result["answers"].as_array().map(Vec::len), Some(2));
    assert_eq!(result["hash"], session.run().hash());
    let text = result["scenario"].as_str().expect("a scenario can say it").to_owned();
    let again = Session::new(Start::of(Source::new("lesson.toml", text), false));
    let mut again = again.unwrap_or_else(|why| panic!("what was handed in cannot be read: {why}"));
    while again.step().expect("it runs") {}
    assert_eq!(again.run().hash(), session.run().hash());
}

/// What a lesson broke beforehand is for the student to find: no frame names it.
#[test]
fn a_fault_of_the_lesson_is_not_told_to_the_student() {
    let hidden: Vec<Lesson> = all().into_iter().filter(|one| one.scenario.text.contains("[[fault]]")).collect();
    assert!(hidden.len() >= 2, "no lesson hides a fault");
    for lesson in hidden {
        assert!(!lesson.shows_faults, "{} shows its fault", lesson.name);
        let told = format!("{}{}{:?}", lesson.task, lesson.about, lesson.question.map(|one| one.ask));
        let named =
            lesson.scenario.text.lines().find_map(|line| line.strip_prefix("id = ")).expect("its fault has an id");
        assert!(!told.contains(named.trim_matches('"')), "{} names its fault in its task", lesson.name);
    }
}

#[test]
fn mistakes_in_a_lesson_are_told_where_they_stand() {
    let good = text("two_together");
    let tries = [
        ("title = \"Two", "titel = \"Two", "titel"),
        ("scenario = \"mild_hatchback\"", "scenario = \"mild_hatch\"", "mild_hatch"),
        ("hazards = [\"H22\"]", "hazards = [\"Hxx\"]", "Hxx"),
        ("formula = \"eventually row I28 stands\"", "formula = \"eventually row Ixx stands\"", "Ixx"),
        ("break = \"F052\"", "break = \"F052\"\nact = \"reset\"", "one thing"),
        ("minutes = 15", "minutes = 0", "minutes"),
        ("from_phase = \"recover\"", "from_phase = \"recovery\"", "recover"),
    ];
    for (right, wrong, word) in tries {
        assert!(good.contains(right), "the lesson has no `{right}` any more");
        let broken = Source::new("broken.toml", good.replacen(right, wrong, 1));
        let list = lesson::read(&broken).err().unwrap_or_default();
        assert!(list.iter().any(|one| one.to_string().contains(word)), "{wrong}: {list:#?}");
    }
    let nothing = "name = \"x\"\ntitle = \"x\"\nabout = \"x\"\nminutes = 1\nscenario = \"no_room\"\ntask = \"x\"\nteacher = \"x\"\n[solution]\nuntil = \"1 s\"\n";
    let list = lesson::read(&Source::new("nothing.toml", nothing.replace("no_room", "mild_hatchback"))).err();
    assert!(list.is_some_and(|list| list.iter().any(|one| one.message.contains("nothing to be checked by"))));
}

/// In words, for the page.
fn done(what: &What) -> String {
    match what {
        What::Act(word) => format!("`{}`", word.replace('_', " ")),
        What::Break(keys) => {
            format!("break {}", keys.iter().map(|(_, value)| value.as_str()).collect::<Vec<_>>().join(" "))
        }
        What::Heal(_) => "heal it".to_owned(),
        What::Without(row) => format!("take row {row} out"),
        What::With(row) => format!("put row {row} back"),
    }
}

fn section(lesson: &Lesson) -> String {
    let mut page = format!("### {}\n\n", lesson.title);
    let of = &lesson.scenario.name;
    let _ = writeln!(
        page,
        "`valvewright panel --lesson {}` · some {} min · {}\n",
        lesson.name, lesson.minutes, lesson.about
    );
    assert!(!of.is_empty());
    let _ = writeln!(page, "**Task.** {}\n", lesson.task.replace('\n', " "));
    let goals: Vec<String> = lesson
        .scenario
        .text
        .split("[[property]]")
        .skip(1)
        .filter_map(|table| table.lines().find_map(|line| line.strip_prefix("name = ")))
        .map(|name| name.trim_matches('"').to_owned())
        .collect();
    let hazards: Vec<String> = lesson.hazards.iter().map(|id| format!("{id} comes about")).collect();
    let checked: Vec<String> = goals.into_iter().chain(hazards).collect();
    let _ = writeln!(
        page,
        "**Checked by.** {}; no {}hazard.\n",
        checked.join("; "),
        if lesson.hazards.is_empty() { "" } else { "other " }
    );
    if let Some(question) = &lesson.question {
        let _ =
            writeln!(page, "**Asked.** {} *{}*\n", question.ask, question.accept.first().cloned().unwrap_or_default());
    }
    let steps: Vec<String> =
        lesson.solution.steps.iter().map(|step| format!("at {} s {}", step.at, done(&step.what))).collect();
    if !steps.is_empty() {
        let _ = writeln!(page, "**One way.** {}.\n", steps.join(", "));
    }
    let _ = writeln!(page, "{}\n", lesson.teacher.replace('\n', " "));
    page
}

#[test]
fn the_page_for_teachers_is_made_from_the_lessons() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/lessons.md");
    let committed = std::fs::read_to_string(&path).expect("the page is there");
    let (start, end) = ("<!-- lessons -->\n", "<!-- end of lessons -->\n");
    let (head, rest) = committed.split_once(start).expect("the page has a place for them");
    let (_, tail) = rest.split_once(end).expect("the place has an end");
    let list: String = all().iter().map(section).collect();
    let made = format!("{head}{start}\n{list}{end}{tail}");
    if std::env::var_os("VALVEWRIGHT_WRITE").is_some() {
        std::fs::write(&path, made).expect("the page can be written");
    } else {
        assert!(committed == made, "docs/lessons.md is not what the lessons say: run with VALVEWRIGHT_WRITE=1");
    }
}
