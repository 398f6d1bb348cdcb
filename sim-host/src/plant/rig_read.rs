//! Rigs from TOML: the schedule and its sweeps, checked against the network they drive, each mistake told once and with its place.

use super::network::Plant;
use super::parameter;
use super::parse::{self, Parts};
use super::rig::{Condition, RigSpec, Step, SweepAxis, Swept, Test};
use super::spec::{PlaceKind, Tolerance};
use crate::scenario::diagnostic::{Diagnostic, Problems, Source, nearest};
use crate::scenario::quantity::{self, Dim};
use crate::scenario::reader::{self, Node};

/// Longest time a step may take, s.
const LONGEST: f64 = 1e7;
/// Longest time of a step that only has a condition, s.
const USUAL_LONGEST: f64 = 86_400.0;
/// Steps within steps.
const DEEPEST: usize = 4;
/// Values of a sweep.
const MOST_VALUES: usize = 1000;

/// Reads a rig file.
pub fn parse_rig(source: &Source) -> Result<RigSpec, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut root = document.root();
    let mut problems = Problems::new();
    let title = problems.take(root.string("title")).unwrap_or_default();
    let output = problems.take(root.quantity_or("output", Dim::Time, 1e-3..=1e6, 1.0)).unwrap_or(1.0);
    let tolerance = problems.take(root.quantity_or("tolerance", Dim::Number, 1e-8..=1e-2, 1e-5)).unwrap_or(1e-5);
    let parts = parse::network_part(&mut root, &mut problems);
    let plant = built(&root, &parts, &mut problems);
    let mut reader = Reader { parts: &parts, plant: plant.as_ref(), problems: &mut problems };
    let steps = reader.steps(&mut root, output, 0);
    let sweep = reader.sweep(&mut root);
    root.finish_into(&mut problems);
    match parts.spec {
        Some(network) if problems.is_empty() => Ok(RigSpec { title, network, steps, sweep, output, tolerance }),
        _ => Err(problems.into_list()),
    }
}

/// The network as a plant, to ask for its signals; none where something is wrong with it.
fn built(root: &Node, parts: &Parts, problems: &mut Problems) -> Option<Plant> {
    let spec = parts.spec.as_ref().filter(|_| problems.is_empty())?;
    Plant::new(spec, Tolerance::RIG).map_err(|wrong| problems.push(root.error_here(wrong.to_string()))).ok()
}

struct Reader<'a> {
    parts: &'a Parts,
    plant: Option<&'a Plant>,
    problems: &'a mut Problems,
}

