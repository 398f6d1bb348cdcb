//! What a comparison found: every pair of values, the worst of each quantity, and the moments of the events.

use std::fmt;

use super::{Kind, Quantity, Scale};

/// One compared value.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Point {
    /// Time of the reference, s.
    pub time: f64,
    /// Reference, in the unit of the column.
    pub theirs: f64,
    /// Ours, in the same unit.
    pub ours: f64,
    /// Ours minus theirs over the scale; infinite where one of them is no number.
    pub deviation: f64,
}

/// One quantity over the whole case.
#[derive(Debug, Clone)]
pub struct Found {
    /// The quantity.
    pub quantity: Quantity,
    /// Compared values.
    pub points: Vec<Point>,
    /// All of our values: time, s, and value; NaN where it does not count.
    pub line: Vec<(f64, f64)>,
}

/// The time of an event in both.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// What happens.
    pub name: String,
    /// In the reference, s.
    pub theirs: f64,
    /// Here, s.
    pub ours: f64,
    /// Allowed difference, s.
    pub limit: f64,
}

/// What a comparison found.
#[derive(Debug, Clone, Default)]
pub struct Solved {
    /// Case.
    pub case: String,
    /// Title of the rig.
    pub title: String,
    /// Lines of the reference's head.
    pub head: Vec<String>,
    /// Rows compared.
    pub rows: usize,
    /// Rows of the reference.
    pub wanted: usize,
    /// Quantities.
    pub quantities: Vec<Found>,
    /// Events.
    pub moments: Vec<Moment>,
    /// Integration steps accepted and rejected.
    pub steps: [u64; 2],
    /// Simulated seconds.
    pub seconds: f64,
    /// Wall time, s.
    pub wall: f64,
    /// Refrigerant unaccounted for over the inventory.
    pub mass_balance: f64,
    /// Energy unaccounted for over the energy moved or held.
    pub energy_balance: f64,
}

impl Found {
    /// The point that deviates most.
    pub fn worst(&self) -> Point {
        self.points.iter().copied().max_by(|a, b| a.deviation.abs().total_cmp(&b.deviation.abs())).unwrap_or_default()
    }

    /// Whether it stays within its limit.
    pub fn holds(&self) -> bool {
        self.worst().deviation.abs() <= self.quantity.limit
    }

    /// What turns a deviation into its unit, and that unit: `%` where it is relative.
    pub fn unit(&self) -> (f64, &'static str) {
        match (self.quantity.scale, self.quantity.kind()) {
            (Scale::Fixed(scale), Kind::Temperature) => (scale, "K"),
            (Scale::Fixed(scale), Kind::Mass) => (scale * 1e3, "g"),
            (Scale::Fixed(scale), Kind::Pressure) => (scale, "Pa"),
            (Scale::Fixed(scale), Kind::Volume) => (scale * 1e6, "mL"),
            (Scale::Fixed(scale), Kind::Share) => (scale, ""),
            _ => (100.0, "%"),
        }
    }

    /// A deviation in words, with unit and without sign.
    pub fn size(&self, deviation: f64) -> String {
        let (factor, unit) = self.unit();
        format!("{:.2e} {unit}", deviation.abs() * factor).trim_end().to_owned()
    }
}

impl Moment {
    /// Whether it stays within its limit.
    pub fn holds(&self) -> bool {
        (self.ours - self.theirs).abs() <= self.limit
    }
}

impl Solved {
    /// Everything outside its limit, one line each.
    pub fn broken(&self) -> Vec<String> {
        let mut all = Vec::new();
        for one in self.quantities.iter().filter(|one| !one.holds()) {
            let (worst, limit) = (one.worst(), one.size(one.quantity.limit));
            all.push(format!(
                "{}: {} is off by {} at {:.1} s ({} here, {} in the reference; limit {limit})",
                self.case,
                one.quantity.signal,
                one.size(worst.deviation),
                worst.time,
                worst.ours,
                worst.theirs
            ));
        }
        for one in self.moments.iter().filter(|one| !one.holds()) {
            all.push(format!(
                "{}: {} at {:.3} s, at {:.3} s in the reference (limit {:.2} s)",
                self.case, one.name, one.ours, one.theirs, one.limit
            ));
        }
        if self.rows < 20 || self.rows * 10 < self.wanted * 9 {
            all.push(format!("{}: only {} of {} rows could be compared", self.case, self.rows, self.wanted));
        }
        if self.mass_balance > 1e-9 || self.energy_balance > 1e-6 {
            all.push(format!("{}: balances {:e} {:e}", self.case, self.mass_balance, self.energy_balance));
        }
        all
    }

    /// The quantity of a kind that comes nearest to its limit.
    pub fn nearest(&self, kind: Kind) -> Option<&Found> {
        let share = |one: &Found| one.worst().deviation.abs() / one.quantity.limit;
        let of_kind = self.quantities.iter().filter(|one| one.quantity.kind() == kind && !one.points.is_empty());
        of_kind.max_by(|a, b| share(a).total_cmp(&share(b)))
    }

    /// The largest difference in the time of an event, s.
    pub fn latest(&self) -> f64 {
        self.moments.iter().map(|one| (one.ours - one.theirs).abs()).fold(0.0, f64::max)
    }
}

impl fmt::Display for Solved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:6} {:5} rows", self.case, self.rows)?;
        for kind in [Kind::Pressure, Kind::Temperature, Kind::Mass, Kind::Share, Kind::Volume] {
            if let Some(found) = self.nearest(kind) {
                let worst = found.worst();
                let place = format!("{} at {:.1} s", found.quantity.signal, worst.time);
                write!(f, "  {:>10} ({place:<28})", found.size(worst.deviation))?;
            }
        }
        write!(
            f,
            "  events {:.1e} s  steps {:5}+{:<4} {:6.2} us/step {:9.0} x  balances {:.0e} {:.0e}",
            self.latest(),
            self.steps[0],
            self.steps[1],
            1e6 * self.wall / (self.steps[0] + self.steps[1]).max(1) as f64,
            self.seconds / self.wall,
            self.mass_balance,
            self.energy_balance
        )
    }
}
