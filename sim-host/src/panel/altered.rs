//! An interlock table that is not the shipped one: rows left out, set points moved. What a student asks "what if" with.

use serde_json::{Value, json};
use valvewright_core::interlock::MOST_MOVED;
use valvewright_core::interlock::table::Row;
use valvewright_core::row::{RowId, RowSet, Watch};

use crate::matrix::points;
use crate::run::Simulation;

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
