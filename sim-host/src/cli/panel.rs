//! `panel`: the live page of a run, served on this machine.

use std::net::{IpAddr, Ipv4Addr};
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Args;

use super::Global;
use super::input;
use super::output::{Exit, Refusal, print, print_json};
use super::run::stop_on_interrupt;
use crate::panel::{Session, Start, serve};
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
    let station = args.station.as_deref().map(input::station).transpose()?;
    let source = input::scenario(&args.scenario)?;
    let session = Session::new(Start { source, station, by_hand: args.by_hand }).map_err(Refusal::misuse)?;
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
