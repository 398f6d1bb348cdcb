//! The flow laws: which curves are drawn, and the section each table gets on the page.

use maud::{Markup, html};
use valvewright_sim::fluid::{Fluid, FluidKind};
use valvewright_sim::plant::laws::{hose, wet};
use valvewright_tests::law_reference::{Cells, Checked, Table, checked, expanding, flashing, hose_thin, hose_wet};

use valvewright_sim::report::axis::significant;

use super::curves::{Curve, Curves, curves, deviations, readable};
use super::plot::{HEIGHT, WIDTH};

const ZERO_C: f64 = 273.15;
/// Points of a curve of ours.
const POINTS: usize = 160;

/// A section for each table of laws, and how many laws hold of how many.
pub fn sections() -> Result<(Markup, [usize; 2]), String> {
    let all = checked()?;
    let count = [all.iter().filter(|one| one.holds()).count(), all.len()];
    type Table = (&'static str, &'static str, &'static str, Option<(Curves, &'static str)>);
    let tables: Vec<Table> = vec![
        ("f1_R1234yf", "Nozzle, R-1234yf", "kg/(m² s)", Some((nozzle("f1_R1234yf", FluidKind::R1234yf)?, ""))),
        ("f1_R134a", "Nozzle, R-134a", "kg/(m² s)", Some((nozzle("f1_R134a", FluidKind::R134a)?, ""))),
        ("f2_gas", "Hose, gas", "kg/s", None),
        ("f2_liquid", "Hose, liquid", "kg/s; friction factor 1", None),
        (
            "f2_wet",
            "Hose, liquid and vapour",
            "kg/s",
            Some((
                wet()?,
                "Curves: 4.8 mm × 3 m, smooth, for shares of vapour x at the inlet. Dashed: Friedel's correlation, which shows how far such laws agree with each other.",
            )),
        ),
        (
            "f2_rarefied",
            "Hose, thin gas",
            "kg/s",
            Some((
                thin()?,
                "Curves: 4.8 mm × 2.5 m, 25 °C. Dashed: Knudsen's formula alone, which knows no turbulence and no choking.",
            )),
        ),
    ];
    let sections: Result<Vec<Markup>, String> = tables
        .into_iter()
        .map(|(table, title, across, drawn)| section(table, title, across, drawn.as_ref(), &all))
        .collect();
    let sections = sections?;
    let made = html! {
        h1 { "Flow laws" }
        p.lead {
            "Each law against every row of a table made outside. Dots are rows, by the size of the reference value, with ours minus the reference in %; curves show some of them in context."
        }
        @for section in sections { (section) }
    };
    Ok((made, count))
}

fn section(
    table: &'static str,
    title: &str,
    across: &'static str,
    drawn: Option<&(Curves, &str)>,
    all: &[Checked],
) -> Result<Markup, String> {
    let mine: Vec<&Checked> = all.iter().filter(|one| one.table == table).collect();
    let held = mine.iter().all(|one| one.holds());
    let read = Table::read(table)?;
    let frame = |inside: Markup| html! { svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" { (inside) } };
    Ok(html! {
        section id=(table) {
            h2 { (table) " " span { (title) } " " span.(if held { "held" } else { "broken" }) { @if held { "✓" } @else { "✕" } } }
            (table_of(&mine))
            @if let Some((_, note)) = drawn { p.note { (note) } }
            div.charts {
                @if let Some((drawn, _)) = drawn { (frame(curves(drawn))) }
                @for one in &mine { (frame(deviations(one, across))) }
            }
            details {
                summary { "Reference: tests/data/flow/" (table) ".csv" }
                @for line in read.head() { p { (line) } }
            }
        }
    })
}

fn table_of(laws: &[&Checked]) -> Markup {
    let percent = |value: f64| format!("{} %", significant(100.0 * value, 2));
    html! {
        table {
            thead { tr { th { "law" } th.number { "rows" } th.number { "mean" } th.number { "rms" } th.number { "worst" } th.number { "allowed" } th.number { "rows over" } } }
            tbody {
                @for law in laws {
                    @let [mean, rms] = law.scatter();
                    tr {
                        td { (readable(law.law)) }
                        td.number { (law.rows.len()) }
                        td.number { (percent(mean)) }
                        td.number { (percent(rms)) }
                        td.number { @if let Some(row) = law.worst() { (percent(row.deviation())) small { " row " (row.number) } } }
                        td.number { (percent(law.limit)) }
                        td.number.(if law.holds() { "held" } else { "broken" }) { (law.over()) }
                    }
                }
            }
        }
    }
}

/// From `low` to `high`, evenly.
fn even(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..=POINTS).map(move |at| low + (high - low) * at as f64 / POINTS as f64)
}

