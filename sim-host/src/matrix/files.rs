//! The table for spreadsheets: one line a row with its evidence, metric with absolute pressures.

use valvewright_core::frame::Actuator;
use valvewright_core::interlock::table::Row;

use super::{marks, words};
use crate::evidence::{Evidence, Id};

/// The rows as CSV: outputs with the marks of the table, then latch, hazards, causes, what clears, why, the faults that can defeat the row,
/// and what shows it.
///
/// # Errors
/// None on memory; the writer's type says so.
pub fn csv(rows: &[&Row], evidence: &Evidence) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let tags = Actuator::ALL.iter().map(|one| one.tag());
    writer.write_record(["row"].into_iter().chain(tags).chain([
        "latch",
        "hazards",
        "acts",
        "cause is gone",
        "to clear",
        "why",
        "defeated by",
        "shown by",
    ]))?;
    for row in rows {
        let hazards: Vec<String> = words::hazards(row).map(|one| one.to_string()).collect();
        let list = |of: fn(&valvewright_core::interlock::table::Condition) -> crate::display::Sentence| {
            row.causes.iter().map(|one| of(one).to_string()).collect::<Vec<_>>().join("; ")
        };
        let faults: Vec<String> = evidence.faults_of(row).into_iter().map(|one| one.0.id.to_string()).collect();
        let shown: Vec<String> = evidence.shown_by(Id::from(row.id)).map(|one| one.command()).collect();
        let cells = Actuator::ALL.iter().map(|one| marks(row, *one));
        let rest = [
            words::latch(row.latch).to_owned(),
            hazards.join(" "),
            list(words::acts),
            list(words::clears),
            row.reset.text().to_owned(),
            row.why.text().to_owned(),
            faults.join(" "),
            shown.join("; "),
        ];
        writer.write_record(std::iter::once(row.id.to_string()).chain(cells).chain(rest))?;
    }
    let bytes = writer.into_inner().map_err(|wrong| wrong.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
