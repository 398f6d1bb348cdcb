//! The table `[controller]`: each key with its unit and limits, its usual value, or the figure of the network that it must agree with.

use std::ops::RangeInclusive;

use valvewright_core::frame::{ANALOG_COUNT, Actuator, Actuators, Analog};
use valvewright_core::kept::Limits;
use valvewright_core::token::CodeKey;
use valvewright_core::units::Milligram;

use super::agree::{self, Without};
use super::derive::{Derived, Names, Network};
use super::facts::Facts;
use super::hoses;
use super::transmitters::transmitter;
use crate::scenario::diagnostic::{Diagnostic, Problems, nearest};
use crate::scenario::quantity::{Dim, range_text, short, text};
use crate::scenario::reader::Node;

/// How far a stated figure may lie from the network's, as a share of that: room for rounding and for a measured value.
const TOLERANCE: f64 = 0.005;
/// Smallest and largest vessel, m3.
const SIZES: (f64, f64) = (2e-3, 120e-3);
/// Usual rating of a vessel, kg/m3: below the 80 % liquid at 21 degC of both refrigerants (own choice).
const RATED: f64 = 800.0;
/// Heaviest platform, kg: the core calibrates with no more.
const HEAVIEST: f64 = 100.0;
/// Usual heel, kg/m3, and least: what a vessel without liquid holds at 40 degC, so that there is liquid to draw (own choice).
const HEEL: (f64, f64) = (80.0, 60.0);
/// Least that covers a heater, kg: I12 shuts it off below.
const COVER: f64 = 1.0;

/// A table being read, and what it is held against.
struct Table<'a, 'p> {
    node: Option<Node<'a>>,
    /// The table's head, or the top of a file without one.
    head: Diagnostic,
    names: Names<'a>,
    /// None: the network could not be read, and nothing is held against it.
    network: Option<Network<'a>>,
    problems: &'p mut Problems,
}

/// Reads the table, if there is one. None where something is wrong with it or with the network.
pub(super) fn facts(
    node: Option<Node<'_>>,
    head: Diagnostic,
    names: Names<'_>,
    network: Option<Network<'_>>,
    problems: &mut Problems,
) -> Option<Facts> {
    let mut table = Table { node, head, names, network, problems };
    let made = table.facts();
    if let Some(node) = table.node.take() {
        node.finish_into(table.problems);
    }
    made
}

impl Table<'_, '_> {
    fn told(&mut self, spot: &Diagnostic, message: String, help: impl Into<String>) {
        self.problems.push(Diagnostic { message, ..spot.clone() }.with_help(help));
    }

    /// What is stated; `Err` where it cannot be used.
    fn stated(&mut self, key: &str, dim: Dim, range: &RangeInclusive<f64>) -> Result<Option<f64>, ()> {
        let Some(node) = &mut self.node else { return Ok(None) };
        node.opt_quantity(key, dim, range.clone()).map_err(|wrong| self.problems.push(wrong))
    }

    fn spot(&self, key: &str) -> Diagnostic {
        self.node.as_ref().map_or_else(|| self.head.clone(), |node| node.error_at(key, ""))
    }

