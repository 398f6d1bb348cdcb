//! Temperatures that nothing in a network can have made.
//!
//! Two rules, both from the energy balance of a well-stirred volume, dU/dt = sum over inlets of w h_in - sum over outlets of w h + q.
//!
//! *Too hot.* With no oil inside (its heat of solution is another source) a gas is warmed by walls, by what flows in and by the work of
//! flowing in: filling an empty volume from a source at T_s ends at k T_s, and any other filling below that or below where it
//! began. Rows are samples, so the source itself may have been filled just before, unseen: k^2. k = cp/cv of the gas that has the
//! most: 1.40 air, 1.33 steam, 1.20 refrigerant vapour at low pressure (1.12 from the tables at 25 degC, more near saturation). A
//! compressor's discharge counts as a source.
//!
//! *Off its wall.* Gas without liquid follows its wall with the time constant (m c)/UA. Where that is short beside the time between
//! two rows, what is left of the difference is what the streams carry at the time: UA |T - T_wall| <= sum of w (|h_in - h| + p/rho). Flows
//! between two rows are taken as the larger of both, and twice that; streams out of a volume that holds liquid may bring its heat of
//! evaporation. The integrator's own tolerance comes on top. Gas at rest in near vacuum thus has the temperature of its wall, whatever
//! little is left of it. There is no rule for the lower end beyond that: a blow-down may cool a gas as far as it likes.

use valvewright_sim::fluid::water;
use valvewright_sim::plant::rig::{RigSeries, RigSpec, Row, Step};
use valvewright_sim::plant::spec::{Amount, ElementSpec, LawSpec, NetworkSpec, VolumeSpec, WallSpec};

use super::judge::Failure;

const ZERO_C: f64 = 273.15;
/// How much shorter a time constant must be than the time between two rows.
const SHORT: f64 = 100.0;
/// Specific heat that is above any gas's here, J/(kg K), and gas constant above any's (steam 461.5).
const MOST_CP: f64 = 2000.0;
const MOST_R: f64 = 462.0;
/// Heat of evaporation above either refrigerant's at any temperature of the tables, J/kg (R-134a at -40 degC: 2.3e5).
const MOST_LATENT: f64 = 3e5;
/// Temperature error that is no matter of physics: the tolerance's share of 300 K, a few times over, and a kelvin.
const SLACK: f64 = 5.0 * 300.0;

/// Values of a series by name.
struct Table<'a> {
    series: &'a RigSeries,
}

impl Table<'_> {
    fn at(&self, row: &Row, name: &str) -> Option<f64> {
        self.series.column(name).map(|column| row.values[column])
    }

    /// Signals of a volume that count a mass, with their values.
    fn of<'r>(&self, row: &'r Row, volume: &str) -> impl Iterator<Item = (&str, f64)> + use<'_, 'r> {
        let own = format!("{volume}.");
        let heads = self.series.columns.iter().zip(&row.values).filter(|(head, _)| head.unit == "kg");
        heads.filter_map(move |(head, value)| Some((head.name.strip_prefix(&own)?, *value)))
    }

    /// All that is in a volume, kg; what is counted twice makes the sum the safer.
    fn masses(&self, row: &Row, volume: &str) -> f64 {
        self.of(row, volume).map(|(_, mass)| mass.max(0.0)).sum()
    }

    /// Whether a volume holds liquid refrigerant.
    fn liquid(&self, row: &Row, volume: &str) -> bool {
        self.of(row, volume).any(|(field, mass)| field.starts_with("m_liq") && mass > 0.0)
    }

    /// A temperature, K.
    fn kelvin(&self, row: &Row, name: &str) -> Option<f64> {
        self.at(row, name).map(|celsius| celsius + ZERO_C)
    }
}

/// Ratio of specific heats of the gas that has the most.
fn exponent(network: &NetworkSpec) -> f64 {
    let air = |volume: &VolumeSpec| volume.fill.air != Amount::Mass(0.0);
    let ambient = |element: &ElementSpec| element.from == "ambient" || element.to == "ambient";
    let ballast = |element: &ElementSpec| matches!(&element.law, LawSpec::VacuumPump(pump) if pump.oil.is_some());
    let wet = |volume: &VolumeSpec| {
        volume.pool.is_some() || [volume.wall, volume.cold_wall].into_iter().flatten().any(|wall| wall.water > 0.0)
    };
    if network.volumes.iter().any(air) || network.elements.iter().any(|one| ambient(one) || ballast(one)) {
        1.40
    } else if network.volumes.iter().any(wet) {
        1.33
    } else {
        1.20
    }
}

