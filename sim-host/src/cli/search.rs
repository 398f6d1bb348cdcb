//! `search`: where accidents are likely, how near one comes, how probable it is; each goes out from one job of a plan.

use clap::Subcommand;

use super::output::{Exit, Refusal};
use super::{Global, explore, near, rare, set_points};

/// Which search.
#[derive(Debug, Subcommand)]
pub enum SearchVerb {
    /// Branch a job at each mark that it comes to for the first time: accidents of one fault and of two.
    Explore(explore::ExploreArgs),
    /// Look for the moment, severity and surroundings at which a hazard comes nearest.
    Near(near::NearArgs),
    /// Estimate how probable a rare accident is under stated rates of faults, with its interval.
    Rare(rare::RareArgs),
    /// Move each set point of the interlock table to its dangerous side: how far before a hazard comes about.
    SetPoints(set_points::SetPointsArgs),
}

/// Runs a search.
pub fn search(verb: &SearchVerb, global: Global) -> Result<Exit, Refusal> {
    match verb {
        SearchVerb::Explore(args) => explore::explore(args, global),
        SearchVerb::Near(args) => near::near(args, global),
        SearchVerb::Rare(args) => rare::rare(args, global),
        SearchVerb::SetPoints(args) => set_points::set_points(args, global),
    }
}
