//! The plant's truth at one tick, as far as an instrument can touch it. SI units, absolute pressures.

/// What a sample of the connected circuit would hold.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct GasTruth {
    /// Mass share of R-134a in the refrigerant part, 0-1.
    pub r134a: f64,
    /// Mass share of R-1234yf, 0-1.
    pub r1234yf: f64,
    /// Mass share of other fluorinated gas, 0-1.
    pub other: f64,
    /// Mass share of hydrocarbons, 0-1.
    pub hydrocarbon: f64,
    /// Volume share of air in the whole sample, 0-1.
    pub air: f64,
    /// Oil reaches the sample filter.
    pub oil_film: bool,
    /// Absolute pressure at the sample port, Pa.
    pub pressure_pa: f64,
}

/// The plant's truth at one tick.
#[derive(Clone, PartialEq, Debug)]
pub struct Truth {
    /// Vessel pressure, Pa.
    pub p_vessel: f64,
    /// Low-side hose pressure, Pa.
    pub p_low: f64,
    /// High-side hose pressure, Pa.
    pub p_high: f64,
    /// Pressure at the pump port of the manifold, where PT-4 sits, Pa.
    pub p_vacuum: f64,
    /// Separator pressure, Pa.
    pub p_separator: f64,
    /// Pressure after C-1, where PSH-1 sits, Pa.
    pub p_discharge: f64,
    /// Pressure between XV-6 and P-1, where PSH-2 sits, Pa.
    pub p_pump_inlet: f64,
    /// Pressure of the air around the station, to which PSH-2 refers, Pa.
    pub barometer: f64,
    /// Pressure in the charge line, which stiffens the hose on WT-1, Pa.
    pub p_charge_line: f64,
    /// Vessel wall, K.
    pub t_vessel_wall: f64,
    /// Discharge gas of C-1, K.
    pub t_discharge: f64,
    /// Skin of the vessel heater, K.
    pub t_heater: f64,
    /// Air around the station, K.
    pub t_ambient: f64,
    /// Gas in the cabinet as a share of its lower flammable limit, 0 and up.
    pub lfl_share: f64,
    /// Motor current of C-1, A.
    pub c1_current_a: f64,
    /// Speed that K-1 settles at while switched on, rpm; less than nominal where it is worn or badly supplied.
    pub fan_rpm: f64,
    /// K-1 is switched on.
    pub fan_on: bool,
    /// Supply, V.
    pub supply_v: f64,
    /// Valve rail, V.
    pub rail_v: f64,
    /// Everything to be weighed on WT-1: refrigerant and air, without the vessel itself, kg.
    pub m_vessel_kg: f64,
    /// Oil in the used-oil bottle, kg.
    pub m_used_oil_kg: f64,
    /// Oil in the new-oil bottle, kg.
    pub m_new_oil_kg: f64,
    /// Liquid in the separator as a share of its height, 0-1.
    pub separator_level: f64,
    /// Oil in the used-oil bottle as a share of its height, 0-1.
    pub used_oil_level: f64,
    /// C-1 or P-1 turns and shakes the station.
    pub motors_running: bool,
    /// The service door is shut.
    pub door_shut: bool,
    /// Both couplers are on the vehicle.
    pub coupled: bool,
    /// What they are on is the flush port.
    pub flush_port: bool,
    /// The emergency stop is pressed.
    pub estop_pressed: bool,
    /// Reference weights on the platforms of WT-1, WT-2 and WT-3, kg.
    pub extra_kg: [f64; 3],
    /// Test gas at the head of AT-2, as a share of the lower flammable limit; 0 where none is given.
    pub test_gas: f64,
    /// Pressure that a hand pump puts on PSH-1, Pa; 0 where none does.
    pub p_hand_pump: f64,
    /// What the identifier would draw in.
    pub gas: GasTruth,
}

impl Default for Truth {
    /// A station at rest at 20 degC with 6 kg of R-1234yf (saturated at 5.9 bar, rounded) and a charged vehicle coupled.
    fn default() -> Self {
        let (rest, air) = (5.9e5, 293.15);
        Self {
            p_vessel: rest,
            p_low: rest,
            p_high: rest,
            p_vacuum: 101_325.0,
            p_separator: rest,
            p_discharge: rest,
            p_pump_inlet: 101_325.0,
            barometer: 101_325.0,
            p_charge_line: rest,
            t_vessel_wall: air,
            t_discharge: air,
            t_heater: air,
            t_ambient: air,
            lfl_share: 0.0,
            c1_current_a: 0.0,
            fan_rpm: 2800.0,
            fan_on: true,
            supply_v: 24.0,
            rail_v: 24.0,
            m_vessel_kg: 6.0,
            m_used_oil_kg: 0.0,
            m_new_oil_kg: 0.25,
            separator_level: 0.0,
            used_oil_level: 0.0,
            motors_running: false,
            door_shut: true,
            coupled: true,
            flush_port: false,
            estop_pressed: false,
            extra_kg: [0.0; 3],
            test_gas: 0.0,
            p_hand_pump: 0.0,
            gas: GasTruth {
                r134a: 0.0,
                r1234yf: 1.0,
                other: 0.0,
                hydrocarbon: 0.0,
                air: 0.0,
                oil_film: false,
                pressure_pa: rest,
            },
        }
    }
}
