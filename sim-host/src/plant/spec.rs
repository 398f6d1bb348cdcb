//! The network as plain data: volumes, what joins them, and the air around. SI units throughout.
//!
//! Everything a rig or a station file can say ends up here; `parse` reads it from TOML, `Plant::new` builds from it.

use crate::fluid::FluidKind;

/// A whole network.
#[derive(Debug, Clone)]
pub struct NetworkSpec {
    /// The refrigerant in every volume.
    pub fluid: FluidKind,
    /// The air around.
    pub ambient: AmbientSpec,
    /// Volumes, bottles and the cabinet.
    pub volumes: Vec<VolumeSpec>,
    /// What joins them.
    pub elements: Vec<ElementSpec>,
}

/// The air around the network.
#[derive(Debug, Clone, Copy)]
pub struct AmbientSpec {
    /// Temperature, K (230-340).
    pub temperature: f64,
    /// Absolute pressure, Pa (50 000-120 000).
    pub pressure: f64,
    /// Relative humidity, 0-1.
    pub humidity: f64,
}

impl Default for AmbientSpec {
    fn default() -> Self {
        Self { temperature: 298.15, pressure: 101_325.0, humidity: 0.0 }
    }
}

/// What a place in the network is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlaceKind {
    /// A closed vessel, pipe or hose with gas and liquid.
    Closed,
    /// The aired cabinet: at ambient pressure, only the refrigerant released into it is tracked.
    Cabinet {
        /// Lower flammable limit as a volume share, 0-1 (R-1234yf 0.062, ISO 817, from memory).
        lower_limit: f64,
    },
    /// An open oil bottle at ambient pressure: only its oil is tracked, gas that arrives escapes to the ambient.
    Bottle,
}

/// One place with a content.
#[derive(Debug, Clone)]
pub struct VolumeSpec {
    /// Name, unique in the network; part of signal names.
    pub name: String,
    /// Kind of place.
    pub kind: PlaceKind,
    /// Inner volume, m3.
    pub volume: f64,
    /// What is in it at the start.
    pub fill: FillSpec,
    /// Held at its starting temperature whatever flows (no energy equation).
    pub isothermal: bool,
    /// Softness of the walls against liquid pressure, relative volume per Pa (0 = stiff).
    pub compliance: f64,
    /// Metal that exchanges heat with the content and the surroundings.
    pub wall: Option<WallSpec>,
    /// Oil that holds dissolved refrigerant.
    pub oil: Option<OilSpec>,
    /// Liquid water or ice.
    pub pool: Option<PoolSpec>,
    /// Liquid mass below which the liquid outlet begins to draw gas, kg.
    pub dip_margin: f64,
}

/// Starting content.
#[derive(Debug, Clone, Copy)]
pub struct FillSpec {
    /// Temperature, K.
    pub temperature: f64,
    /// Refrigerant.
    pub refrigerant: Amount,
    /// Air; given as a pressure it is the pressure of the moist air.
    pub air: Amount,
    /// Relative humidity of that air, 0-1.
    pub humidity: f64,
}

/// How much of a gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// Mass, kg.
    Mass(f64),
    /// Partial pressure at the starting temperature, Pa. For a refrigerant it must lie below saturation.
    Pressure(f64),
}

/// Metal around a volume.
#[derive(Debug, Clone, Copy)]
pub struct WallSpec {
    /// Heat capacity, J/K.
    pub capacity: f64,
    /// Conductance to the surroundings, W/K.
    pub to_ambient: f64,
    /// Conductance to the content with much liquid, W/K.
    pub wet: f64,
    /// Conductance to the content without liquid, W/K.
    pub dry: f64,
    /// Liquid mass at which the conductance is half way, kg.
    pub half_mass: f64,
    /// Temperature of the surroundings, K; the network's ambient when absent.
    pub surroundings: Option<f64>,
    /// Starting temperature, K; that of the content when absent.
    pub start: Option<f64>,
}

/// Oil with refrigerant in solution: r = (m_d - m_oil K min(1, p/p_sat(T))) / tau leaves the oil.
#[derive(Debug, Clone, Copy)]
pub struct OilSpec {
    /// Oil mass, kg.
    pub mass: f64,
    /// Refrigerant held per oil mass at saturation pressure, kg/kg.
    pub solubility: f64,
    /// Time constant of release and uptake, s.
    pub time_constant: f64,
    /// Refrigerant in solution at the start, kg; saturated (mass x solubility) when absent.
    pub dissolved: Option<f64>,
    /// Share of a leaving vapour stream that is oil mist, 0-1.
    pub mist: f64,
}

