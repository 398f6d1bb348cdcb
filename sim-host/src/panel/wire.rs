//! What travels between the server's threads and the one that runs the simulation.

use std::sync::Arc;

use tokio::sync::{oneshot, watch};

use super::altered::Altered;
use super::asked::Asked;
use super::odds::Question;
use super::start::Start;

/// A question to the thread of the run, with where its answer goes.
pub enum Wish {
    /// Do this; answered by what is wrong with it.
    Do(Asked, oneshot::Sender<Result<(), String>>),
    /// Rows of what is drawn, from this one on, as JSON.
    History(usize, oneshot::Sender<String>),
    /// The drawing of the network, as JSON.
    Drawing(oneshot::Sender<String>),
    /// Since when something was inevitable, as JSON.
    Odds(Question, oneshot::Sender<Result<String, String>>),
    /// The order's text, as JSON.
    Order(oneshot::Sender<String>),
    /// What the record store holds, as JSON.
    Records(oneshot::Sender<Result<String, String>>),
    /// What the run begins from, and its interlock table: all that a campaign knows of it.
    AtHand(oneshot::Sender<(Start, Altered)>),
    /// What came of the lesson, as JSON.
    Result(oneshot::Sender<Result<String, String>>),
    /// What was done by hand as a scenario file.
    Written(oneshot::Sender<Result<String, String>>),
    /// Nobody is there any more.
    End,
}

/// The newest frame: pages that are slow miss some, and nobody waits for them.
pub type Newest = watch::Sender<Arc<str>>;