/// Flux at 20 degC over the back pressure.
fn nozzle(name: &str, kind: FluidKind) -> Result<Curves, String> {
    let (table, fluid) = (Table::read(name)?, Fluid::get(kind));
    let inlets = [
        ("saturated liquid", "sat_liquid", 0.0, 0.0),
        ("5 K subcooled", "subcooled", 5.0, 0.0),
        ("10 K subcooled", "subcooled", 10.0, 0.0),
        ("20 % vapour", "two_phase", 0.0, 0.2),
        ("saturated vapour", "sat_vapour", 0.0, 1.0),
    ];
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let lines = inlets.into_iter().map(|(label, inlet, step, x)| {
        let chosen: Vec<Cells> = table
            .rows()
            .filter(|row| row.word("inlet") == inlet && near(row.get("T0_C"), 20.0))
            .filter(|row| near(row.get("dT_K"), step) && near(row.get("x0"), x))
            .collect();
        let p0 = chosen.first().map_or(f64::NAN, |row| row.get("p0_Pa"));
        let t = 20.0 + ZERO_C;
        let flux = |back| if x < 1.0 { flashing(fluid, p0, t, x, back) } else { expanding(fluid, p0, t, back) };
        Curve {
            name: label.to_owned(),
            theirs: chosen.iter().map(|row| (row.get("pb_Pa") / p0, row.get("G_HEM"))).collect(),
            ours: even(0.0, 1.0).map(|share| (share, flux(share * p0))).collect(),
            other: Vec::new(),
        }
    });
    let title = "Inlet at 20 °C".to_owned();
    Ok(Curves {
        title,
        unit: "kg/(m² s)",
        across: "back pressure / inlet pressure",
        logarithmic: false,
        lines: lines.collect(),
    })
}

/// Flow over the exit pressure, with a second correlation dashed: that is how far such laws agree.
fn wet() -> Result<Curves, String> {
    let (table, fluid) = (Table::read("f2_wet")?, Fluid::get(FluidKind::R1234yf));
    let of_interest = |row: &Cells| {
        row.word("fluid") == "R1234yf"
            && (row.get("D_m"), row.get("L_m"), row.get("eps_m"), row.get("T1_C")) == (4.8e-3, 3.0, 0.0, 25.0)
    };
    let lines = [0.0, 0.05, 0.2, 0.5, 0.9].into_iter().map(|x| {
        let chosen: Vec<Cells> = table.rows().filter(|row| of_interest(row) && row.get("x1") == x).collect();
        let p1 = chosen.first().map_or(f64::NAN, |row| row.get("p1_Pa"));
        let bore = hose::Bore { diameter: 4.8e-3, length: 3.0, roughness: 0.0, fittings: 0.0 };
        let flow = |back| 1e3 * hose_wet(fluid, &bore, &wet::Wet { p: p1, t: 25.0 + ZERO_C, x }, back);
        let column = |name: &str| chosen.iter().map(|row| (row.get("p2_Pa") / p1, 1e3 * row.get(name))).collect();
        Curve {
            name: format!("x = {x}"),
            theirs: column("w_MSH_kg_s"),
            ours: even(0.0, 1.0).map(|share| (share, flow(share * p1))).collect(),
            other: column("w_Friedel_kg_s"),
        }
    });
    let title = "R-1234yf, 25 °C".to_owned();
    Ok(Curves {
        title,
        unit: "g/s",
        across: "exit pressure / inlet pressure",
        logarithmic: false,
        lines: lines.collect(),
    })
}

/// Flow into vacuum over the inlet pressure, eight decades of it.
fn thin() -> Result<Curves, String> {
    let table = Table::read("f2_rarefied")?;
    let lines = ["Air", "Water", "R1234yf"].into_iter().map(|name| {
        let chosen: Vec<Cells> = table
            .rows()
            .filter(|row| {
                row.word("gas") == name && (row.get("D_m"), row.get("L_m"), row.get("p2_Pa")) == (4.8e-3, 2.5, 0.0)
            })
            .collect();
        let viscosity = chosen.first().map_or(f64::NAN, |row| row.get("mu_Pa_s"));
        let thin = 8.314_462_618 * 298.15 / valvewright_tests::law_reference::molar_mass(name);
        let bore = hose::Bore { diameter: 4.8e-3, length: 2.5, roughness: 0.0, fittings: 0.0 };
        let flow = |p: f64| 1e3 * hose_thin(&bore, &hose::Gas { p, rho: p / thin, thin, viscosity }, 0.0);
        Curve {
            name: name.to_owned(),
            theirs: chosen.iter().map(|row| (row.get("p1_Pa"), 1e3 * row.get("w_combined_kg_s"))).collect(),
            ours: even(-1.0, 5.0).map(|power| (10f64.powf(power), flow(10f64.powf(power)))).collect(),
            other: chosen.iter().map(|row| (row.get("p1_Pa"), 1e3 * row.get("w_Knudsen_kg_s"))).collect(),
        }
    });
    let title = "Into vacuum".to_owned();
    Ok(Curves { title, unit: "g/s", across: "Pa", logarithmic: true, lines: lines.collect() })
}
