//! The flow laws themselves, row by row against tables made outside: flashing and gas nozzles (f1), hoses (f2).
//!
//! Limits are those the tables' author states a simulator should meet, or what a law of another form can meet by his comparison:
//!
//! | table | our law | limit |
//! | --- | --- | --- |
//! | f1 liquid and two-phase | homogeneous equilibrium | 1 % |
//! | f1 vapour | real isentropic nozzle | 1 % |
//! | f1 saturated vapour | ideal-gas formula with k = rho a^2/p | 3 % |
//! | f2 gas, liquid | Churchill, inertia, choking | 1 % |
//! | f2 wet | Mueller-Steinhagen and Heck | 3 % |
//! | f2 transition and molecular | viscous and molecular part added | 1 % |

use std::f64::consts::PI;

use valvewright_sim::fluid::{Fluid, FluidKind};
use valvewright_sim::plant::laws::{flash, friction, hose, nozzle, wet};
use valvewright_sim::report::axis::significant;

use crate::solved::{Reference, data};

/// Accuracy of the iterations: the coarsest that the plant asks for.
const CLOSE: f64 = 1e-5;
const R: f64 = 8.314_462_618;
const ZERO_C: f64 = 273.15;

/// A law held against a table.
#[derive(Debug, Clone)]
pub struct Checked {
    /// File under `tests/data/flow`.
    pub table: &'static str,
    /// Which law, on which rows.
    pub law: &'static str,
    /// Relative deviation allowed.
    pub limit: f64,
    /// Rows.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Debug, Clone)]
pub struct Row {
    /// Row of the table, from 1.
    pub number: usize,
    /// Fluid or kind of inlet.
    pub group: String,
    /// Reference value, SI.
    pub theirs: f64,
    /// Ours.
    pub ours: f64,
}

impl Row {
    /// Relative deviation; infinite where ours is no number.
    pub fn deviation(&self) -> f64 {
        let made = self.ours / self.theirs - 1.0;
        if made.is_nan() { f64::INFINITY } else { made }
    }
}

impl Checked {
    /// The row that deviates most.
    pub fn worst(&self) -> Option<&Row> {
        self.rows.iter().max_by(|a, b| a.deviation().abs().total_cmp(&b.deviation().abs()))
    }

    /// Whether all rows stay within the limit, and there are any.
    pub fn holds(&self) -> bool {
        self.worst().is_some_and(|row| row.deviation().abs() <= self.limit)
    }

    /// Rows over the limit.
    pub fn over(&self) -> usize {
        self.rows.iter().filter(|row| row.deviation().abs() > self.limit).count()
    }

    /// One line.
    pub fn line(&self) -> String {
        let worst = self.worst().map_or_else(String::new, |row| {
            format!(
                "{:+.3} % in row {} ({}: {:.6e} here, {:.6e} there)",
                100.0 * row.deviation(),
                row.number,
                row.group,
                row.ours,
                row.theirs
            )
        });
        let [mean, rms] = self.scatter().map(|value| 100.0 * value);
        let (over, rows) = (self.over(), self.rows.len());
        let limit = significant(100.0 * self.limit, 2);
        format!(
            "{} {}: {rows} rows, mean {mean:+.3} %, rms {rms:.3} %, worst {worst}; {over} over the limit of {limit} %",
            self.table, self.law
        )
    }

    /// Mean and root mean square of the deviations.
    pub fn scatter(&self) -> [f64; 2] {
        let count = self.rows.len().max(1) as f64;
        let mean = self.rows.iter().map(Row::deviation).sum::<f64>() / count;
        [mean, (self.rows.iter().map(|row| row.deviation().powi(2)).sum::<f64>() / count).sqrt()]
    }
}

/// A table of laws.
pub struct Table {
    reference: Reference,
}

/// A row of a table, its cells by column.
pub struct Cells<'a> {
    table: &'a Reference,
    row: usize,
}

impl Table {
    /// Reads a table of `tests/data/flow`.
    pub fn read(name: &str) -> Result<Self, String> {
        Ok(Self { reference: Reference::read(&data().join("flow").join(format!("{name}.csv")))? })
    }

