//! The HTML report: whole without network and scripts, the same bytes for the same run, and everything told in words as well.

use valvewright_sim::display::STANDARD;
use valvewright_sim::report::data::{BoardFault, ControllerResult, Outcome, RunResult, Trace, Verdict};
use valvewright_sim::report::page::page;
use valvewright_sim::report::text::summary;
use valvewright_sim::scenario::{Scenario, parse, shipped};

fn demo() -> Scenario {
    parse::read(&shipped::source(shipped::DEMO).expect("shipped")).expect("reads")
}

fn written(name: &str, result: &RunResult, trace: &Trace) -> String {
    let text = page(&demo(), result, trace, &STANDARD);
    // Left in the target folder to be looked at in a browser.
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(path, &text).expect("target folder is writable");
    text
}

#[test]
fn the_page_needs_nothing_from_outside() {
    let text = written("report-pass.html", &crate::report_sample::result(), &crate::report_sample::trace());
    let without_namespace = text.replace("http://www.w3.org/2000/svg", "");
    for outside in ["http:", "https:", "src=", "href=", "@import", "@font-face"] {
        assert!(!without_namespace.contains(outside), "the page refers to {outside}");
    }
    assert!(text.len() < 2_000_000, "{} bytes", text.len());
}

#[test]
fn figures_phases_notices_and_cautions_stand_in_the_text() {
    let result = crate::report_sample::result();
    let text = written("report-words.html", &result, &crate::report_sample::trace());
    for figure in ["441.2", "476.7", "−3.3", "9f0c51b8a2d34e77", "I10", "Flammable gas", "High voltage", "licence"] {
        assert!(text.contains(figure), "{figure} is missing");
    }
    for notice in &result.notices {
        assert!(text.contains(&notice.text.to_string()), "{} is missing", notice.text);
    }
    for tag in ["XV-1<", "XV-10<", "K-1<"] {
        assert!(text.contains(tag), "{tag} has no strip");
    }
}

#[test]
fn equal_runs_give_equal_bytes_whatever_time_they_took() {
    let mut slow = crate::report_sample::result();
    slow.wall_seconds = 7.5;
    slow.speed = 360.0;
    let trace = crate::report_sample::trace();
    let shown = |result: &RunResult| page(&demo(), result, &trace, &STANDARD);
    assert_eq!(shown(&crate::report_sample::result()), shown(&slow));
}

#[test]
fn a_refusal_and_a_partial_run_are_said_in_words() {
    let (mut result, mut trace) = (crate::report_sample::result(), crate::report_sample::trace());
    result.verdict = Verdict::Refused;
    result.phases[4].outcome = Outcome::Failed;
    result.phases[4].detail = "rise of 14 mbar in 5 min, straight: a leak".into();
    result.phases.truncate(5);
    result.charged_g.target = None;
    trace.phases[4].outcome = Outcome::Failed;
    trace.phases.truncate(5);
    let text = written("report-refused.html", &result, &trace);
    assert!(text.contains("Leak check ended the order after 45 min: rise of 14 mbar"));
    result.partial = true;
    result.verdict = Verdict::Unfinished;
    assert!(written("report-partial.html", &result, &trace).contains("Partial: the run was interrupted"));
    result.plant_fault = Some("too hot".to_owned());
    assert!(written("report-fault.html", &result, &trace).contains("Partial: the plant could not go on"));
    result.plant_fault = None;
    result.controller.fault = Some(BoardFault { t_s: 1.0, why: "it ended".to_owned(), on: Vec::new() });
    assert!(summary("a job", &result, &STANDARD).contains("Partial: the controller was lost"));
}

#[test]
fn an_empty_run_still_makes_a_page() {
    let mut result = crate::report_sample::result();
    result.phases.clear();
    result.notices.clear();
    result.interlocks.clear();
    let text = written("report-empty.html", &result, &Trace::default());
    assert!(text.contains("None tripped") && text.contains("None was given"));
}

#[test]
fn text_from_files_cannot_break_out_of_the_page() {
    let mut scenario = demo();
    scenario.title = "</title><script>alert(1)</script>".to_owned();
    let text = page(&scenario, &crate::report_sample::result(), &crate::report_sample::trace(), &STANDARD);
    assert!(!text.contains("<script>alert"));
}

#[test]
fn a_board_and_how_it_was_lost_are_said_on_page_and_terminal() {
    let mut result = crate::report_sample::result();
    result.controller.joined = "uart".to_owned();
    let same = "on the board by uart: the same as on the host in every scan";
    let page = written("report-board.html", &result, &crate::report_sample::trace());
    assert!(page.contains(same) && summary("a job", &result, &STANDARD).contains(same));
    let fault = BoardFault {
        t_s: 600.0,
        why: "nothing came for 700 ms".to_owned(),
        on: vec!["K-1".to_owned(), "C-1".to_owned()],
    };
    result.controller.fault = Some(fault);
    let lost = "lost at 10:00: nothing came for 700 ms; then on: K-1, C-1";
    let page = written("report-lost.html", &result, &crate::report_sample::trace());
    assert!(page.contains(lost) && summary("a job", &result, &STANDARD).contains(lost));
}

/// Figures that a controller did not say are not invented, and nothing is claimed that rests on the core.
#[test]
fn another_controller_is_named_and_what_it_does_not_say_is_left_open() {
    let mut result = crate::report_sample::result();
    result.controller =
        ControllerResult { name: "filler".to_owned(), joined: "program".to_owned(), core: false, fault: None };
    (result.recovered_g.shown, result.oil_drained_ml) = (None, None);
    let page = written("report-other.html", &result, &crate::report_sample::trace());
    let text = summary("a job", &result, &STANDARD);
    for words in [&page, &text] {
        assert!(words.contains("by filler, another controller, joined by program"), "{words}");
        assert!(words.contains("are its own word"), "{words}");
    }
    assert!(page.contains("not said by the controller") && text.contains("recovered       not said"), "{text}");
}

/// From one hour on a time has seven letters, from ten hours on eight; figures of 14 px are at most 8 px wide.
#[test]
fn the_times_of_notices_have_room_for_a_job_of_ten_hours() {
    let text = written("report-long.html", &crate::report_sample::result(), &crate::report_sample::trace());
    let columns = text.split(".notices li { display: grid; grid-template-columns: ").nth(1).expect("a list of notices");
    let widths: Vec<f64> =
        columns.split(';').next().unwrap_or_default().split("px").filter_map(|one| one.trim().parse().ok()).collect();
    let padding = 12.0;
    assert!(widths[1] - padding >= 8.0 * "10:02:30".len() as f64, "{widths:?}");
}

/// The drawing scrolls sideways on a narrow screen, and its list of lines with it; the other list stands outside of what scrolls.
#[test]
fn the_legend_stands_beside_what_scrolls_as_well() {
    let trace = crate::report_sample::trace();
    let text = written("report-legend.html", &crate::report_sample::result(), &trace);
    let (before, drawn) = text.split_once("class=\"chart-scroll\"").expect("the chart scrolls by itself");
    let list = before.split("class=\"legend\"").nth(1).expect("a list of lines before it");
    for channel in &trace.channels {
        assert!(list.contains(&channel.spec.label) && drawn.contains(&channel.spec.label), "{}", channel.spec.label);
    }
    assert!(list.contains("bar abs") && list.contains("mbar abs, log"), "{list}");
}
