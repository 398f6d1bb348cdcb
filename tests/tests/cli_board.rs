//! What the command says where there is no board to speak to, or where it is asked for what a line cannot do.

use crate::cli_bench::Bench;

#[test]
fn a_board_without_firmware_is_refused_with_the_way_to_build_it() {
    let bench = Bench::new();
    for line in ["semihosting", "uart"] {
        let answer = bench.run(&["run", "--board", line]).exits(64);
        answer.complains(&[&format!("target/firmware/loop_{line}"), "tests/target/build.sh", "--firmware"]);
        assert!(!bench.path("results").exists(), "nothing may be written before the board is known to be there");
    }
    bench.run(&["replay", "large_leak"]).exits(64).complains(&["target/firmware/loop_semihosting", "build.sh"]);
}

#[test]
fn options_of_a_board_need_a_board() {
    let bench = Bench::new();
    for option in [["--firmware", "image"], ["--disturb", "lost@5s"], ["--patience", "900"]] {
        bench.run(&["run", option[0], option[1]]).exits(64).complains(&["--board"]);
    }
}

#[test]
fn a_disturbance_is_refused_where_nobody_could_tell_it() {
    let bench = Bench::new();
    let answer = bench.run(&["run", "--board", "semihosting", "--disturb", "silent@5s"]).exits(64);
    answer.complains(&["cannot tell a silence", "--board uart"]);
    let answer = bench.run(&["run", "--board", "uart", "--disturb", "torn@5s"]).exits(64);
    answer.complains(&["`torn` is no way to disturb a line", "unplugged"]);
}

#[test]
fn a_patience_outside_its_range_is_told_with_the_range() {
    let bench = Bench::new();
    for wrong in ["99", "600001", "soon"] {
        bench.run(&["run", "--board", "uart", "--patience", wrong]).exits(64).complains(&["--patience", wrong]);
    }
}

#[test]
fn replay_refuses_what_it_cannot_replay() {
    let bench = Bench::new();
    std::fs::write(bench.path("image"), "no image").expect("a file of the bench can be written");
    bench.run(&["replay", "--firmware", "image", "noise:loud"]).exits(64).complains(&["noise:NUMBER"]);
    bench.run(&["replay", "--firmware", "image", "mild_hatchbak"]).exits(64).complains(&["mild_hatchback"]);
}

#[test]
fn a_replay_of_nothing_is_refused() {
    let answer = Bench::new().run(&["replay", "--random", "0"]);
    assert_eq!(answer.code, Some(64), "{}", answer.out);
    assert!(answer.err.contains("nothing to replay"), "{}", answer.err);
}

#[test]
fn faults_of_a_replay_are_refused_with_what_there_is() {
    let bench = Bench::new();
    let (beyond, backwards) = (["F", "139"].concat(), ["F010-", "F005"].concat());
    for (wrong, says) in [
        (beyond.as_str(), "F001 to F138"),
        ("f023", "nearest: F023"),
        (backwards.as_str(), "F005 comes before F010"),
        ("F001,,F002", "has no fault ``"),
    ] {
        bench.run(&["replay", "--faults", wrong]).exits(64).complains(&[says]);
    }
    // Words of a fault are those of a scenario.
    std::fs::write(bench.path("image"), "no image").expect("a file of the bench can be written");
    let fault = |words: &'static str| bench.run(&["replay", "--firmware", "image", words]).exits(64);
    fault("fault:F102 mode=twice").complains(&["repeat"]);
    fault("fault:F102 repeat").complains(&["KEY=VALUE"]);
    fault("fault:").complains(&["has no fault ``"]);
}

#[test]
fn the_fault_of_the_line_leads_to_what_spoils_a_real_one() {
    let answer = Bench::new().run(&["fault", "show", "F138"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert!(answer.out.contains("--board semihosting --disturb lost@300s"), "{}", answer.out);
}
