//! The solved cases of flow through hoses and flashing nozzles (f3), water on walls (f4), oil (f5) and mixed refrigerants (f6).
//!
//! References: scipy with CoolProp's equations of state, equations and parameters in the head of each file, each checked there by a second
//! solver. Limits are those their author states a simulator should meet, at every row and not only at the end:
//!
//! | | what | limit |
//! | --- | --- | --- |
//! | f3a | time to target; mass charged of a charge that ends; of one that stalls | 2 %; 2 % of it at any time; 1 % |
//! | f3b | time of the stops; mass recovered | 2 %; 0.5 % |
//! | f4 | masses of water; first ice | 1 % of all water; 1 % of the time |
//! | f5 | pressure; temperature; masses | 0.5 %; 0.1 K; 1 % |
//! | f6 | purity of the vessel | 1e-4 |
//!
//! Where no limit is stated, that of the plant's design holds: 1 % in pressure, 0.5 K, 1 g. In f3a a flow 2 % off makes the pressure 2 % off.

use crate::solved::{Allowed, Case, Except, Quantity, Scale};

const fn relative(column: &'static str, signal: &'static str, limit: f64) -> Quantity {
    Quantity::new(column, signal, Scale::Itself, limit)
}

const fn kelvin(column: &'static str, signal: &'static str, limit: f64) -> Quantity {
    Quantity::new(column, signal, Scale::Fixed(1.0), limit)
}

/// A mass, allowed to be off by a share of `whole` kg.
const fn share_of(whole: f64, column: &'static str, signal: &'static str, share: f64) -> Quantity {
    Quantity::new(column, signal, Scale::Fixed(whole), share)
}

const fn gram(column: &'static str, signal: &'static str) -> Quantity {
    Quantity::new(column, signal, Scale::Fixed(1e-3), 1.0)
}

const fn largest(column: &'static str, signal: &'static str, limit: f64) -> Quantity {
    Quantity::new(column, signal, Scale::Largest, limit)
}

/// Charge of `whole` kg, allowed to be off by `share` of it.
const fn charge(whole: f64, share: f64) -> [Quantity; 9] {
    [
        relative("p_loop_Pa", "loop.p", 0.02),
        kelvin("T_loop_C", "loop.t", 0.5),
        kelvin("T_wall_C", "loop.t_wall", 0.5),
        share_of(whole, "m_loop_kg", "loop.m", share),
        share_of(whole, "m_liq_loop_kg", "loop.m_liq", share),
        relative("p_vessel_Pa", "vessel.p", 0.01),
        kelvin("T_vessel_C", "vessel.t", 0.5),
        kelvin("T_vessel_wall_C", "vessel.t_wall", 0.5),
        share_of(whole, "m_vessel_kg", "vessel.m", share),
    ]
}

/// Recovery of `whole` kg.
const fn recovery(whole: f64) -> [Quantity; 10] {
    [
        relative("p_loop_Pa", "loop.p", 0.01),
        // It jumps when the compressor stops; ours takes some milliseconds.
        Quantity { except: Except::First, ..relative("p_station_Pa", "station.p", 0.01) },
        kelvin("T_loop_C", "loop.t", 0.5),
        kelvin("T_wall_C", "loop.t_wall", 0.5),
        share_of(whole, "m_loop_kg", "loop.m", 0.005),
        share_of(whole, "m_liq_loop_kg", "loop.m_liq", 0.005),
        relative("p_vessel_Pa", "vessel.p", 0.01),
        kelvin("T_vessel_C", "vessel.t", 0.5),
        kelvin("T_vessel_wall_C", "vessel.t_wall", 0.5),
        share_of(whole, "m_vessel_kg", "vessel.m", 0.005),
    ]
}

/// A closed volume with one wall and `water` kg of water in all.
const fn cold(water: f64) -> [Quantity; 8] {
    [
        relative("p_Pa", "chamber.p", 0.01),
        Quantity::new("p_air_Pa", "chamber.p_air", Scale::Signal("chamber.p"), 0.01),
        Quantity::new("p_vapour_Pa", "chamber.p_water", Scale::Signal("chamber.p"), 0.01),
        kelvin("T_gas_C", "chamber.t", 0.5),
        share_of(water, "m_vapour_kg", "chamber.m_water", 0.01),
        kelvin("T_wall0_C", "chamber.t_wall", 0.5),
        share_of(water, "m_liquid0_kg", "chamber.m_wall_water", 0.01),
        share_of(water, "m_ice0_kg", "chamber.m_wall_ice", 0.01),
    ]
}

