//! `panel`: the live page of a run, served on this machine.

use std::net::{IpAddr, Ipv4Addr};
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Args;

use super::Global;
use super::input;
use super::output::{Exit, Refusal, print, print_json};
use super::run::stop_on_interrupt;
use crate::lesson::{Lesson, Stand};
use crate::panel::{Session, Start, serve, solve};
use crate::scenario::shipped::DEMO;

/// What to show.
#[derive(Debug, Args)]
pub struct PanelArgs {
    /// A shipped scenario, random:SEED, or a file.
    #[arg(value_name = "NAME|FILE", default_value = DEMO)]
    scenario: String,
    /// Do the job on this station, shipped or a file, in place of the scenario's.
    #[arg(long, value_name = "NAME|FILE")]
    station: Option<String>,
    /// Take this lesson in place of a scenario: a shipped one, `list` to see them, or a file.
    #[arg(long, value_name = "NAME|FILE", conflicts_with_all = ["scenario", "station", "by_hand"])]
    lesson: Option<String>,
    /// Hints of lessons cannot be read.
    #[arg(long)]
    no_hints: bool,
    /// Play the lesson's own solution here, without a page, and say what came of it: for whoever writes a lesson.
    #[arg(long, requires = "lesson", conflicts_with_all = ["port", "address", "no_hints"])]
    solve: bool,
    /// Questions of the station are left to you; without it the scenario's operator answers them.
    #[arg(long)]
    by_hand: bool,
    /// Port on this machine; 0 is any that is free.
    #[arg(long, value_name = "PORT", default_value_t = 8480)]
    port: u16,
    /// Serve on this address in place of 127.0.0.1: whoever reaches it can steer the simulation. There is no password.
    #[arg(long, value_name = "IP")]
    address: Option<IpAddr>,
}

/// Serves until interrupted.
pub fn panel(args: &PanelArgs, global: Global) -> Result<Exit, Refusal> {
    static STOP: AtomicBool = AtomicBool::new(false);
    if let (true, Some(name)) = (args.solve, &args.lesson) {
        return solved(&input::lesson(name)?, global);
    }
    let station = args.station.as_deref().map(input::station).transpose()?;
    let start = match &args.lesson {
        Some(name) => Start::of_lesson(input::lesson(name)?, !args.no_hints),
        None => Start { station, ..Start::of(input::scenario(&args.scenario)?, args.by_hand) },
    };
    let session = Session::new(start).map_err(Refusal::misuse)?;
    let ip = args.address.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    if !ip.is_loopback() {
        eprintln!(
            "valvewright: warning: {ip} can be reached from other machines, and whoever reaches it can steer this simulation"
        );
    }
    let served = serve(session, ip, args.port).map_err(|why| {
        let wrong = Refusal::misuse(format!("--port {}: it cannot be had on {ip}: {why}", args.port));
        wrong.with_help("another one from 1024 to 65535, or 0 for any that is free")
    })?;
    let address = format!("http://{}/", served.at);
    if global.json {
        print_json(&serde_json::json!({ "address": address }))?;
    } else {
        print(&format!(
            "{address}\n\nOpen it in a browser on this machine; Ctrl-C ends it. A simulated station with an uncertified design: no guide to work on a\n\
             real one, which holds flammable gas under pressure; local codes and licensed practice decide there.\n"
        ))?;
    }
    stop_on_interrupt(&STOP);
    served.until(|| STOP.load(Ordering::Relaxed)).map_err(|why| Refusal::ours(format!("the server: {why}")))?;
    Ok(Exit::Held)
}

/// Plays a lesson by its own solution.
fn solved(lesson: &Lesson, global: Global) -> Result<Exit, Refusal> {
    let played = solve(lesson).map_err(Refusal::misuse)?;
    let well = played.solved_s.is_some() && !played.by_itself;
    let goals = played.goals.iter().map(|goal| (goal.name.as_str(), goal.stand == Stand::Holds));
    if global.json {
        let goals: Vec<_> = goals.map(|(name, holds)| serde_json::json!({ "name": name, "holds": holds })).collect();
        print_json(&serde_json::json!({
            "lesson": lesson.name, "solved_s": played.solved_s, "by_itself": played.by_itself, "answered": played.answered, "goals": goals,
        }))?;
    } else {
        let mut text = format!("{}: {}\n", lesson.name, lesson.title);
        for (name, holds) in goals {
            text += &format!("  {}  {name}\n", if holds { "holds" } else { "open " });
        }
        if lesson.question.is_some() {
            text += &format!("  {}  the answer\n", if played.answered { "right" } else { "wrong" });
        }
        text += &match (played.solved_s, played.by_itself) {
            (_, true) => {
                "It solves itself: every goal holds though nobody does anything, and nothing is asked.\n".to_owned()
            }
            (Some(t), false) => format!("Its solution solves it, at {t:.1} s.\n"),
            (None, false) => "Its solution does not solve it.\n".to_owned(),
        };
        print(&text)?;
    }
    Ok(if well { Exit::Held } else { Exit::Failed })
}