/// Liquid water or ice in a volume.
#[derive(Debug, Clone, Copy)]
pub struct PoolSpec {
    /// Water mass, kg.
    pub mass: f64,
    /// Conductance to the wall (or the content's temperature in an isothermal volume), W/K.
    pub to_wall: f64,
    /// Evaporation per vapour pressure difference, kg/(s Pa).
    pub evaporation: f64,
    /// Water mass at which exchange has fallen to half, kg.
    pub half_mass: f64,
}

/// One element between two places.
#[derive(Debug, Clone)]
pub struct ElementSpec {
    /// Name, unique in the network; part of signal names.
    pub name: String,
    /// Upstream place, or `ambient` or `vacuum`.
    pub from: String,
    /// Downstream place, or `ambient` or `vacuum`.
    pub to: String,
    /// Its law.
    pub law: LawSpec,
    /// What opens it.
    pub actuator: ActuatorSpec,
}

/// What opens or runs an element.
#[derive(Debug, Clone, Copy)]
pub struct ActuatorSpec {
    /// Command at the start, 0-1.
    pub start: f64,
    /// Time for a full stroke, s (0 = at once).
    pub stroke: f64,
    /// Opening that stays when shut, 0-1.
    pub leak_by: f64,
}

impl Default for ActuatorSpec {
    fn default() -> Self {
        Self { start: 1.0, stroke: 0.0, leak_by: 0.0 }
    }
}

/// What an outlet draws from a volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Draw {
    /// The gas space.
    Vapour,
    /// The liquid, through a dip tube; gas once the liquid is gone.
    Liquid,
    /// Both, as the volume's mean.
    Mixed,
}

/// How a compressible nozzle flow is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nozzle {
    /// Homogeneous isentropic flow with real properties (pure refrigerant; `k` serves a mixture with air).
    Real {
        /// Isentropic exponent used when air is in the stream, 1.01-1.67; 0 = by composition.
        k: f64,
    },
    /// Ideal-gas formula with the real density.
    Ideal {
        /// Isentropic exponent, 1.01-1.67; 0 = by composition (air 1.4, refrigerant vapour 1.1).
        k: f64,
    },
}

/// The law of an element.
#[derive(Debug, Clone)]
pub enum LawSpec {
    /// Compressible nozzle, choked or not.
    Orifice(OrificeSpec),
    /// Incompressible liquid orifice.
    LiquidOrifice(LiquidOrificeSpec),
    /// Long bore: laminar and molecular flow, for vacuum.
    Duct(DuctSpec),
    /// Recovery compressor.
    Compressor(CompressorSpec),
    /// Vacuum pump, with or without a hose before it.
    VacuumPump(PumpSpec),
    /// Relief valve.
    Relief(ReliefSpec),
    /// Electric heater on the wall of `from`.
    Heater(HeaterSpec),
    /// Oil line: oil only.
    OilLine(OilLineSpec),
    /// Heat conductance between the walls (or contents) of two volumes, W/K.
    HeatLink(f64),
    /// Fan airing the cabinet `from`, m3/s at full speed.
    Fan(f64),
}

/// Compressible nozzle.
#[derive(Debug, Clone, Copy)]
pub struct OrificeSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Discharge coefficient, 0-1.
    pub discharge: f64,
    /// Flow law.
    pub nozzle: Nozzle,
    /// What it draws.
    pub draw: Draw,
    /// Flow from `from` to `to` only.
    pub one_way: bool,
    /// Opening pressure of a check valve, Pa.
    pub cracking: f64,
    /// Pressure difference below which the flow turns linear, Pa.
    pub regular: f64,
}

/// Liquid orifice w = Cd A sqrt(2 rho) dp / (dp^2 + dp_reg^2)^(1/4).
#[derive(Debug, Clone, Copy)]
pub struct LiquidOrificeSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Discharge coefficient, 0-1.
    pub discharge: f64,
    /// Smoothing pressure, Pa.
    pub regular: f64,
    /// Flow from `from` to `to` only.
    pub one_way: bool,
    /// Lowest pressure the throat can reach, as a share of saturation pressure (flashing limit); none = no limit.
    pub flashing: Option<f64>,
}