/// Every temperature that the file itself brings in, K.
fn given(spec: &RigSpec) -> f64 {
    let network = &spec.network;
    let walls = network.volumes.iter().flat_map(|volume| [volume.wall, volume.cold_wall]).flatten();
    let of_walls = walls.flat_map(|wall| [wall.surroundings, wall.start]).flatten();
    let fills = network.volumes.iter().map(|volume| volume.fill.temperature);
    let all = of_walls.chain(fills).chain([network.ambient.temperature]).chain(scheduled(&spec.steps));
    all.fold(0.0, f64::max)
}

fn scheduled(steps: &[Step]) -> Vec<f64> {
    let own = |step: &Step| {
        let all = step.change.iter().chain(&step.ramp);
        let hot = all.filter(|(name, _)| name.ends_with(".surroundings") || name == "ambient.temperature");
        hot.map(|(_, value)| *value).collect::<Vec<_>>()
    };
    steps.iter().flat_map(|step| own(step).into_iter().chain(scheduled(&step.round))).collect()
}

/// A volume with a wall and no oil hotter than two fillings from the hottest thing seen elsewhere.
pub(super) fn too_hot(spec: &RigSpec, series: &RigSeries) -> Option<Failure> {
    let table = Table { series };
    let k = exponent(&spec.network);
    let mut hottest = given(spec);
    let volumes = &spec.network.volumes;
    for row in &series.rows {
        for element in &spec.network.elements {
            if matches!(element.law, LawSpec::Compressor(_)) {
                hottest = hottest.max(table.kelvin(row, &format!("{}.t_out", element.name)).unwrap_or(0.0));
            }
        }
        let seen =
            |volume: &VolumeSpec, field: &str| table.kelvin(row, &format!("{}.{field}", volume.name)).unwrap_or(0.0);
        let walls = |volume: &VolumeSpec| seen(volume, "t_wall").max(seen(volume, "t_cold_wall"));
        for volume in volumes.iter().filter(|volume| volume.wall.is_some() && volume.oil.is_none()) {
            let others = volumes.iter().filter(|other| other.name != volume.name).map(|other| seen(other, "t"));
            let source = others.chain(volumes.iter().map(walls)).fold(hottest, f64::max);
            let t = seen(volume, "t");
            if t > k * k * source + SLACK * spec.tolerance + 1.0 {
                let words = format!(
                    "{} has {:.1} degC at {:.3} s in step {}; nothing else was hotter than {:.1} degC",
                    volume.name,
                    t - ZERO_C,
                    row.time,
                    row.phase,
                    source - ZERO_C
                );
                return Some(Failure::new("is hotter than anything can make it", words));
            }
        }
        hottest = volumes.iter().map(walls).fold(hottest, f64::max);
    }
    None
}

/// Gas whose temperature is not that of its wall though no stream is there to make the difference.
pub(super) fn off_its_wall(spec: &RigSpec, series: &RigSeries) -> Option<Failure> {
    let table = Table { series };
    // The row at a fault is where the integrator failed; that is said already.
    let good = series.rows.len() - usize::from(series.fault.is_some()).min(series.rows.len());
    let mut worst: Option<(f64, String)> = None;
    for volume in spec.network.volumes.iter().filter(|volume| volume.oil.is_none() && volume.pool.is_none()) {
        let Some(wall) = &volume.wall else { continue };
        if volume.cold_wall.is_some() && series.column(&format!("{}.t_cold_wall", volume.name)).is_none() {
            continue;
        }
        for rows in series.rows[..good].windows(2) {
            let [before, row] = rows else { continue };
            let gas = Gas { spec, table: &table, volume, wall };
            if let Some((excess, words)) = gas.off(before, row)
                && worst.as_ref().is_none_or(|known| excess > known.0)
            {
                worst = Some((excess, words));
            }
        }
    }
    worst.map(|(_, words)| Failure::new("has gas off the temperature of its wall", words))
}

/// The gas of one volume between two rows.
struct Gas<'a> {
    spec: &'a RigSpec,
    table: &'a Table<'a>,
    volume: &'a VolumeSpec,
    wall: &'a WallSpec,
}

