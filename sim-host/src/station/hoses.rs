//! Hoses are said three times: as volumes that hold gas, as couplers that resist flow, and in `[controller]`. They must be the same hoses.

use std::f64::consts::FRAC_PI_4;

use super::derive::Network;
use crate::plant::spec::LawSpec;
use crate::scenario::diagnostic::{Diagnostic, Problems};
use crate::scenario::quantity::{Dim, text};

/// How far the two hoses may lie apart, as a share of the longer: the controller knows one volume for both.
const APART: f64 = 0.2;
/// How far bore area times length may lie from the hose's volume, as a share of that: room for fittings and for a rounded bore.
const BORE: f64 = 0.1;

/// Says where couplers, volumes and the two sides contradict one another.
pub(super) fn agree(network: Network<'_>, p: &mut Problems) {
    for (coupler, hose) in [("coupler_low", "hose_low"), ("coupler_high", "hose_high")] {
        bore(network, coupler, hose, p);
    }
    alike(network, p);
}

/// What the couplers' hoses hold by bore and length, against the volume.
fn bore(network: Network<'_>, coupler: &str, hose: &str, p: &mut Problems) {
    let Some(volume) = network.volume(hose) else { return };
    let mut all = Vec::new();
    for element in network.spec.elements.iter().filter(|e| e.name.starts_with(coupler)) {
        // Any other kind has no bore along a length.
        let LawSpec::Hose(one) = &element.law else { return };
        let held = FRAC_PI_4 * one.diameter * one.diameter * one.length * one.count;
        all.push(network.of(held, "element", &element.name, "length"));
    }
    let held: f64 = all.iter().map(|one| one.value).sum();
    let Some(first) = all.first().filter(|_| (held - volume.value).abs() > BORE * volume.value) else { return };
    let (own, of_volume) = (text(Dim::Volume, held, Some("mL")), text(Dim::Volume, volume.value, Some("mL")));
    let message = format!("bore and length by {} hold {own}, and {} says {of_volume}", first.key, volume.told());
    let share = BORE * 100.0;
    let help = format!(
        "they are one hose, and must agree within {share} %: `diameter` and `length` of `{coupler}`, `volume` of `{hose}`, and \
         controller.hose where it is stated"
    );
    p.push(Diagnostic { message, ..first.spot.clone() }.with_help(help));
}

/// The controller knows one volume for both hoses.
fn alike(network: Network<'_>, p: &mut Problems) {
    let (Some(low), Some(high)) = (network.volume("hose_low"), network.volume("hose_high")) else { return };
    if (low.value - high.value).abs() > APART * low.value.max(high.value) {
        let (one, other) = (text(Dim::Volume, low.value, Some("mL")), text(Dim::Volume, high.value, Some("mL")));
        let message = format!("the hoses hold {one} by {} and {other}: the controller knows one volume", low.told());
        let help = format!("they may differ by {} %", APART * 100.0);
        p.push(Diagnostic { message, ..high.spot }.with_help(help));
    }
}
