//! The years in a page of text.
use super::tally::Tally;
/// The summary.
pub fn text(tally: &Tally) -> String { format!("{:#?}", (tally.services, &tally.ledger, tally.ledger_worst_g, &tally.breaches)) }