    /// Its rows.
    pub fn rows(&self) -> impl Iterator<Item = Cells<'_>> {
        (0..self.reference.rows.len()).map(|row| Cells { table: &self.reference, row })
    }

    /// Lines of its head.
    pub fn head(&self) -> &[String] {
        &self.reference.head
    }

    /// Holds a law against a column, on the rows for which it gives a value.
    fn check(
        &self,
        table: &'static str,
        law: &'static str,
        limit: f64,
        (group, column): (&str, &str),
        ours: impl Fn(&Cells) -> Option<f64>,
    ) -> Checked {
        let row = |cells: Cells| {
            let ours = ours(&cells)?;
            Some(Row { number: cells.row + 1, group: cells.word(group).to_owned(), theirs: cells.get(column), ours })
        };
        Checked { table, law, limit, rows: self.rows().filter_map(row).collect() }
    }
}

impl Cells<'_> {
    /// Number in a column.
    pub fn get(&self, column: &str) -> f64 {
        self.table.column(column).map_or(f64::NAN, |at| self.table.rows[self.row].1[at])
    }

    /// Word in a column.
    pub fn word(&self, column: &str) -> &str {
        self.table.column(column).map_or("", |at| self.table.word(self.row, at))
    }

    fn fluid(&self, column: &str) -> Option<&'static Fluid> {
        self.word(column).parse::<FluidKind>().ok().map(Fluid::get)
    }

    /// The hose.
    pub fn bore(&self) -> hose::Bore {
        let roughness = self.get("eps_m");
        let roughness = if roughness.is_nan() { 0.0 } else { roughness };
        hose::Bore { diameter: self.get("D_m"), length: self.get("L_m"), roughness, fittings: 0.0 }
    }
}

/// Molar mass of a gas of the tables, kg/mol; air as the constant 287.05 J/(kg K) has it.
pub fn molar_mass(name: &str) -> f64 {
    match name {
        "Air" => R / 287.05,
        "Water" => 0.018_015_268,
        other => other.parse::<FluidKind>().map_or(f64::NAN, |kind| Fluid::get(kind).molar_mass()),
    }
}

/// All laws on all tables.
pub fn checked() -> Result<Vec<Checked>, String> {
    let mut all = Vec::new();
    for (name, kind) in [("f1_R1234yf", FluidKind::R1234yf), ("f1_R134a", FluidKind::R134a)] {
        all.extend(nozzles(name, Fluid::get(kind))?);
    }
    all.push(gas()?);
    all.extend(liquid()?);
    all.push(wet()?);
    all.push(rarefied()?);
    Ok(all)
}

/// Flux of a wet inlet through an ideal nozzle, kg/(m2 s).
pub fn flashing(fluid: &Fluid, p: f64, t: f64, x: f64, back: f64) -> f64 {
    let inlet = flash::Inlet { p, t, sat: fluid.sat(t), x, full: false };
    flash::flux(fluid, &inlet, back, 1.0, &mut 0.0).value
}

/// Flux of vapour through an ideal nozzle, kg/(m2 s), from pressure and temperature.
pub fn expanding(fluid: &Fluid, p: f64, t: f64, back: f64) -> f64 {
    let state = fluid.vapour_pt(p, t);
    let up = nozzle::Upstream { p, h: state.h, s: state.s, guess: t - 15.0 };
    nozzle::real_flux(fluid, up, back, &mut 0.58, 0.0)
}

fn nozzles(name: &'static str, fluid: &'static Fluid) -> Result<[Checked; 3], String> {
    let table = Table::read(name)?;
    let dry = |cells: &Cells| matches!(cells.word("inlet"), "sat_vapour" | "superheated");
    let (p, t) = (|cells: &Cells| cells.get("p0_Pa"), |cells: &Cells| cells.get("T0_C") + ZERO_C);
    let columns = ("inlet", "G_HEM");
    Ok([
        table.check(name, "flashing nozzle", 0.01, columns, |cells| {
            (!dry(cells)).then(|| flashing(fluid, p(cells), t(cells), cells.get("x0"), cells.get("pb_Pa")))
        }),
        table.check(name, "real gas nozzle", 0.01, columns, |cells| {
            dry(cells).then(|| expanding(fluid, p(cells), t(cells), cells.get("pb_Pa")))
        }),
        table.check(name, "ideal formula with k = rho a^2/p", 0.03, columns, |cells| {
            (cells.word("inlet") == "sat_vapour").then(|| {
                let k = fluid.sound_exponent_saturated(t(cells));
                nozzle::ideal_flux(p(cells), cells.get("rho0"), cells.get("pb_Pa"), k, 0.0).value
            })
        }),
    ])
}

