//! The set points of the table that can be moved, each in the unit in which people read it.

use valvewright_core::interlock::can_move;
use valvewright_core::interlock::table::{Condition, ROWS, Row};
use valvewright_core::row::{RowId, Watch};

use super::Measure;
use super::words::watch_id;

/// A set point that is a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Its row.
    pub row: RowId,
    /// Its condition.
    pub watch: Watch,
    /// Where the table has it, in the unit.
    pub table: f64,
    /// `bar`, `degC`, `% LFL`, `%` of the fill limit, `kg`, `A`, `rpm` or `V`. A pressure counts from where its row counts it.
    pub unit: &'static str,
    /// So many units of the controller are one of these.
    pub per: f64,
}

impl Point {
    fn of(row: &Row, one: &Condition) -> Option<Self> {
        let Measure { value, unit, .. } = Measure::of(one.trip).filter(|_| can_move(one.watch))?;
        let of = |table, unit, per| Self { row: row.id, watch: one.watch, table, unit, per };
        Some(match unit {
            "Pa" => of(value / 1e5, "bar", 1e5),
            "K" => of(value - 273.15, "degC", 100.0),
            _ => of(value, unit, f64::from(one.trip.number()) / value),
        })
    }

    /// What it is called by, such as `vessel_pressure`.
    pub fn name(&self) -> String {
        watch_id(self.watch)
    }

    /// How much higher it lies at this figure, in the controller's unit; nothing where that is no sensible figure.
    pub fn by(&self, to: f64) -> Option<i32> {
        let by = ((to - self.table) * self.per).round();
        (by.abs() < 1e9).then_some(by as i32)
    }

    /// The same in as few places as say it: what [`read`] takes for this again.
    pub fn figure(&self, by: i32) -> f64 {
        let at = self.at(by);
        let rounded = |places: i32| (at * 10f64.powi(places)).round() / 10f64.powi(places);
        (0..9).map(rounded).find(|one| self.by(*one) == Some(by)).unwrap_or(at)
    }

    /// The figure at which it lies when it is moved by so much.
    pub fn at(&self, by: i32) -> f64 {
        self.table + f64::from(by) / self.per
    }
}

/// Those of a row.
pub fn of(row: &Row) -> Vec<Point> {
    row.causes.iter().filter_map(|one| Point::of(row, one)).collect()
}

/// All of them, in the order of the table.
pub fn all() -> Vec<Point> {
    ROWS.iter().flat_map(of).collect()
}

/// `vessel_pressure=18.2`: a set point and where it shall lie, as a condition and what it is moved by.
///
/// # Errors
/// There is no such set point, or no such figure.
pub fn read(words: &str) -> Result<(Watch, i32), String> {
    let (name, figure) = words.split_once('=').unwrap_or((words, ""));
    let list = all();
    let point = list.iter().find(|one| one.name() == name.trim()).ok_or_else(|| {
        let names: Vec<String> =
            list.iter().map(|one| format!("{} ({} {})", one.name(), one.table, one.unit)).collect();
        format!(
            "`{name}` is no set point that can be moved; accepted, with where the table has them: {}",
            names.join(", ")
        )
    })?;
    let to: Option<f64> = figure.trim().parse().ok();
    let by = to.filter(|to| to.is_finite()).and_then(|to| point.by(to));
    by.map(|by| (point.watch, by)).ok_or_else(|| format!("{name}={figure}: a figure in {} is wanted", point.unit))
}

/// A set point that lies elsewhere, in words: `vessel_pressure=18.2 bar`.
pub fn words(watch: Watch, by: i32) -> String {
    let name = watch_id(watch);
    let at = all().into_iter().find(|one| one.watch == watch);
    at.map_or(name.clone(), |one| format!("{name}={} {}", (one.at(by) * 1e4).round() / 1e4, one.unit))
}