    /// A figure that follows from the network where it is not stated.
    fn derived(
        &mut self,
        key: &str,
        dim: Dim,
        range: RangeInclusive<f64>,
        from: impl Fn(&Network<'_>) -> Option<Derived>,
        unit: Option<&str>,
    ) -> Option<f64> {
        let stated = self.stated(key, dim, &range).ok()?;
        let derived = self.network.as_ref().and_then(from);
        match (stated, derived) {
            (Some(own), Some(derived)) if (own - derived.value).abs() > TOLERANCE * derived.value => {
                let (own, of_network) = (text(dim, own, unit), text(dim, derived.value, unit));
                let what = format!("controller.{key}: {own}, and the network says {of_network} by {}", derived.told());
                let share = TOLERANCE * 100.0;
                let help = format!("they must agree within {share} %; leave `{key}` out to take the network's");
                self.told(&self.spot(key), what, help);
                None
            }
            (Some(own), _) => Some(own),
            (None, Some(derived)) if !range.contains(&derived.value) => {
                let what =
                    format!("{} gives the controller a `{key}` of {}", derived.key, text(dim, derived.value, unit));
                let help = format!("accepted range: {}", range_text(dim, &range, unit));
                self.told(&derived.spot, what, help);
                None
            }
            (None, Some(derived)) => Some(derived.value),
            (None, None) => {
                if self.network.is_some() {
                    let what = format!("`{key}` is missing in [controller], and does not follow from the network");
                    self.told(&self.head.clone(), what, format!("add `{key}`: {}", range_text(dim, &range, unit)));
                }
                None
            }
        }
    }

    /// A figure that does not follow from the network.
    fn usual(&mut self, key: &str, dim: Dim, range: RangeInclusive<f64>, usual: f64) -> Option<f64> {
        let stated = self.stated(key, dim, &range).ok()?;
        let value = stated.unwrap_or(usual);
        if !range.contains(&value) {
            let what =
                format!("controller.{key}: {}, which is usual, does not suit this station", text(dim, usual, None));
            self.told(&self.head.clone(), what, format!("state `{key}`: {}", range_text(dim, &range, None)));
            return None;
        }
        Some(value)
    }

    fn facts(&mut self) -> Option<Facts> {
        let without = self.without();
        if let Some(without) = &without {
            agree::elements(self.names, self.network, without, self.problems);
        }
        if let Some(network) = self.network {
            agree::parts(network, self.problems);
            hoses::agree(network, self.problems);
        }
        let volumes = 1e-6..=2e-3;
        let vessel = self.derived("vessel", Dim::Volume, SIZES.0..=SIZES.1, |n| n.volume("vessel"), None);
        let hose = self.derived("hose", Dim::Volume, volumes.clone(), |n| n.hose(), Some("mL"));
        let manifold = self.derived("manifold", Dim::Volume, volumes, |n| n.volume("manifold"), Some("mL"));
        let air_changes = self.derived("air_changes", Dim::Time, 5.0..=600.0, |n| n.air_changes(), None);
        let charge_area = self.derived("charge_area", Dim::Area, 5e-8..=2e-5, |n| n.charge_area(), None);
        let compressor_draws =
            self.derived("compressor_draws", Dim::VolumeFlow, 1e-5..=5e-3, |n| n.compressor_draws(), Some("cm3/s"));
        let heated = without.as_ref().is_none_or(|without| without.devices.is_empty());
        // Of a vessel that could not be read nothing is known: any mass that some vessel may hold will do.
        let size = vessel.unwrap_or(SIZES.0);
        let most = (900.0 * vessel.unwrap_or(SIZES.1)).min(HEAVIEST / 1.2);
        let rated = self.usual("rated", Dim::Mass, 200.0 * size..=most, (RATED * size).min(most));
        if let (Some(size), true) = (vessel, heated) {
            self.covered(size);
        }
        let load = rated.unwrap_or((RATED * size).min(most));
        let least = (HEEL.1 * size).max(if heated && vessel.is_some() { COVER } else { 0.0 });
        let half = 0.5 * if vessel.is_some() { load } else { most };
        let heel = self.usual("heel", Dim::Mass, least..=half.max(least), (HEEL.0 * size).max(least));
        let recovery_end = self.usual("recovery_end", Dim::Pressure, 31e3..=60e3, 36e3);
        let over = recovery_end.unwrap_or(36e3) + 5e3;
        let recovery_restart = self.usual("recovery_restart", Dim::Pressure, over..=101_325.0, 80e3);
        let leak_limit = self.usual("leak_limit", Dim::LeakRate, 2e-4..=2e-2, 2e-3);
        let scales = self.scales(load);
        let ranges = self.ranges(heated);
        let code_key = self.code_key();
        let usual = Limits::USUAL;
        let kg = |of: Milligram| f64::from(of.0) * 1e-6;
        let drier = self.usual("drier_limit", Dim::Mass, kg(Limits::DRIER.0)..=kg(Limits::DRIER.1), kg(usual.drier));
        let oil = f64::from(Limits::PUMP_OIL.0)..=f64::from(Limits::PUMP_OIL.1);
        let pump_oil = self.usual("pump_oil_limit", Dim::Time, oil, f64::from(usual.pump_oil));
        Some(Facts {
            vessel: vessel?,
            rated: rated?,
            heel: heel?,
            hose: hose?,
            manifold: manifold?,
            air_changes: air_changes?,
            charge_area: charge_area?,
            compressor_draws: compressor_draws?,
            recovery_end: recovery_end?,
            recovery_restart: recovery_restart?,
            leak_limit: leak_limit?,
            ranges: ranges?,
            scales: scales?,
            fitted: Actuators::ALL.without(without?.devices),
            code_key: code_key?,
            limits: Limits { drier: Milligram((drier? * 1e6).round() as i32), pump_oil: pump_oil?.round() as u32 },
        })
    }

    /// The key of codes for parts: 64 digits of base 16.
    fn code_key(&mut self) -> Option<CodeKey> {
        let Some(node) = &mut self.node else { return Some(CodeKey::DEMO) };
        let Some(text) = self.problems.take(node.opt_string("code_key"))? else { return Some(CodeKey::DEMO) };
        let key = key_of(&text);
        if key.is_none() {
            let what = "controller.code_key: it is not 64 digits of base 16, which write 32 bytes".to_owned();
            let help = "draw one, such as with `openssl rand -hex 32`; left out, it is the key of demonstrations, which is no secret";
            self.told(&self.spot("code_key"), what, help);
        }
        key
    }

    /// I12 lets a heater run from [`COVER`] on, so that much must be more than gas.
    fn covered(&mut self, size: f64) {
        let Some((network, vessel)) = self.network.and_then(|n| Some((n, n.volume("vessel")?))) else { return };
        let heater = network.spec.elements.iter().find(|e| e.name == "H-1+H-2");
        if let (Some(heater), true) = (heater, HEEL.1 * size > COVER) {
            let spot = network.spot("element", &heater.name, "");
            let place = format!("{}:{}:{}", spot.file, spot.line, spot.column);
            let gas = text(Dim::Mass, HEEL.1 * size, Some("kg"));
            let what = format!(
                "{} L of vessel hold {gas} as gas alone at 40 degC, and I12 lets the heater at {place} run from {} on",
                short(size * 1e3),
                text(Dim::Mass, COVER, Some("kg"))
            );
            let most = text(Dim::Volume, COVER / HEEL.1, None);
            let help = format!(
                "at most {most} with a heater; a larger vessel goes `without = [\"H-1\", \"H-2\"]` in [controller], and the \
                 element `H-1+H-2` goes too"
            );
            self.told(&vessel.spot, what, help);
        }
    }

    /// Devices that are not there: the heater, or none.
    fn without(&mut self) -> Option<Without> {
        let spot = self.spot("without");
        let none = Some(Without { devices: Actuators::NONE, spot: spot.clone() });
        let Some(node) = &mut self.node else { return none };
        let words = match node.strings("without") {
            Ok(words) => words,
            Err(wrong) => {
                self.problems.push(wrong);
                return None;
            }
        };
        let mut devices = Actuators::NONE;
        for word in &words {
            let Some(one) = Actuator::ALL.into_iter().find(|one| one.tag() == word) else {
                let near = nearest(word, Actuator::ALL.map(Actuator::tag));
                let near = near.map(|near| format!("nearest tag: `{near}`; ")).unwrap_or_default();
                let what = format!("controller.without: `{word}` is no actuator of a station");
                self.told(&spot, what, format!("{near}accepted: H-1 and H-2 together, or an empty list"));
                return None;
            };
            devices = devices.with(one);
        }
        let kept = Actuator::ALL.into_iter().find(|one| devices.has(*one) && !Actuators::HEATER.has(*one));
        if let Some(kept) = kept {
            let what = format!("controller.without: the controller cannot do without {}", kept.tag());
            self.told(
                &spot,
                what,
                "a station may lack its heater, H-1 and H-2 together, and then the element `H-1+H-2` too; every other device is asked for",
            );
            return None;
        }
        if !devices.is_empty() && devices != Actuators::HEATER {
            let what = "controller.without: H-1 and H-2 are the two contactors of one heater".to_owned();
            self.told(&spot, what, "name both, or none; with both the element `H-1+H-2` goes out of the network too");
            return None;
        }
        Some(Without { devices, spot })
    }

    /// Ranges of the three scales, kg.
    fn scales(&mut self, rated: f64) -> Option<[f64; 3]> {
        let least = 1.2 * rated;
        let ranges = [
            ("WT-1", least..=HEAVIEST, (2.5 * rated).min(HEAVIEST), None),
            ("WT-2", 0.5..=20.0, 2.0, Some("used_oil")),
            ("WT-3", 0.5..=20.0, 2.0, Some("new_oil")),
        ];
        let mut node = match self.node.as_mut().map(|node| node.opt_node("scales")) {
            Some(Ok(node)) => node,
            None => None,
            Some(Err(wrong)) => {
                self.problems.push(wrong);
                return None;
            }
        };
        let mut made = [Some(0.0); 3];
        for (to, (tag, range, usual, bottle)) in made.iter_mut().zip(ranges) {
            let read = node.as_mut().map_or(Ok(None), |node| node.opt_quantity(tag, Dim::Mass, range));
            *to = self.problems.take(read).map(|stated| stated.unwrap_or(usual));
            let spot = node.as_ref().map_or_else(|| self.head.clone(), |node| node.error_at(tag, ""));
            let full = bottle.and_then(|name| self.network.as_ref()?.volume(name));
            if let (Some(kg), Some(full)) = (*to, full)
                && kg < OIL_DENSITY * full.value
            {
                let (range, load) =
                    (text(Dim::Mass, kg, Some("kg")), text(Dim::Mass, OIL_DENSITY * full.value, Some("kg")));
                let what = format!("{tag} weighs up to {range}, and its bottle holds {load} of oil by {}", full.told());
                self.told(
                    &spot,
                    what,
                    format!("give `{tag}` in [controller.scales] a larger range, or a smaller bottle"),
                );
                *to = None;
            }
        }
        if let Some(node) = node {
            node.finish_into(self.problems);
        }
        let [vessel, used, new] = made;
        Some([vessel?, used?, new?])
    }

    /// Ranges of the transmitters in the unit of the instruments' truth; none where nothing is stated.
    fn ranges(&mut self, heated: bool) -> Option<[Option<(f64, f64)>; ANALOG_COUNT]> {
        let mut made = [None; ANALOG_COUNT];
        let mut node = match self.node.as_mut().map(|node| node.opt_node("transmitters")) {
            Some(Ok(Some(node))) => node,
            Some(Err(wrong)) => {
                self.problems.push(wrong);
                return None;
            }
            _ => return Some(made),
        };
        let mut whole = true;
        for (input, to) in Analog::ALL.into_iter().zip(&mut made) {
            let kind = transmitter(input);
            let (tag, dim) = (kind.tag, kind.dim);
            let given = node.has(tag);
            let read = node.list_of_quantities(tag, dim, *kind.low.start()..=*kind.high.end());
            let Some(ends) = self.problems.take(read) else {
                whole = false;
                continue;
            };
            let end = |range: &RangeInclusive<f64>| {
                if range.start() == range.end() {
                    text(dim, *range.start(), None)
                } else {
                    range_text(dim, range, None)
                }
            };
            let (low, high) = (text(dim, *kind.low.end(), None), text(dim, *kind.high.end(), None));
            let mut help = format!("such as `{tag} = [\"{low}\", \"{high}\"]`");
            help += &format!("; at 4 mA {}, at 20 mA {}", end(&kind.low), end(&kind.high));
            let what = match ends.as_slice() {
                _ if !given => continue,
                [_, _] if input == Analog::Tt3 && !heated => {
                    help = format!("take `{tag}` out, or `without` and build a heater in");
                    "controller.transmitters.TT-3: TT-3 is on the heater's skin, and there is no heater".to_owned()
                }
                [low, high] if kind.low.contains(low) && kind.high.contains(high) => {
                    *to = Some((low * kind.truth_per_si, high * kind.truth_per_si));
                    continue;
                }
                [_, _] => {
                    format!("controller.transmitters.{tag}: the range does not suit what the controller does with it")
                }
                more => format!("controller.transmitters.{tag}: {} values; a range has two ends", more.len()),
            };
            let spot = node.error_at(tag, "");
            self.problems.push(Diagnostic { message: what, ..spot }.with_help(help));
            whole = false;
        }
        node.finish_into(self.problems);
        whole.then_some(made)
    }
}

/// The key that these digits of base 16 write.
pub fn key_of(text: &str) -> Option<CodeKey> {
    let (pairs, rest) = text.as_bytes().as_chunks::<2>();
    let digit = |byte: u8| char::from(byte).to_digit(16);
    let bytes: Option<Vec<u8>> = pairs.iter().map(|[a, b]| u8::try_from(digit(*a)? << 4 | digit(*b)?).ok()).collect();
    Some(CodeKey(bytes?.try_into().ok()?)).filter(|_| rest.is_empty())
}

/// Density of compressor oil, kg/m3 (PAG and POE stand near 980: from memory).
const OIL_DENSITY: f64 = 980.0;
