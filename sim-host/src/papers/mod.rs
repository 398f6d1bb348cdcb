//! Papers of a service: the ticket of each job, and the books of refrigerant with what the law wants kept.
//!
//! Both are made from result files. A ticket has only what the station said, for [`read`] knows no field of the truth; the ledger has the
//! same, and the weight of the station's refrigerant before and after each run, as an inventory would find it.

pub mod bought;
pub mod chart;
pub mod date;
pub mod gwp;
pub mod ledger;
pub mod ledger_page;
pub mod ledger_text;
pub mod read;
pub mod said;
pub mod slip;
pub mod teller;
pub mod ticket;
pub mod ticket_figures;
pub mod ticket_page;
pub mod ticket_text;
pub mod words;
