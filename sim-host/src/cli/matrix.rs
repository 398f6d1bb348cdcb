//! `matrix`: the interlock table of the core, whole or one row of it, and the evidence behind it.

use valvewright_core::interlock::table::{ROWS, Row};

use super::output::{Exit, Refusal, print, print_json};
use super::{Global, MatrixArgs, MatrixForm};
use crate::evidence::{self, Evidence, Id, pages, record};
use crate::matrix::{self, RowRecord};

/// The barometer that gauge set points count from: the table belongs to no site, so it is the standard atmosphere, Pa.
const BAROMETER: f64 = 101_325.0;

/// Prints the table, one row in full, or evidence.
pub fn matrix(args: &MatrixArgs, global: Global) -> Result<Exit, Refusal> {
    let evidence = Evidence::shipped();
    if args.evidence {
        return graph(args, global, evidence);
    }
    let one = args.row.as_deref().map(row).transpose()?;
    let display = args.display.display(BAROMETER);
    let rows: Vec<&Row> = one.map_or_else(|| ROWS.iter().collect(), |row| vec![row]);
    if global.json {
        match one {
            Some(row) => print_json(&RowRecord::of(row, evidence))?,
            None => print_json(&rows.into_iter().map(|row| RowRecord::of(row, evidence)).collect::<Vec<_>>())?,
        }
        return Ok(Exit::Held);
    }
    print(&match (args.format, one) {
        (MatrixForm::Text, None) => matrix::overview(evidence),
        (MatrixForm::Text, Some(row)) => matrix::full(row, evidence, &display),
        (MatrixForm::Markdown, None) => matrix::book(evidence, &display),
        (MatrixForm::Markdown, Some(row)) => matrix::section(row, evidence, &display),
        (MatrixForm::Html, _) => matrix::page(&rows, evidence, &display),
        (MatrixForm::Csv, _) => matrix::csv(&rows, evidence)
            .map_err(|wrong| Refusal::ours(format!("the table has no CSV form: {wrong}")))?,
    })?;
    Ok(Exit::Held)
}

/// Evidence, whole or of one id.
fn graph(args: &MatrixArgs, global: Global, all: &Evidence) -> Result<Exit, Refusal> {
    let one = args.row.as_deref().map(|text| id(text, all)).transpose()?;
    if global.json {
        print_json(&one.map_or_else(|| record::all(all), |id| record::record(all, id).unwrap_or_default()))?;
        return Ok(Exit::Held);
    }
    let text = match (args.format, one) {
        (MatrixForm::Text, None) => evidence::overview(all),
        (MatrixForm::Text, Some(id)) => evidence::full(all, id).unwrap_or_default(),
        (MatrixForm::Markdown, None) => pages::evidence(all),
        (MatrixForm::Markdown, Some(id)) => pages::section(all, id).unwrap_or_default(),
        (MatrixForm::Csv, _) => {
            record::csv(all, one).map_err(|wrong| Refusal::ours(format!("evidence has no CSV form: {wrong}")))?
        }
        (MatrixForm::Html, _) => {
            return Err(Refusal::misuse("evidence has no page of its own")
                .with_help("the page of the rows names faults and tests of each: leave --evidence out"));
        }
    };
    print(&text)?;
    Ok(Exit::Held)
}

fn id(text: &str, all: &Evidence) -> Result<Id, Refusal> {
    let id = Id::typed(text).filter(|id| all.node(*id).is_some());
    id.ok_or_else(|| {
        let near: Vec<String> = all.nearest(text).iter().map(ToString::to_string).collect();
        Refusal::misuse(format!("`{text}` is no hazard, row, fault, law or worked example")).with_help(format!(
            "nearest: {}; all: {}",
            near.join(", "),
            evidence::list(&all.ids())
        ))
    })
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
