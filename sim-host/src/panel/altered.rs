//! An interlock table that is not the shipped one: rows left out, set points moved. What a student asks "what if" with.

use serde_json::{Value, json};
use valvewright_core::interlock::MOST_MOVED;
use valvewright_core::interlock::table::Row;
use valvewright_core::row::{RowId, RowSet, Watch};

use crate::matrix::points;
use crate::run::{RunOptions, Simulation};

/// What is altered.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Altered {
    /// Rows that are left out.
    pub without: RowSet,
    /// Set points that lie higher by so much, in the unit of their reading.
    pub moved: Vec<(Watch, i32)>,
}

impl Altered {
    /// A row is left out, or there again.
    ///
    /// # Errors
    /// The table has no such row.
    pub fn row(&mut self, row: &str, off: bool) -> Result<(), String> {
        let found = RowId::ALL.into_iter().find(|one| one.as_str() == row);
        let row = found.map(RowSet::one).ok_or_else(|| format!("the interlock table has no row `{row}`"))?;
        self.without = if off { self.without.or(row) } else { self.without.without(row) };
        Ok(())
    }

    /// A set point comes to lie at this value, in the unit that [`Altered::shown`] gives it.
    ///
    /// # Errors
    /// There is no such set point, or too many others are moved.
    pub fn set_point(&mut self, watch: &str, to: f64) -> Result<(), String> {
        let (watch, by) = points::read(&format!("{watch}={to}"))?;
        self.moved.retain(|(one, _)| *one != watch);
        if by != 0 {
            if self.moved.len() >= MOST_MOVED {
                return Err(format!("no more than {MOST_MOVED} set points are moved at once: put one back first"));
            }
            self.moved.push((watch, by));
        }
        Ok(())
    }

    /// The run goes on with this table in place of `before`.
    pub fn apply(&self, before: &Self, run: &mut Simulation) {
        run.leave_out(self.without);
        for (watch, _) in &before.moved {
            run.move_set_point(*watch, 0);
        }
        for (watch, by) in &self.moved {
            run.move_set_point(*watch, *by);
        }
    }

    /// Nothing is.
    pub fn is_nothing(&self) -> bool {
        self.without.is_empty() && self.moved.is_empty()
    }

    /// Rows that are left out or have a moved set point.
    pub fn rows(&self) -> RowSet {
        let of = |watch: Watch| points::all().into_iter().find(|one| one.watch == watch).map(|one| one.row);
        let moved = self.moved.iter().filter_map(|(watch, _)| of(*watch));
        moved.fold(self.without, |all, row| all.or(RowSet::one(row)))
    }

    /// A run that has this table from its beginning.
    pub fn options(&self) -> RunOptions {
        RunOptions { without: self.without, moved: self.moved.clone(), ..RunOptions::BARE }
    }

    /// The same for the command line, each word after a space.
    pub fn flags(&self) -> String {
        let rows = self.without.iter().map(|row| format!(" --without {row}"));
        let moved = self.moved.iter().filter_map(|(watch, by)| {
            let point = points::all().into_iter().find(|one| one.watch == *watch)?;
            Some(format!(" --set-point {}={}", point.name(), point.figure(*by)))
        });
        rows.chain(moved).collect()
    }

    /// For people: `without I03, with vessel_pressure at 18.2 bar (table: 17.01)`.
    pub fn words(&self) -> String {
        let rows: Vec<&str> = self.without.iter().map(RowId::as_str).collect();
        let rows = (!rows.is_empty()).then(|| format!("without {}", rows.join(" and ")));
        let moved = self.moved.iter().filter_map(|(watch, by)| {
            let point = points::all().into_iter().find(|one| one.watch == *watch)?;
            let (name, now, unit, table) = (point.name(), point.figure(*by), point.unit, point.figure(0));
            Some(format!("with {name} at {now} {unit} (table: {table})"))
        });
        let all: Vec<String> = rows.into_iter().chain(moved).collect();
        if all.is_empty() { "with the table as it is".to_owned() } else { all.join(", ") }
    }

    /// The set points of a row that can be moved, for a page.
    pub fn shown(&self, row: &Row) -> Vec<Value> {
        let one = |point: points::Point| {
            let by = self.moved.iter().find(|(watch, _)| *watch == point.watch).map_or(0, |(_, by)| *by);
            let round = |value: f64| (value * 1e4).round() / 1e4;
            json!({
                "watch": point.name(), "unit": point.unit, "table": round(point.table), "now": round(point.at(by)), "moved": by != 0,
            })
        };
        points::of(row).into_iter().map(one).collect()
    }
}