const EVACUATED: &[Quantity] = &[
    relative("p_Pa", "chamber.p", 0.01),
    Quantity::new("p_air_Pa", "chamber.p_air", Scale::Signal("chamber.p"), 0.01),
    Quantity::new("p_vapour_Pa", "chamber.p_water", Scale::Signal("chamber.p"), 0.01),
    kelvin("T_gas_C", "chamber.t", 0.5),
    kelvin("T_wall0_C", "chamber.t_wall", 0.5),
    kelvin("T_wall1_C", "chamber.t_cold_wall", 0.5),
    share_of(2e-3, "m_vapour_kg", "chamber.m_water", 0.01),
    share_of(2e-3, "m_liquid0_kg", "chamber.m_wall_water", 0.01),
    share_of(2e-3, "m_ice0_kg", "chamber.m_wall_ice", 0.01),
    share_of(2e-3, "m_liquid1_kg", "chamber.m_cold_wall_water", 0.01),
    share_of(2e-3, "m_ice1_kg", "chamber.m_cold_wall_ice", 0.01),
];

const OIL: &[Quantity] = &[
    relative("p_Pa", "vessel.p", 0.005),
    kelvin("T_gas_C", "vessel.t", 0.1),
    kelvin("T_oil_C", "vessel.t_oil", 0.1),
    largest("m_gas_kg", "vessel.m", 0.01),
    largest("m_dissolved_kg", "vessel.m_dissolved", 0.01),
    largest("V_oil_phase_m3", "vessel.v_oil", 0.01),
];

/// As `OIL`, with a wall.
const OIL_AND_WALL: &[Quantity] = &[
    relative("p_Pa", "vessel.p", 0.005),
    kelvin("T_gas_C", "vessel.t", 0.1),
    kelvin("T_oil_C", "vessel.t_oil", 0.1),
    kelvin("T_wall_C", "vessel.t_wall", 0.1),
    largest("m_gas_kg", "vessel.m", 0.01),
    largest("m_dissolved_kg", "vessel.m_dissolved", 0.01),
    largest("V_oil_phase_m3", "vessel.v_oil", 0.01),
];

const MIXED: &[Quantity] = &[
    relative("p_loop_Pa", "loop.p", 0.01),
    kelvin("T_loop_C", "loop.t", 0.5),
    kelvin("T_wall_C", "loop.t_wall", 0.5),
    gram("m_loop_kg", "loop.m + loop.m_second"),
    gram("m_liq_loop_kg", "loop.m_liq"),
    // The residue is small: a hundredth of a gram of either part shows in its purity.
    Quantity::new("loop_purity", "loop.purity", Scale::Fixed(1.0), 1e-3),
    gram("m_main_vessel_kg", "vessel.m"),
    gram("m_other_vessel_kg", "vessel.m_second"),
    Quantity::new("purity_vessel", "vessel.purity", Scale::Fixed(1.0), 1e-4),
    relative("p_vessel_Pa", "vessel.p", 0.01),
];

const CHARGE_30: &[Quantity] = &charge(0.5, 0.02);
const CHARGE_40: &[Quantity] = &charge(0.3012, 0.01);
const RECOVERY: &[Quantity] = &recovery(0.5919);
const RECOVERY_134: &[Quantity] = &recovery(0.4931);
const MOIST: &[Quantity] = &cold(368.6e-6);
const POOL: &[Quantity] = &cold(2.092e-3);

const fn case(name: &'static str, quantities: &'static [Quantity], end: Allowed) -> Case {
    Case { name, folder: "flow", quantities, end, freezing: None }
}

const fn freezing(name: &'static str, quantities: &'static [Quantity]) -> Case {
    let ice = Some(("T_wall0_C", "chamber.t_wall", Allowed::Share(0.01)));
    Case { name, folder: "flow", quantities, end: AT_ONCE, freezing: ice }
}

/// Ends that the schedule gives.
const AT_ONCE: Allowed = Allowed::Seconds(1e-3);

/// The cases, in order.
pub const CASES: &[Case] = &[
    case("f3a30", CHARGE_30, Allowed::Share(0.02)),
    case("f3a40", CHARGE_40, Allowed::Share(0.02)),
    case("f3b", RECOVERY, Allowed::Share(0.02)),
    case("f3b134", RECOVERY_134, Allowed::Share(0.02)),
    freezing("f4a", MOIST),
    freezing("f4b", POOL),
    case("f4c", EVACUATED, AT_ONCE),
    case("f5a", OIL, AT_ONCE),
    case("f5b", OIL, AT_ONCE),
    case("f5c", OIL_AND_WALL, AT_ONCE),
    case("f5d", OIL_AND_WALL, AT_ONCE),
    case("f5e", OIL_AND_WALL, AT_ONCE),
    case("f5f", OIL, AT_ONCE),
    case("f5g", OIL_AND_WALL, AT_ONCE),
    case("f6a", MIXED, Allowed::Share(0.01)),
    case("f6b", MIXED, Allowed::Share(0.01)),
    case("f6c", MIXED, Allowed::Share(0.01)),
];
