//! Controllers that tell what is not so, too often, or in another order: what is called true is the plant's, and no result is better than
//! what was done.

use valvewright_core::config::StationConfig;
use valvewright_core::frame::{Actuator, Actuators, Outputs, RawFrame};
use valvewright_core::job::{Outcome, PhaseKind};
use valvewright_core::kept::Start;
use valvewright_core::talk::{Asked, Command, Notice, Question, Refusal};
use valvewright_core::units::{Instant, Milligram};
use valvewright_sim::controller::{Controller, Scan, Trouble, Who};
use valvewright_sim::report::data::{RunResult, Verdict};
use valvewright_sim::report::files;
use valvewright_sim::run::{Control, RunOptions, run_controller};
use valvewright_tests::job_runs::scenario;

/// Tells each list at its time, s after the order, whatever it does; and opens what it is told to from one time to another.
#[derive(Clone, Default)]
struct Liar {
    began: Option<Instant>,
    says: Vec<(u32, Vec<Notice>)>,
    does: Vec<(u32, u32, Vec<Actuator>)>,
    every_scan: Vec<Notice>,
}

impl Controller for Liar {
    fn who(&self) -> Who {
        Who::program("liar")
    }
    fn begin(&mut self, _: &StationConfig, _: &Start) -> Result<(), Trouble> {
        Ok(())
    }
    fn scan(&mut self, now: Instant, frame: &RawFrame, notices: &mut Vec<Notice>) -> Result<Scan, Trouble> {
        if matches!(frame.command, Some(Command::Start { .. })) {
            self.began = Some(now);
        }
        let Some(began) = self.began else { return Ok(Scan::Done(Outputs::default())) };
        let ms = now.since(began).0;
        let s = ms / 1_000;
        if ms.is_multiple_of(1_000) {
            self.says.iter().filter(|(at, _)| *at == s).for_each(|(_, what)| notices.extend(what.iter().cloned()));
        }
        notices.extend(self.every_scan.iter().cloned());
        let open = self.does.iter().filter(|(from, to, _)| (*from..*to).contains(&s));
        let on = open.fold(Actuators::SAFE, |on, (.., what)| on.or(Actuators::of(what)));
        Ok(Scan::Done(Outputs { on, ..Outputs::default() }))
    }
}

fn run(liar: Liar) -> RunResult {
    let mut job = scenario("mild_hatchback", &[], "");
    job.time_limit = 1_500.0;
    run_controller(&job, &RunOptions::BARE, liar, &mut |_| Control::Continue).expect("it runs").result
}

fn say(what: &[Notice]) -> Liar {
    Liar { says: vec![(1, what.to_vec())], ..Liar::default() }
}

const WELL: Notice = Notice::OrderEnded(true);

#[test]
fn an_order_is_passed_only_after_it_was_taken_and_by_the_worst_word_on_it() {
    let started = Notice::OrderStarted(1);
    let refused = Notice::Refused(Refusal::Busy);
    let of = |what: &[Notice]| run(say(what)).verdict;
    assert_eq!(of(&[WELL]), Verdict::Unfinished, "never taken");
    assert_eq!(of(&[WELL, started]), Verdict::Unfinished, "ended before");
    assert_eq!(of(&[Notice::OrderStarted(7), WELL]), Verdict::Unfinished, "another order");
    assert_eq!(of(&[refused, started, WELL]), Verdict::Refused);
    assert_eq!(of(&[started, Notice::OrderEnded(false), WELL]), Verdict::Failed);
    assert_eq!(of(&[started, WELL, Notice::OrderEnded(false)]), Verdict::Failed);
    assert_eq!(of(&[started, refused, WELL]), Verdict::Pass, "a refusal of something else");
    assert_eq!(of(&[started, WELL]), Verdict::Pass);
}

