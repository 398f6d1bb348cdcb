//! `matrix`: the interlock table of the core, whole or one row of it.

use valvewright_core::interlock::table::{ROWS, Row};

use super::output::{Exit, Refusal, print, print_json};
use super::{Global, MatrixArgs, MatrixForm};
use crate::matrix::{self, RowRecord};

/// The barometer that gauge set points count from: the table belongs to no site, so it is the standard atmosphere, Pa.
const BAROMETER: f64 = 101_325.0;

/// Prints the table, or one row in full.
pub fn matrix(args: &MatrixArgs, global: Global) -> Result<Exit, Refusal> {
    let one = args.row.as_deref().map(row).transpose()?;
    let display = args.display.display(BAROMETER);
    let rows: Vec<&Row> = one.map_or_else(|| ROWS.iter().collect(), |row| vec![row]);
    if global.json {
        match one {
            Some(row) => print_json(&RowRecord::from(row))?,
            None => print_json(&rows.into_iter().map(RowRecord::from).collect::<Vec<_>>())?,
        }
        return Ok(Exit::Held);
    }
    print(&match (args.format, one) {
        (MatrixForm::Text, None) => matrix::overview(),
        (MatrixForm::Text, Some(row)) => matrix::full(row, &display),
        (MatrixForm::Markdown, None) => matrix::book(&display),
        (MatrixForm::Markdown, Some(row)) => matrix::section(row, &display),
        (MatrixForm::Html, _) => matrix::page(&rows, &display),
        (MatrixForm::Csv, _) => {
            matrix::csv(&rows).map_err(|wrong| Refusal::ours(format!("the table has no CSV form: {wrong}")))?
        }
    })?;
    Ok(Exit::Held)
}

fn row(id: &str) -> Result<&'static Row, Refusal> {
    matrix::find(id).ok_or_else(|| {
        Refusal::misuse(format!("no interlock row is called `{id}`")).with_help(format!(
            "nearest: {}; rows: {}",
            matrix::nearest(id).join(", "),
            matrix::ids().join(", ")
        ))
    })
}
