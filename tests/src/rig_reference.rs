//! The solved cases of the plant's first laws: blow-down (a), recovery (b), evacuation (c), charging (d) and air in the vessel (e).
//!
//! References: scipy LSODA at rtol 1e-8 with CoolProp's equations of state, equations in the reference's MODEL.md, parameters in the head of
//! each file. Limits: 1 % in pressure, 0.5 K and 1 g at any time, as the design asks, and 0.1 s for the end of a step.

use crate::solved::{Allowed, Case, Except, Quantity, Scale};

const PRESSURE: f64 = 0.01;
const KELVIN: f64 = 0.5;
const GRAM: f64 = 1.0;

const fn pressure(column: &'static str, signal: &'static str) -> Quantity {
    Quantity::new(column, signal, Scale::Itself, PRESSURE)
}

/// A partial pressure counts against the whole.
const fn partial(column: &'static str, signal: &'static str, whole: &'static str) -> Quantity {
    Quantity::new(column, signal, Scale::Signal(whole), PRESSURE)
}

const fn temperature(column: &'static str, signal: &'static str) -> Quantity {
    Quantity::new(column, signal, Scale::Fixed(1.0), KELVIN)
}

const fn mass(column: &'static str, signal: &'static str) -> Quantity {
    Quantity::new(column, signal, Scale::Fixed(1e-3), GRAM)
}

const BLOW_DOWN: &[Quantity] =
    &[pressure("p_Pa", "bottle.p"), temperature("T_C", "bottle.t"), mass("m_kg", "bottle.m")];

const RECOVERY: &[Quantity] = &[
    pressure("p_loop_Pa", "loop.p"),
    temperature("T_loop_C", "loop.t"),
    temperature("T_wall_C", "loop.t_wall"),
    mass("m_loop_kg", "loop.m"),
    mass("m_liq_loop_kg", "loop.m_liq"),
    mass("m_in_oil_kg", "loop.m_dissolved"),
    pressure("p_vessel_Pa", "vessel.p"),
    temperature("T_vessel_C", "vessel.t"),
    temperature("T_vessel_wall_C", "vessel.t_wall"),
    mass("m_vessel_kg", "vessel.m"),
];

const EVACUATION: &[Quantity] = &[
    pressure("p_Pa", "loop.p"),
    partial("p_air_Pa", "loop.p_air", "loop.p"),
    partial("p_water_Pa", "loop.p_water", "loop.p"),
    mass("m_pool_kg", "loop.m_pool"),
    // Below a milligram the pool's temperature is a ratio of two vanishing numbers.
    Quantity { except: Except::Below("loop.m_pool", 1e-6), ..temperature("T_pool_C", "loop.t_pool") },
    pressure("p_pump_inlet_Pa", "pump.p_inner"),
];

const CHARGE: &[Quantity] = &[
    pressure("p_loop_Pa", "loop.p"),
    temperature("T_loop_C", "loop.t"),
    temperature("T_wall_C", "loop.t_wall"),
    mass("m_loop_kg", "loop.m"),
    mass("m_liq_loop_kg", "loop.m_liq"),
    pressure("p_vessel_Pa", "vessel.p"),
    temperature("T_vessel_C", "vessel.t"),
    temperature("T_vessel_wall_C", "vessel.t_wall"),
    mass("m_vessel_kg", "vessel.m"),
];

const AIR_AT_REST: &[Quantity] = &[
    partial("p_sat_Pa", "vessel.p_ref", "vessel.p"),
    partial("p_excess_Pa", "vessel.p_air", "vessel.p"),
    pressure("p_total_Pa", "vessel.p"),
    temperature("T_C", "vessel.t"),
];

const PURGE: &[Quantity] = &[
    pressure("p_total_Pa", "vessel.p"),
    partial("p_sat_Pa", "vessel.p_ref", "vessel.p"),
    partial("p_air_Pa", "vessel.p_air", "vessel.p"),
    temperature("T_fluid_C", "vessel.t"),
    temperature("T_wall_C", "vessel.t_wall"),
    mass("m_ref_kg", "vessel.m"),
    mass("m_air_kg", "vessel.m_air"),
];

const fn case(name: &'static str, quantities: &'static [Quantity]) -> Case {
    Case { name, folder: "rigs", quantities, end: Allowed::Seconds(0.1), freezing: None }
}

/// The cases, in order.
pub const CASES: &[Case] = &[
    case("a1", BLOW_DOWN),
    case("a2", BLOW_DOWN),
    case("a3", BLOW_DOWN),
    case("b1", RECOVERY),
    case("b2", RECOVERY),
    case("b3", RECOVERY),
    case("c1", EVACUATION),
    case("c2", EVACUATION),
    case("c3", EVACUATION),
    case("c4", EVACUATION),
    case("d1", CHARGE),
    case("d2", CHARGE),
    case("e1", AIR_AT_REST),
    case("e2", PURGE),
];
