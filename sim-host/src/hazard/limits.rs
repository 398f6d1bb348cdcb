//! The figures that the monitors judge by, each with unit and source. They are nobody else's: no controller is asked for one.
//!
//! Three levels make a margin: at rest 1, at the alert level one half, at the accident level 0, beyond it less. "Computed" figures were
//! worked with CoolProp 8 or by hand from the reference station's sizes (cabinet 0.15 m3, hoses of 3 m and 4.8 mm, vessel 12.5 L, fan 60 m3/h).

/// What a figure is at rest, where it begins to matter, and where it does harm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Margin 1.
    pub rest: f64,
    /// Margin one half.
    pub alert: f64,
    /// Margin 0.
    pub accident: f64,
}

const fn scale(rest: f64, alert: f64, accident: f64) -> Scale {
    Scale { rest, alert, accident }
}

/// H01, gas in the cabinet over its lower flammable limit, 1. A quarter is what detectors of such appliances have to answer at (IEC
/// 60335-2-40 Annex LL, from an excerpt); the limit itself burns, if something ignites it.
pub const CABINET_GAS: Scale = scale(0.0, 0.25, 1.0);

/// H02, share of the vessel that liquid takes at its own temperature, 1. 0.98: the rest is gone within 3 K more (computed), then
/// pressure rises by 3.5 to 4.2 bar/K. 0.90: a filling by the rule of [`FULL_BY_RULE`] comes there in a hot yard (own choice).
pub const VESSEL_LIQUID: Scale = scale(0.0, 0.90, 0.98);
/// Share that liquid may take when filled, 1 (40 CFR 82 Subpart B Appendix C 7.2).
pub const FULL_BY_RULE: f64 = 0.80;
/// Temperature to which a filling is brought before it is judged, K: 25 degC, a warm workshop (own choice).
pub const FILLED_AT: f64 = 298.15;

/// H03, share of a pipe that liquid takes, 1: above it there is no gas left to give way (own choice; 5 % of gas are gone in some 15 K).
pub const LOCKED_FULL: f64 = 0.95;
/// H03, pressure in a pipe that is full and shut at its ends, Pa. 34.5 bar: working pressure of service hoses, 500 psi (from memory, SAE
/// J2196 class). It rises by 5 bar/K (computed).
pub const LOCKED_PRESSURE: Scale = scale(0.0, 0.0, 34.5e5);

/// H04, what of the vessel's refrigerant is another than its own, 1. 2 %: recovered refrigerant counts as pure from 98 % (SAE J2099,
/// from an excerpt).
pub const VESSEL_FOREIGN: Scale = scale(0.0, 0.005, 0.02);
/// H04, what of a vehicle's gas is foreign when a way from it into the station stands open, 1; the same source.
pub const FOREIGN_GAS: f64 = 0.02;

/// H05, air in the vessel's refrigerant, by mass, 1: 150 ppm (SAE J2099, from memory). It spoils cooling and raises pressure; by itself
/// it harms nobody, so it has no accident level.
pub const VESSEL_AIR: Scale = scale(0.0, 150e-6, f64::INFINITY);
/// H05, air in what the running compressor draws, by volume, 1. From a tenth on it is refused (hazard analysis, own choice); from 60 %
/// on mixtures of R-134a with air burn under pressure (safety data sheets, from memory), taken for R-1234yf too.
pub const SUCTION_AIR: Scale = scale(0.0, 0.10, 0.60);

/// H06, refrigerant in a vehicle that is handed over against its order, kg. 15 g (from memory: SAE J2788, J2843); half of it alerts
/// (own choice).
pub const CHARGE_OFF: Scale = scale(0.0, 7.5e-3, 15e-3);

/// H07, share of the separator that liquid and oil fill while C-1 draws from it, 1. At 0.98 its gas outlet carries liquid over (so the plant
/// is made): one part of liquid in fifty is more mass than the gas beside it. Alert at 0.85: foam and surge (own choice).
pub const SEPARATOR: Scale = scale(0.0, 0.85, 0.98);

/// H08, pressure before the open pump valve over the barometer, Pa. 100 mbar: a pump's seals and oil are blown out from about there
/// (hazard analysis, own choice); half of it alerts (own choice).
pub const PUMP_PRESSURE: Scale = scale(-100e3, 5e3, 10e3);
/// H08, refrigerant out of the pump's exhaust, kg/s. 0.5 g/s: more than residue (hazard analysis, own choice). 4.8 g/s: 60 m3/h of air
/// that carry it away would burn (0.289 kg/m3 at the limit, computed).
pub const PUMP_EXHAUST: Scale = scale(0.0, 0.5e-3, 4.8e-3);

/// H09, skin of the heater, K: 100 and 177 degC. Oil breaks down from 177 degC, 350 degF (refrigeration practice, from memory); the gas
/// lights by itself at some 405 degC (from memory).
pub const HEATER_SKIN: Scale = scale(293.15, 373.15, 450.15);
/// H09, gas behind the compressor, K: 130 and 177 degC; the same source.
pub const DISCHARGE_HEAT: Scale = scale(293.15, 403.15, 450.15);
/// H09, time that C-1 works against a shut XV-4, s: after one second its pressure switch must act (computed). Alert only: what bursts is
/// judged by pressure.
pub const DEAD_HEAD: f64 = 1.0;
/// H09, pressure behind the compressor, Pa: 26 bar stand above what PSH-1 lets through, 30 bar are what such pipework is commonly rated
/// for (common practice, no source).
pub const DISCHARGE_PRESSURE: Scale = scale(0.0, 26e5, 30e5);