/// Flow of gas through a hose without its molecular part, kg/s.
pub fn hose_gas(bore: &hose::Bore, gas: &hose::Gas, back: f64) -> f64 {
    hose::gas_flux(bore, gas, back, CLOSE, &mut hose::Start::default()).value * area(bore)
}

/// Flow of thin gas through a hose, kg/s: viscous and molecular.
pub fn hose_thin(bore: &hose::Bore, gas: &hose::Gas, back: f64) -> f64 {
    hose_gas(bore, gas, back) + hose::molecular(bore, gas, back) * (gas.p - back) * area(bore)
}

/// Flow of liquid, or of liquid with vapour, through a hose, kg/s.
pub fn hose_wet(fluid: &Fluid, bore: &hose::Bore, wet: &wet::Wet, back: f64) -> f64 {
    wet::wet_flux(fluid, bore, wet, back, CLOSE, &mut hose::Start::default(), false).value * area(bore)
}

fn area(bore: &hose::Bore) -> f64 {
    0.25 * PI * bore.diameter.powi(2)
}

fn gas() -> Result<Checked, String> {
    let table = Table::read("f2_gas")?;
    Ok(table.check("f2_gas", "gas in a hose", 0.01, ("fluid", "w_iso_kg_s"), |cells| {
        let thin = R / molar_mass(cells.word("fluid")) * (cells.get("T1_C") + ZERO_C);
        let (p, rho, viscosity) = (cells.get("p1_Pa"), cells.get("rho1"), cells.get("mu_Pa_s"));
        Some(hose_gas(&cells.bore(), &hose::Gas { p, rho, thin, viscosity }, cells.get("p2_Pa")))
    }))
}

fn liquid() -> Result<[Checked; 2], String> {
    let table = Table::read("f2_liquid")?;
    Ok([
        table.check("f2_liquid", "liquid in a hose", 0.01, ("fluid", "w_kg_s"), |cells| {
            let (rho, viscosity, head) = (cells.get("rho"), cells.get("mu_Pa_s"), cells.get("dp_Pa"));
            let (bore, start) = (cells.bore(), &mut hose::Start::default());
            Some(hose::liquid_flux(&bore, rho, viscosity, head, CLOSE, start).value * area(&bore))
        }),
        // The formula itself, to the digits of the table.
        table.check("f2_liquid", "friction factor", 2e-6, ("fluid", "f_Churchill"), |cells| {
            Some(friction::churchill(cells.get("Re"), cells.get("eps_m") / cells.get("D_m")).0)
        }),
    ])
}

fn wet() -> Result<Checked, String> {
    let table = Table::read("f2_wet")?;
    Ok(table.check("f2_wet", "liquid and vapour in a hose", 0.03, ("fluid", "w_MSH_kg_s"), |cells| {
        let wet = wet::Wet { p: cells.get("p1_Pa"), t: cells.get("T1_C") + ZERO_C, x: cells.get("x1") };
        Some(hose_wet(cells.fluid("fluid")?, &cells.bore(), &wet, cells.get("p2_Pa")))
    }))
}

fn rarefied() -> Result<Checked, String> {
    let table = Table::read("f2_rarefied")?;
    let kelvin = table.reference.parameter("T_K").ok_or("f2_rarefied: the head says no T_K")?;
    Ok(table.check("f2_rarefied", "gas from 1 bar to 0.1 Pa", 0.01, ("gas", "w_combined_kg_s"), |cells| {
        let thin = R / molar_mass(cells.word("gas")) * kelvin;
        let p = cells.get("p1_Pa");
        let gas = hose::Gas { p, rho: p / thin, thin, viscosity: cells.get("mu_Pa_s") };
        Some(hose_thin(&cells.bore(), &gas, cells.get("p2_Pa")))
    }))
}
