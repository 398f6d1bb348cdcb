//! The network as plain data: volumes, what joins them, and the air around. SI units throughout.
//!
//! Everything a rig or a station file can say ends up here; `parse` reads it from TOML, `Plant::new` builds from it.

pub use super::tolerance::Tolerance;
use crate::fluid::FluidKind;

/// A whole network.
#[derive(Debug, Clone)]
pub struct NetworkSpec {
    /// The main refrigerant.
    pub fluid: FluidKind,
    /// A second refrigerant that volumes may hold besides; none: one refrigerant everywhere.
    pub second: Option<FluidKind>,
    /// How the liquids of the two mix.
    pub mixing: Mixing,
    /// The air around.
    pub ambient: AmbientSpec,
    /// Volumes, bottles and the cabinet.
    pub volumes: Vec<VolumeSpec>,
    /// What joins them.
    pub elements: Vec<ElementSpec>,
}

/// How two liquid refrigerants mix. Volumes and energies add in either case, and vapours follow Dalton.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Mixing {
    /// Raoult: partial pressure = mole fraction times saturation pressure.
    Ideal,
    /// One-constant Margules, ln g1 = A x2^2 with A = 0.235 - 0.0011 t_C: fitted to the mixture model of CoolProp 8 for
    /// R-1234yf with R-134a at 0, 25 and 50 degC, to 0.0004 in pressure.
    #[default]
    Real,
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
    /// Metal that exchanges heat with the content and the surroundings, and on which water condenses and freezes.
    pub wall: Option<WallSpec>,
    /// A second piece of metal with surroundings of its own: the cold spot that hides water.
    pub cold_wall: Option<WallSpec>,
    /// Oil that holds dissolved refrigerant.
    pub oil: Option<OilSpec>,
    /// A puddle of water or ice, warmed by the wall through a resistance of its own.
    pub pool: Option<PoolSpec>,
    /// Air that dissolves in the liquid refrigerant.
    pub air_uptake: Option<AirUptakeSpec>,
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
    /// Second refrigerant, kg.
    pub second: f64,
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
///
/// Metal and the water on it are one enthalpy node: H = C t + m c t - m_ice L_f. Water settles where its vapour pressure is
/// above saturation at the metal's temperature, dm = K (p_v - p_sat(t)), and leaves as K m/(m + m_half) (p_v - p_sat(t)).
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
    /// Condensation of water per vapour pressure difference K, kg/(s Pa).
    pub condensation: f64,
    /// Water mass at which its evaporation has fallen to half, kg.
    pub half_water: f64,
    /// Water on it at the start, kg.
    pub water: f64,
}

/// How oil holds refrigerant: what leaves or enters it, in kg/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OilLaw {
    /// It holds none: a film on its way through a hose. What comes in with it joins the content.
    Film,
    /// r = (m_oil K min(1, phi) - m_d) / tau with phi = p / p_sat(t_oil).
    Linear {
        /// Refrigerant held per oil mass at saturation K, kg/kg.
        solubility: f64,
        /// Time constant tau, s.
        time_constant: f64,
    },
    /// r = (m_oil (M/M_eff) phi/(1 - phi) - m_d) / tau, phi at most 0.98.
    Raoult {
        /// Effective molar mass of the oil M_eff, kg/mol.
        molar_mass: f64,
        /// Time constant tau, s.
        time_constant: f64,
    },
    /// Flory-Huggins: r = k (p - p_eq), p_eq = p_sat(t_oil) v exp((1 - 1/m)(1 - v) + chi (1 - v)^2), v the volume fraction of
    /// refrigerant in the oil phase, m the ratio of molar volumes.
    Flory {
        /// Molar mass of the oil, kg/mol.
        molar_mass: f64,
        /// Interaction chi.
        interaction: f64,
        /// Rate k, kg/(s Pa).
        rate: f64,
    },
}

/// Oil with refrigerant in solution.
///
/// The oil phase has a temperature of its own, takes room (m_oil/rho + m_d/rho_l), and holds
/// U = m_oil c t + m_d (u_l(t) + dh). All laws see phi raised by exp(-dh M/R (1/t - 1/298.15 K)).
#[derive(Debug, Clone, Copy)]
pub struct OilSpec {
    /// Oil mass, kg.
    pub mass: f64,
    /// How it holds refrigerant.
    pub law: OilLaw,
    /// Without volume and heat, as the reference model (b) has it: what it releases arrives as saturated liquid, and that energy
    /// is booked as crossing the network's edge. Only with the linear law.
    pub weightless: bool,
    /// Density, kg/m3.
    pub density: f64,
    /// Heat capacity c, J/(kg K).
    pub heat_capacity: f64,
    /// Conductance to the content, W/K.
    pub to_content: f64,
    /// Conductance to the wall that it lies on, W/K.
    pub to_wall: f64,
    /// Heat of mixing dh per kg dissolved, J/kg (negative: given off besides that of condensation).
    pub heat_of_mixing: f64,
    /// Refrigerant in solution at the start, kg; in equilibrium with the content when absent.
    pub dissolved: Option<f64>,
    /// Share of a leaving vapour stream that is oil mist, 0-1.
    pub mist: f64,
}