/// H10, what a charged circuit would lose through its hole, kg/s. 2.9 g/h: a hole of 20 um, which a vacuum hold of five minutes shows
/// (5 mbar in 3 L, computed). 0.05 g/h: what the finest vacuum hold shows, 0.5 mbar in 30 min (computed).
pub const LEAK: Scale = scale(0.0, 0.05e-3 / 3600.0, 2.9e-3 / 3600.0);
/// H10, the hole that loses [`LEAK`]'s accident level, m (computed); the loss goes with its square.
pub const LEAK_HOLE: f64 = 20e-6;

/// H11, oil of another kind than its own in a vehicle with a high-voltage compressor, kg: insulation is lost from the first gram on
/// (hazard analysis); a tenth of a gram is a wet valve (own choice).
pub const WRONG_OIL: Scale = scale(0.0, 0.1e-3, 1e-3);

/// H12, refrigerant taken in on the word of a fouled identifier, kg. 50 g are half a percent of 10 kg (computed).
pub const FOULED: Scale = scale(0.0, 1e-3, 50e-3);

/// H13, refrigerant let into the air by one opening of the purge or oil drain valve, kg. 5 g: more than residue (hazard analysis, own
/// choice). 21 g: twice what brings a cabinet to a quarter of its limit (10.8 g, computed).
pub const VENTED: Scale = scale(0.0, 5e-3, 21.6e-3);
/// H13, a pause of a valve that makes its next opening another event, s (own choice).
pub const VENT_PAUSE: f64 = 60.0;

/// H14, refrigerant or oil through ways that are told to be shut, kg, since one of them was last shut indeed. 1 g shows; 15 g is a
/// charge spoilt (see [`CHARGE_OFF`]).
pub const PASSED: Scale = scale(0.0, 1e-3, 15e-3);

/// H15, reading of the vessel's scale against what stands on it, kg, beyond which it is wrong: 10 g and 0.2 % (hazard analysis).
pub const SCALE_WRONG: (f64, f64) = (10e-3, 0.002);
/// H15, how far the scale's error moves while something is charged by it, in shares of [`CHARGE_OFF`]'s accident level: from there the
/// charge is wrong whatever is done (computed).
pub const SCALE_MOVED: f64 = 15e-3;
/// H15, looks of a second each for which it must be wrong: shorter ones are shocks that a filter takes out (own choice).
pub const SCALE_LOOKS: u32 = 3;

/// H16, water in the vessel's refrigerant by mass, 1: 50 ppm (SAE J2099, from memory). Some 1 100 ppm dissolve in liquid R-134a at
/// 25 degC (from memory); from 1 000 ppm on there is free water, acid and ice.
pub const VESSEL_WATER: Scale = scale(0.0, 50e-6, 1000e-6);

/// H18, how much of a life a counter lost over a power cut, 1. What one write counts is a millionth; a hundredth of a filter-drier or of
/// pump oil is a worn part that goes on (own choices).
pub const COUNTER: Scale = scale(0.0, 1e-6, 0.01);
/// H18, lives that counters count towards: refrigerant through the filter-drier, kg, and hours of the vacuum pump's oil, s (common practice,
/// no source).
pub const LIVES: (f64, f64) = (68.0, 60.0 * 3600.0);

/// H19, error of a duration that is reckoned from the wall clock, 1 (hazard analysis).
pub const CLOCK: Scale = scale(0.0, 0.005, 0.01);

/// H20, time that outputs stand without being renewed while something is on, s. 0.5 s is the watchdog's; in one second a charge runs past
/// its 15 g (10 to 17 g/s, computed).
pub const STALLED: Scale = scale(0.0, 0.5, 1.0);

/// H21, a reading is wrong from so many times its class on, and for so long, s (own choices: five times is no tolerance any more, ten
/// seconds outlast every filter).
pub const BLIND: (f64, u32) = (5.0, 10);

/// H22, time that something is on without air through the cabinet, s. A vapour hole of 1 mm brings still air to a quarter of its limit
/// in 5 s and to the limit in 21 s (computed).
pub const AIRLESS: Scale = scale(0.0, 5.0, 21.0);
/// H22, share of the fan's speed or flow that still counts as air, 1 (own choice).
pub const AIRED_SHARE: f64 = 0.5;

/// H23, pressure of the vessel over what its relief valve is set to, 1 (hazard analysis: within a tenth).
pub const RELIEF: Scale = scale(0.0, 0.9, 1.0);

/// H24, supply below which a processor is dead, and valve rail above which coils still hold, V (own choices for 24 V parts), and for how
/// long that may be, s (10 to 50 ms for a coil to let go, from memory).
pub const DIP: (f64, f64, f64) = (12.0, 8.0, 0.05);

/// H25, pressure of a hose whose coupler comes off, Pa: 1.3 bar (hazard analysis).
pub const COUPLER_OPENS: f64 = 1.3e5;
/// H25, refrigerant in it, kg. More than 5 g in 54 mL is liquid, which burns skin cold; vapour at 6 bar is 2 g and a hiss (computed). Half
/// of it alerts.
pub const HOSE_HOLDS: Scale = scale(0.0, 2.5e-3, 5e-3);
