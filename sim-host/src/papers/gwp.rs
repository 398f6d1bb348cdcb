//! Refrigerant as CO2 equivalent: which global warming potential counts, and why.

use crate::fluid::FluidKind;

/// A global warming potential over 100 years and where it is from.
pub struct Potential {
    /// kg of CO2 for each kg.
    pub value: f64,
    /// Where it is from.
    pub source: &'static str,
}

/// What the law of the European Union counts with, for its quotas and records are the ones that speak in CO2 equivalent. Its annexes
/// take HFCs from the IPCC's fourth report (AR4) and unsaturated ones from the sixth (AR6). AR6 alone would have 1 530 for R-134a (from
/// memory), 7 % more; the older Regulation (EU) 517/2014 had 4 for R-1234yf.
pub const fn potential(of: FluidKind) -> Potential {
    match of {
        FluidKind::R134a => Potential {
            value: 1430.0,
            source: "Regulation (EU) 2024/573, Annex I section 1, as of IPCC AR4 (read in the regulation's dossier)",
        },
        FluidKind::R1234yf => {
            Potential { value: 0.501, source: "Regulation (EU) 2024/573, Annex II, as of IPCC AR6 (from memory)" }
        }
    }
}

/// `kg` of a refrigerant in tonnes of CO2 equivalent.
pub fn tonnes(of: FluidKind, kg: f64) -> f64 {
    kg * potential(of).value * 1e-3
}

/// How much of a refrigerant stands for `tonnes` of CO2, kg.
pub fn kilograms(of: FluidKind, tonnes: f64) -> f64 {
    tonnes * 1e3 / potential(of).value
}