/// Round bore in the laminar and molecular regimes.
#[derive(Debug, Clone, Copy)]
pub struct DuctSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Length, m.
    pub length: f64,
    /// Parallel ducts.
    pub count: f64,
    /// Gas viscosity, Pa s.
    pub viscosity: f64,
    /// Discharge coefficient of the entrance that limits the flow at high pressure; 0 = no limit.
    pub entrance: f64,
}

/// Reciprocating compressor with clearance.
#[derive(Debug, Clone, Copy)]
pub struct CompressorSpec {
    /// Displacement per revolution, m3.
    pub displacement: f64,
    /// Speed, 1/s.
    pub speed: f64,
    /// Volumetric efficiency at pressure ratio 1.
    pub volumetric: f64,
    /// Clearance share.
    pub clearance: f64,
    /// Polytropic exponent of the re-expansion.
    pub exponent: f64,
    /// Isentropic efficiency.
    pub isentropic: f64,
    /// Conductance of the warm shell to the ambient, W/K (0 = adiabatic): what keeps the discharge cool at little flow.
    pub shell: f64,
    /// Condenser or aftercooler conductance to the ambient, W/K (0 = none).
    pub condenser: f64,
    /// Motor current: idle, A.
    pub idle_current: f64,
    /// Motor current per shaft power, A/W.
    pub current_per_watt: f64,
}

/// Vacuum pump.
#[derive(Debug, Clone, Copy)]
pub struct PumpSpec {
    /// Pumping speed, m3/s.
    pub speed: f64,
    /// Ultimate pressure, Pa.
    pub ultimate: f64,
    /// Hoses before the pump, taken as quasi-steady.
    pub hose: Option<DuctSpec>,
    /// Motor current while running: idle, A.
    pub idle_current: f64,
    /// Extra current per throughput, A/W.
    pub current_per_watt: f64,
}

/// Relief valve that opens at `set` and shuts at `reseat`.
#[derive(Debug, Clone, Copy)]
pub struct ReliefSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Discharge coefficient, 0-1.
    pub discharge: f64,
    /// Isentropic exponent.
    pub k: f64,
    /// Opening pressure above the back pressure, Pa.
    pub set: f64,
    /// Shutting pressure above the back pressure, Pa.
    pub reseat: f64,
}

/// Heater.
#[derive(Debug, Clone, Copy)]
pub struct HeaterSpec {
    /// Electric power when fully on, W.
    pub power: f64,
    /// Heat capacity of the element, J/K.
    pub capacity: f64,
    /// Conductance to the wall, W/K.
    pub to_wall: f64,
}

/// Oil line: oil mass flow k sqrt(dp).
#[derive(Debug, Clone, Copy)]
pub struct OilLineSpec {
    /// Oil flow at 1 Pa, kg/s/sqrt(Pa).
    pub coefficient: f64,
    /// Oil mass below which the flow dies away, kg.
    pub margin: f64,
    /// Head of the oil alone where a second line balances the gas pressures, Pa; the pressure difference when absent.
    pub head: Option<f64>,
}

/// How exactly to integrate.
#[derive(Debug, Clone, Copy)]
pub struct Tolerance {
    /// Relative tolerance (1e-6 to 1e-2).
    pub relative: f64,
    /// Pressure that counts as nothing, Pa.
    pub pressure: f64,
    /// Longest step, s.
    pub longest: f64,
}

impl Tolerance {
    /// For rigs compared with reference solutions.
    pub const RIG: Self = Self { relative: 1e-5, pressure: 2e-3, longest: 60.0 };
    /// For whole service jobs.
    pub const STATION: Self = Self { relative: 3e-4, pressure: 0.2, longest: 60.0 };
}

impl NetworkSpec {
    /// The volume of that name, to change its data.
    pub fn volume_mut(&mut self, name: &str) -> Option<&mut VolumeSpec> {
        self.volumes.iter_mut().find(|volume| volume.name == name)
    }

    /// The element of that name, to change its data.
    pub fn element_mut(&mut self, name: &str) -> Option<&mut ElementSpec> {
        self.elements.iter_mut().find(|element| element.name == name)
    }
}