impl Reader<'_> {
    fn steps(&mut self, node: &mut Node, output: f64, depth: usize) -> Vec<Step> {
        let mut made = Vec::new();
        for mut inner in self.problems.take(node.nodes("step")).unwrap_or_default() {
            if depth >= DEEPEST {
                self.problems.push(
                    inner
                        .error_here(format!("steps within steps go {DEEPEST} deep at most"))
                        .with_help("put them side by side"),
                );
                continue;
            }
            made.push(self.step(&mut inner, output, depth));
            inner.finish_into(self.problems);
        }
        made
    }

    /// One step; what is wrong with it is among the problems, and its value then stands for nothing.
    fn step(&mut self, node: &mut Node, output: f64, depth: usize) -> Step {
        let name = self.problems.take(node.string("name")).unwrap_or_default();
        let output = self.problems.take(node.quantity_or("output", Dim::Time, 1e-3..=1e6, output)).unwrap_or(output);
        let set = self.set(node);
        let change = self.parameters(node, "change");
        let ramp = self.parameters(node, "ramp");
        let until = self.problems.take(node.opt_string("until")).flatten();
        let until = until.and_then(|text| {
            let read = self.condition(&text);
            self.problems.take(read.map_err(|(message, help)| node.error_at("until", message).with_help(help)))
        });
        let longest = self.problems.take(node.opt_quantity("for", Dim::Time, 0.0..=LONGEST)).flatten();
        let round = self.steps(node, output, depth + 1);
        self.length(node, &name, !round.is_empty() && round.iter().all(|inner| inner.longest <= 0.0));
        if !ramp.is_empty() {
            self.even(node, longest);
        }
        Step { name, set, change, ramp, until, longest: longest.unwrap_or(USUAL_LONGEST), output, round }
    }

    /// A step must take time and end.
    fn length(&mut self, node: &Node, name: &str, idle_round: bool) {
        if idle_round {
            self.problems.push(
                node.error_at("step", "a repeated round takes no time")
                    .with_help("give one of its steps a `for` above 0 s"),
            );
        }
        if !node.has("for") && !node.has("until") {
            self.problems.push(
                node.error_here(format!("step `{name}` never ends"))
                    .with_help("give `for` (a time) or `until` (a condition), or both"),
            );
        }
    }

    /// A ramp takes its whole step, so that step must have one known length.
    fn even(&mut self, node: &Node, longest: Option<f64>) {
        let wrong = if node.has("until") {
            "its step has an `until`, so nobody knows how long it takes"
        } else if node.has("step") {
            "its step holds steps of its own"
        } else if node.has("for") && longest.is_none_or(|time| time > 0.0) {
            return;
        } else {
            "its step takes no time"
        };
        let help = "give the ramp a step of its own with `for`, the time it takes";
        self.problems.push(node.error_at("ramp", format!("a ramp cannot be even here: {wrong}")).with_help(help));
    }

    fn set(&mut self, node: &mut Node) -> Vec<(String, f64)> {
        let Some(Some(mut table)) = self.problems.take(node.opt_node("set")) else {
            return Vec::new();
        };
        let mut made = Vec::new();
        for key in table.keys() {
            if self.parts.elements.iter().any(|name| name == key) {
                let read = table.quantity(key, Dim::Fraction, 0.0..=1.0);
                made.extend(self.problems.take(read).map(|value| (key.to_owned(), value)));
            } else {
                let known = self.parts.elements.join(", ");
                self.problems.push(
                    table
                        .error_at(key, format!("there is no element `{key}`"))
                        .with_help(format!("elements: {known}; other numbers go into `change`")),
                );
            }
        }
        made
    }

    /// The table `change` or `ramp`: `"NAME.KEY" = "value"`, or the same with bare dotted keys.
    fn parameters(&mut self, node: &mut Node, what: &str) -> Vec<(String, f64)> {
        let mut made = Vec::new();
        if let Some(Some(mut table)) = self.problems.take(node.opt_node(what)) {
            self.parameters_below(&mut table, "", what == "ramp", &mut made);
        }
        made
    }

    fn parameters_below(&mut self, table: &mut Node, above: &str, ramp: bool, made: &mut Vec<(String, f64)>) {
        for key in table.keys() {
            let name = if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") };
            if table.holds_table(key) {
                if let Some(Some(mut inner)) = self.problems.take(table.opt_node(key)) {
                    self.parameters_below(&mut inner, &name, ramp, made);
                }
                continue;
            }
            match self.parameter(table, key, &name, ramp) {
                Ok(found) => made.extend(found),
                Err(wrong) => self.problems.push(wrong),
            }
        }
    }

    fn parameter(
        &self,
        table: &mut Node,
        key: &str,
        name: &str,
        ramp: bool,
    ) -> Result<Option<(String, f64)>, Diagnostic> {
        let Some(network) = &self.parts.spec else {
            return Ok(None);
        };
        let found = match parameter::find(network, name) {
            Ok(found) => found,
            Err(_) if self.unread(name) => return Ok(None),
            Err((message, help)) => return Err(table.error_at(key, message).with_help(help)),
        };
        if ramp && !found.ramps {
            return Err(table.error_at(key, format!("`{name}` cannot move in a ramp")).with_help(
                "a ramp moves `VOLUME.surroundings` or `VOLUME.cold_wall.surroundings`; set it with `change`",
            ));
        }
        let value = table.quantity(key, found.dim, found.range)?;
        Ok(Some((found.name, value * found.factor)))
    }

    /// The owner is declared but could not be read; that has been said.
    fn unread(&self, parameter: &str) -> bool {
        let Some(spec) = &self.parts.spec else { return true };
        let owns = |name: &String| parameter.strip_prefix(name.as_str()).is_some_and(|rest| rest.starts_with('.'));
        let volume = self.parts.volumes.iter().find(|name| owns(name));
        let element = self.parts.elements.iter().find(|name| owns(name));
        volume.is_some_and(|name| spec.volumes.iter().all(|one| one.name != *name))
            || element.is_some_and(|name| spec.elements.iter().all(|one| one.name != *name))
    }

    /// `<signal> < <quantity>`, `<signal> > <quantity>`, `<signal> rises by <quantity>`, `<signal> falls by <quantity>`.
    fn condition(&self, text: &str) -> Result<Condition, (String, String)> {
        let shapes = "write `loop.p < 40 kPa`, `loop.m > 480 g`, `loop.m rises by 500 g` or `vessel.m falls by 500 g`";
        let tests = [("<", Test::Below), (">", Test::Above), ("rises by", Test::RisesBy), ("falls by", Test::FallsBy)];
        let found = tests.iter().find_map(|(sign, test)| text.split_once(sign).map(|(l, r)| (l.trim(), *test, r)));
        let Some((signal, test, value)) = found else {
            return Err((format!("`{text}` is no condition"), shapes.to_owned()));
        };
        let (owner, field) = signal.rsplit_once('.').ok_or((format!("`{signal}` is no signal"), shapes.to_owned()))?;
        self.readable(owner, field, signal)?;
        let difference = matches!(test, Test::RisesBy | Test::FallsBy);
        let dim = dimension(field, difference);
        let value = quantity::parse(value.trim(), dim).map_err(|wrong| (wrong.message, wrong.help))?;
        Ok(Condition { signal: signal.to_owned(), test, value: value.si })
    }

    fn readable(&self, owner: &str, field: &str, signal: &str) -> Result<(), (String, String)> {
        let known = self.parts.volumes.iter().chain(&self.parts.elements).map(String::as_str);
        if !known.clone().any(|name| name == owner) {
            let all = known.clone().collect::<Vec<_>>().join(", ");
            let help = match nearest(owner, known) {
                Some(near) => format!("nearest: `{near}`; known: {all}"),
                None => format!("known: {all}"),
            };
            return Err((format!("`{owner}` is no volume or element"), help));
        }
        let fields = match self.plant {
            Some(plant) if plant.signal(signal).is_some() => return Ok(()),
            Some(plant) => {
                let names = plant.signal_names();
                let own = names.iter().filter_map(|(name, _)| name.rsplit_once('.')).filter(|(of, _)| *of == owner);
                own.map(|(_, field)| field).collect::<Vec<_>>().join(", ")
            }
            None if super::signal::unit(field).is_some() => return Ok(()),
            None => super::signal::all_fields(),
        };
        Err((format!("`{field}` is no signal of `{owner}`"), format!("signals: {fields}")))
    }

    fn sweep(&mut self, root: &mut Node) -> Vec<SweepAxis> {
        let nodes = self.problems.take(root.nodes("sweep")).unwrap_or_default();
        let mut read: Vec<(SweepAxis, Node)> = Vec::new();
        for mut node in nodes {
            let axis = self.axis(&mut node);
            let axis = self.problems.take(axis).flatten();
            for one in node.unknown_keys() {
                self.problems.push(one);
            }
            read.extend(axis.map(|axis| (axis, node)));
        }
        self.fit(&read);
        read.into_iter().map(|(axis, _)| axis).collect()
    }

    fn axis(&mut self, node: &mut Node) -> Result<Option<SweepAxis>, Diagnostic> {
        let names: Vec<&str> = self.parts.volumes.iter().map(String::as_str).collect();
        let read = node.one_of("volume", &names).map(str::to_owned);
        let volume = self.problems.take(read);
        let mut found = None;
        for (key, what, dim) in Swept::ALL {
            if found.is_some() {
                let why = "a sweep varies one quantity; write a second [[sweep]] for the other, and all pairs are run";
                if let Some(one) = node.misplaced(key, why) {
                    self.problems.push(one);
                }
            } else if node.has(key) {
                let range = if *dim == Dim::Mass { parse::range::MASSES } else { parse::range::TEMPERATURES };
                found = Some((*what, *key, node.list_of_quantities(key, *dim, range)?));
            }
        }
        let Some((what, key, values)) = found else {
            return Err(node
                .error_here("a sweep names nothing to vary")
                .with_help("give one list: `temperature`, `refrigerant` or `air`"));
        };
        if values.is_empty() || values.len() > MOST_VALUES {
            return Err(node
                .error_at(key, format!("a sweep has 1 to {MOST_VALUES} values, this one has {}", values.len()))
                .with_help("write a list, such as [\"10 degC\", \"25 degC\"]"));
        }
        Ok(volume.map(|volume| SweepAxis { volume, what, values }))
    }

    /// Every combination of starting values must fit into its volume.
    fn fit(&mut self, axes: &[(SweepAxis, Node)]) {
        let Some(network) = self.parts.spec.as_ref().filter(|_| self.problems.is_empty()) else {
            return;
        };
        for volume in &network.volumes {
            let own: Vec<_> = axes.iter().filter(|(axis, _)| axis.volume == volume.name).collect();
            let Some((last, node)) = own.last() else { continue };
            if volume.kind != PlaceKind::Closed {
                self.problems.push(
                    node.error_at("volume", format!("`{}` has no content to vary", volume.name))
                        .with_help("name a closed volume"),
                );
                continue;
            }
            let runs: usize = own.iter().map(|(axis, _)| axis.values.len()).product();
            let wrong = (0..runs).find_map(|run| {
                let mut filled = volume.clone();
                let mut rest = run;
                for (axis, _) in &own {
                    axis.what.put(&mut filled, axis.values[rest % axis.values.len()]);
                    rest /= axis.values.len();
                }
                parse::misfit(&filled, network.fluid, network.second)
            });
            if let Some(wrong) = wrong {
                self.problems.push(node.error_at(last.what.key(), wrong.message).with_help(wrong.help));
            }
        }
    }
}

/// Dimension of a signal's value.
fn dimension(field: &str, difference: bool) -> Dim {
    match super::signal::unit(field) {
        Some("Pa") if difference => Dim::PressureDifference,
        Some("K") if difference => Dim::TemperatureDifference,
        Some("Pa") => Dim::Pressure,
        Some("K") => Dim::Temperature,
        Some("kg") => Dim::Mass,
        Some("kg/s") => Dim::MassFlow,
        Some("W") => Dim::Power,
        Some("A") => Dim::Current,
        Some("m3") => Dim::Volume,
        _ => Dim::Fraction,
    }
}