/// A recovery of ten minutes and a charge of two, told or not: the true figures are the same.
#[test]
fn true_figures_rest_on_no_word_of_the_controller() {
    use Actuator::{C1, Xv1, Xv2, Xv3, Xv4, Xv5, Xv10};
    let does = vec![(60, 660, vec![Xv1, Xv2, Xv3, Xv4, C1]), (700, 820, vec![Xv1, Xv2, Xv5, Xv10])];
    let (begin, end) = (Notice::PhaseStarted, |kind| Notice::PhaseEnded(kind, Outcome::Done));
    let (taken, ended) = ((1, vec![Notice::OrderStarted(1)]), (900, vec![WELL]));
    let silent = vec![taken.clone(), ended.clone()];
    let honest = vec![
        taken.clone(),
        (59, vec![begin(PhaseKind::Recover)]),
        (661, vec![end(PhaseKind::Recover)]),
        (699, vec![begin(PhaseKind::Charge)]),
        (821, vec![end(PhaseKind::Charge)]),
        ended.clone(),
    ];
    // Says that it charges when half of it is in, and that it has recovered what it never began to.
    let false_one = vec![taken, (690, vec![end(PhaseKind::Recover)]), (760, vec![begin(PhaseKind::Charge); 2]), ended];
    let all = [silent, honest, false_one].map(|says| run(Liar { says, does: does.clone(), ..Liar::default() }));
    for r in &all {
        assert!((380.0..445.0).contains(&r.recovered_g.truth), "{:?}", r.recovered_g);
        assert!(r.charged_g.truth > 100.0, "{:?}", r.charged_g);
        assert_eq!((r.recovered_g, r.charged_g), (all[0].recovered_g, all[0].charged_g));
        assert!(r.ledger.error_g.abs() < 1e-6);
    }
}

/// One that only ends phases has recovered nothing, let alone what is in the vessel.
#[test]
fn an_end_of_a_recovery_that_never_began_recovers_nothing() {
    let r = run(say(&[Notice::OrderStarted(1), Notice::PhaseEnded(PhaseKind::Recover, Outcome::Done), WELL]));
    assert!(r.recovered_g.truth.abs() < 1.0, "{:?}", r.recovered_g);
}

#[test]
fn figures_stay_finite_whatever_is_told() {
    let least = Milligram(i32::MIN);
    let masses = [Notice::Recovered(least), Notice::Charged(least), Notice::OilDrained(least)];
    let phases = [Notice::PhaseStarted(PhaseKind::Charge), Notice::PhaseStarted(PhaseKind::Charge)];
    let all = [&[Notice::OrderStarted(1)][..], &masses, &masses, &phases, &[WELL]].concat();
    let r = run(say(&all));
    let json = files::json(&r).expect("it has a form");
    assert!(!json.contains("NaN") && r.recovered_g.shown.is_some_and(f64::is_finite), "{json}");
    let held = r.expectations.iter().find(|one| one.name.starts_with("recovered_within")).expect("judged");
    assert!(!held.held);
}

/// A thousand notices a scan, each a question: it is taken off, and what was told so far stays within bounds.
#[test]
fn a_flood_of_notices_ends_the_controller() {
    let asked = Notice::Asked(Asked { number: 1, question: Question::Purge });
    let mut liar = say(&[Notice::OrderStarted(1)]);
    liar.every_scan = vec![asked; 1_000];
    let r = run(liar);
    let fault = r.controller.fault.as_ref().expect("it was taken off");
    assert!(fault.why.contains("notices") && fault.on == ["K-1"], "{fault:?}");
    assert!(r.notices.len() < 60_000 && r.exit_code() == 2, "{} notices", r.notices.len());
}

/// Everything on at once, from the first second on.
#[test]
fn a_controller_that_switches_everything_on_breaks_no_balance() {
    let mut liar = say(&[Notice::OrderStarted(1)]);
    liar.does = vec![(2, 900, Actuator::ALL.to_vec())];
    liar.says.push((905, vec![WELL]));
    let r = run(liar);
    assert!(r.plant_fault.is_none() && r.ledger.error_g.abs() < 1e-6, "{:?} {:?}", r.plant_fault, r.ledger);
    assert!(r.reached.escaped_g > 50.0, "{:?}", r.reached);
}