/// Air that dissolves slowly in liquid refrigerant: dm/dt = (m_liq x_eq - m) / tau with the mole fraction p_air / H.
#[derive(Debug, Clone, Copy)]
pub struct AirUptakeSpec {
    /// Henry's constant H, Pa (pressure of air per mole fraction in the liquid).
    pub henry: f64,
    /// Time constant tau, s.
    pub time_constant: f64,
}

/// A puddle of liquid water or ice in a volume.
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

/// How the flow of gas through a nozzle is computed. Wet streams expand in homogeneous equilibrium either way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nozzle {
    /// Homogeneous isentropic flow with real properties (pure refrigerant; `k` serves a mixture with air).
    Real {
        /// Isentropic exponent used when the stream is no pure refrigerant, 1.01-1.67; 0 = by its sound speed.
        k: f64,
    },
    /// Ideal-gas formula with the real density.
    Ideal {
        /// Isentropic exponent, 1.01-1.67; 0 = by the sound speed a of the stream, k = rho a^2 / p.
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
    /// Hose or pipe with friction, from 10 bar to 0.1 Pa, gas, liquid or both.
    Hose(HoseSpec),
    /// Recovery compressor.
    Compressor(CompressorSpec),
    /// Vacuum pump, with or without a hose before it.
    VacuumPump(PumpSpec),
    /// Constant mass flow, whatever the pressures.
    DrawOff(DrawOffSpec),
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

/// Compressible nozzle; what is liquid in the stream flashes in it.
#[derive(Debug, Clone, Copy)]
pub struct OrificeSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Discharge coefficient, 0-1.
    pub discharge: f64,
    /// Flow law.
    pub nozzle: Nozzle,
    /// What it draws at `from` and at `to`.
    pub draw: [Draw; 2],
    /// How far a wet stream is from equilibrium in it: factor on its flow when saturated, 1 (equilibrium) to 2.4.
    pub nonequilibrium: f64,
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

/// Hose or pipe: Churchill friction, inertia with choking, losses of its fittings, a molecular term in vacuum; wet flow after
/// Mueller-Steinhagen and Heck.
#[derive(Debug, Clone, Copy)]
pub struct HoseSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Length, m.
    pub length: f64,
    /// Parallel hoses.
    pub count: f64,
    /// Roughness of the bore, m.
    pub roughness: f64,
    /// Sum of the loss coefficients K of entry, couplings and valve cores, each times rho u^2/2.
    pub fittings: f64,
    /// What it draws at `from` and at `to`.
    pub draw: [Draw; 2],
    /// Flow from `from` to `to` only.
    pub one_way: bool,
    /// Pressure difference below which the flow turns linear, Pa.
    pub regular: f64,
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
///
/// Its ultimate pressure rises with the pressure it works against, p_u p_back / 101 325 Pa, and its speed dies away towards `stall`.
#[derive(Debug, Clone, Copy)]
pub struct PumpSpec {
    /// Pumping speed, m3/s.
    pub speed: f64,
    /// Ultimate pressure against one atmosphere, Pa.
    pub ultimate: f64,
    /// Hoses before the pump, taken as quasi-steady.
    pub hose: Option<DuctSpec>,
    /// Back pressure at which it moves nothing more, Pa absolute.
    pub stall: f64,
    /// Its oil, which moisture degrades; a pump without is always as new.
    pub oil: Option<PumpOilSpec>,
    /// Motor current while running: idle, A.
    pub idle_current: f64,
    /// Extra current per throughput, A/W.
    pub current_per_watt: f64,
}

/// Oil of a vacuum pump.
///
/// The gas that leaves can carry off water up to its vapour pressure over the oil, a p_sat(t) with a = m_w / (m_oil s); the rest
/// of what was drawn in stays. The ultimate pressure is p_u + a (p_wet - p_u). Gas ballast is dry gas that leaves besides.
#[derive(Debug, Clone, Copy)]
pub struct PumpOilSpec {
    /// Oil mass, kg.
    pub mass: f64,
    /// Water in it at the start, kg.
    pub water: f64,
    /// Water that saturates it s, kg/kg.
    pub saturation: f64,
    /// Its temperature while the pump runs, K.
    pub temperature: f64,
    /// Ultimate pressure with saturated oil p_wet, Pa.
    pub wet_ultimate: f64,
    /// Gas ballast, m3/s of ambient air; 0 = shut.
    pub ballast: f64,
}

/// Constant mass flow out of `from`; it dies away below some 100 Pa.
#[derive(Debug, Clone, Copy)]
pub struct DrawOffSpec {
    /// Mass flow, kg/s.
    pub flow: f64,
    /// What it draws.
    pub draw: Draw,
}

/// Relief valve that opens at `set` and shuts at `reseat`.
#[derive(Debug, Clone, Copy)]
pub struct ReliefSpec {
    /// Bore, m.
    pub diameter: f64,
    /// Discharge coefficient, 0-1.
    pub discharge: f64,
    /// Isentropic exponent; 0 = by the sound speed.
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

impl OilSpec {
    /// It is a phase of its own, with temperature and room.
    pub fn phase(&self) -> bool {
        !self.weightless && self.law != OilLaw::Film
    }
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