impl Gas<'_> {
    fn value(&self, row: &Row, field: &str) -> f64 {
        self.table.at(row, &format!("{}.{field}", self.volume.name)).unwrap_or(0.0)
    }

    /// How far beyond its bound the temperature is, K, with words; none if it is within, or if the rule does not hold here.
    fn off(&self, before: &Row, row: &Row) -> Option<(f64, String)> {
        let conductance = self.wall.dry + self.volume.cold_wall.map_or(0.0, |wall| wall.dry);
        if before.phase != row.phase || conductance <= 0.0 || [before, row].iter().any(|one| self.wet(one)) {
            return None;
        }
        let mass = |one: &Row| self.table.masses(one, &self.volume.name);
        let constant = mass(before).max(mass(row)) * MOST_CP / conductance;
        if row.time - before.time < SHORT * constant {
            return None;
        }
        let t = self.value(row, "t") + ZERO_C;
        let mut walls: Vec<f64> = [before, row].map(|one| self.value(one, "t_wall") + ZERO_C).to_vec();
        if self.volume.cold_wall.is_some() {
            walls.extend([before, row].map(|one| self.value(one, "t_cold_wall") + ZERO_C));
        }
        let (low, high) = walls.iter().fold((f64::MAX, 0.0f64), |(low, high), one| (low.min(*one), high.max(*one)));
        let carried = 2.0 * (self.streams(before, row, t) + self.damp(before, row, t, high)) / conductance;
        let allowed = carried + SLACK * self.spec.tolerance + 1.0;
        let off = (low - t).max(t - high);
        (off > allowed).then(|| {
            let words = format!(
                "{} has {:.2} degC beside a wall of {:.2} degC at {:.3} s in step {} ({:.3e} kg of gas, {:.2} K can be explained)",
                self.volume.name,
                t - ZERO_C,
                high - ZERO_C,
                row.time,
                row.phase,
                mass(row),
                allowed
            );
            (off - allowed, words)
        })
    }

    /// Liquid or ice inside, whose heat of evaporation outweighs what gas carries.
    fn wet(&self, row: &Row) -> bool {
        self.table.liquid(row, &self.volume.name) || self.value(row, "quality") < 1.0 && self.value(row, "m") > 0.0
    }

    /// Power that streams may bring or take, W.
    fn streams(&self, before: &Row, row: &Row, t: f64) -> f64 {
        let name = &self.volume.name;
        let own = self.spec.network.elements.iter().filter(|element| element.from == *name || element.to == *name);
        own.map(|element| {
            let of = |one: &Row, field: &str| self.table.at(one, &format!("{}.{field}", element.name)).unwrap_or(0.0);
            let flow = of(before, "flow").abs().max(of(row, "flow").abs());
            if flow == 0.0 {
                return 0.0;
            }
            // What opens by itself between two rows is unseen.
            if matches!(element.law, LawSpec::Relief(_)) {
                return f64::MAX;
            }
            let other = if element.from == *name { &element.to } else { &element.from };
            let far = |one: &Row| {
                self.table.kelvin(one, &format!("{other}.t")).unwrap_or(self.spec.network.ambient.temperature)
            };
            let ends = [far(before), far(row), of(before, "t_out") + ZERO_C, of(row, "t_out") + ZERO_C];
            let apart = ends.iter().map(|end| (end - t).abs()).fold(0.0, f64::max);
            let liquid = [before, row].iter().any(|one| self.table.liquid(one, other));
            let latent = if liquid { MOST_LATENT } else { 0.0 };
            flow * (MOST_CP * apart + MOST_R * t + latent)
        })
        .sum()
    }

    /// Power that water settling on the walls or leaving them may take from the gas, W.
    fn damp(&self, before: &Row, row: &Row, t: f64, hottest: f64) -> f64 {
        let walls = [Some(*self.wall), self.volume.cold_wall];
        let held = walls.into_iter().flatten().any(|wall| wall.water > 0.0);
        let steam = self.value(before, "m_water").max(self.value(row, "m_water"));
        if !held && steam <= 0.0 {
            return 0.0;
        }
        let pressure = self.value(before, "p_water").max(self.value(row, "p_water")).max(water::p_liquid(hottest));
        let rate: f64 = walls.into_iter().flatten().map(|wall| wall.condensation * pressure).sum();
        rate * (MOST_R * t + MOST_CP * 20.0)
    }
}
