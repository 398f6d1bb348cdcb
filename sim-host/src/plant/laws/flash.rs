//! Flashing flow: liquid that boils in a nozzle, in homogeneous equilibrium, with a factor for orifices too short to reach it.
//!
//! G(p) = sqrt(2 int_p^p0 v dp) / v(p) along the isentrope, the largest over p >= back pressure (textbook homogeneous equilibrium
//! model). The integral, not an enthalpy difference, keeps its digits at small pressure differences. Liquid colder than
//! saturation counts as incompressible down to its flash point.

use super::Rate;
use crate::fluid::{Fluid, Sat};

/// Abscissae and weights of three-point Gauss-Legendre integration on 0..1: exact to the fifth power.
const GAUSS: [(f64, f64); 3] =
    [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];
/// Temperature drop to the throat where the search starts, K: saturated liquid at 20 degC drops some 3 K.
const FIRST_DROP: f64 = 3.0;
/// Where the search for the throat ends, as a share of the drop: the flux is flat at its maximum, this leaves 1e-4 of it.
const CLOSE: f64 = 0.01;

/// What stands before a wet nozzle.
#[derive(Debug, Clone, Copy)]
pub struct Inlet {
    /// Pressure, Pa; above saturation the liquid is subcooled.
    pub p: f64,
    /// Temperature, K.
    pub t: f64,
    /// Saturation at that temperature.
    pub sat: Sat,
    /// Mass share of vapour, 0-1.
    pub x: f64,
    /// The pressure does not follow the temperature: a volume full of liquid.
    pub full: bool,
}

/// A moment on the isentrope below the flash point.
struct Throat {
    /// Specific volume, m3/kg, and its slope by pressure.
    v: f64,
    slope: f64,
    /// int v dp from the inlet, J/kg.
    work: f64,
}

impl Throat {
    /// Positive before the throat, negative past it: v^2 + 2 work dv/dp.
    fn before(&self) -> f64 {
        self.v * self.v + 2.0 * self.work * self.slope
    }
}

struct Expansion<'a> {
    fluid: &'a Fluid,
    entropy: f64,
    /// Work down to the flash point, J/kg.
    ahead: f64,
    t: f64,
    inlet: &'a Sat,
}

impl Expansion<'_> {
    /// Specific volume, its slope by pressure and the slope of the pressure by temperature at saturation.
    fn volume(&self, sat: &Sat) -> (f64, f64) {
        let (v_l, v_g) = (1.0 / sat.rho_l, 1.0 / sat.rho_v);
        let x = ((self.entropy - sat.s_l) / (sat.s_v - sat.s_l)).max(0.0);
        (v_l + x * (v_g - v_l), x)
    }

    fn slope(&self, sat: &Sat, x: f64) -> f64 {
        let (v_l, v_g) = (1.0 / sat.rho_l, 1.0 / sat.rho_v);
        let (dv_l, dv_g) = (-sat.drho_l * v_l * v_l, -sat.drho_v * v_g * v_g);
        // T ds = du + p dv along each side of the saturation line.
        let (ds_l, ds_g) = ((sat.du_l + sat.p * dv_l) / sat.t, (sat.du_v + sat.p * dv_g) / sat.t);
        let dx = -(ds_l + x * (ds_g - ds_l)) / (sat.s_v - sat.s_l);
        (dv_l + dx * (v_g - v_l) + x * (dv_g - dv_l)) / sat.dp_dt
    }

    /// The moment at temperature `t` on the way.
    fn at(&self, t: f64) -> Throat {
        let span = self.t - t;
        let work: f64 = GAUSS
            .iter()
            .map(|(at, weight)| {
                let sat = self.fluid.sat(self.t - at * span);
                weight * self.volume(&sat).0 * sat.dp_dt
            })
            .sum();
        let sat = self.fluid.sat(t);
        let (v, x) = self.volume(&sat);
        Throat { v, slope: self.slope(&sat, x), work: self.ahead + work * span }
    }

    /// The flash point itself, on its wet side.
    fn start(&self, x: f64) -> Throat {
        Throat { v: self.volume(self.inlet).0, slope: self.slope(self.inlet, x), work: self.ahead }
    }

    /// The choking point, by secants kept between the flash point and `coldest`; `drop` is the last one's temperature drop.
    fn choke(&self, start: &Throat, coldest: f64, drop: &mut f64) -> Throat {
        let longest = self.t - coldest;
        let (mut low, mut f_low) = (0.0, start.before());
        let (mut high, mut f_high) = (longest, f64::NAN);
        let mut d = if *drop > 0.0 { drop.min(longest) } else { FIRST_DROP.min(longest) };
        let mut found = self.at(self.t - d);
        for _ in 0..40 {
            let f = found.before();
            if f > 0.0 {
                (low, f_low) = (d, f);
            } else {
                (high, f_high) = (d, f);
            }
            let next = if f_high.is_nan() {
                // No far end yet: the line through the flash point tells how far to look.
                let reach = if low > 0.0 {
                    d * start.before() / (start.before() - f).max(1e-3 * start.before())
                } else {
                    2.0 * d
                };
                (1.05 * reach).max(1.3 * d).min(longest)
            } else {
                let line = low + (high - low) * f_low / (f_low - f_high);
                line.clamp(low + 0.05 * (high - low), high - 0.05 * (high - low))
            };
            let close = (next - d).abs() <= CLOSE * next || high - low <= CLOSE * high;
            if close || (f_high.is_nan() && d >= longest) {
                break;
            }
            d = next;
            found = self.at(self.t - d);
        }
        *drop = d;
        found
    }
}

/// Flux of a wet stream through a nozzle, kg/(m2 s); `drop` (K) is where the search for the throat starts and is updated.
///
/// `nonequilibrium` is the factor on saturated liquid, 1 (equilibrium) to 2.4 (the most Henry and Fauske's model gives for it).
/// It fades with subcooling and with the share of vapour as that model does, and never passes the frozen liquid's flow.
pub fn flux(fluid: &Fluid, inlet: &Inlet, back: f64, nonequilibrium: f64, drop: &mut f64) -> Rate {
    let head = inlet.p - back;
    if head <= 0.0 {
        return Rate::default();
    }
    let cooled = if inlet.x <= 0.0 { flash_point(fluid, inlet) } else { inlet.t };
    let point = if cooled < inlet.t { fluid.sat(cooled) } else { inlet.sat };
    let sat = &point;
    let v_l = 1.0 / sat.rho_l;
    let v0 = v_l + inlet.x * (1.0 / sat.rho_v - v_l);
    if back >= sat.p {
        // Nothing boils.
        return bernoulli(head, v0);
    }
    let ahead = (inlet.p - sat.p).max(0.0) * (1.0 - inlet.x) * v_l;
    let way = Expansion { fluid, entropy: sat.s_l + inlet.x * (sat.s_v - sat.s_l), ahead, t: cooled, inlet: sat };
    let start = way.start(inlet.x);
    let mut made = if start.before() <= 0.0 {
        let value = (2.0 * ahead).sqrt() / start.v;
        Rate { value, slope: [v_l / (value * start.v * start.v), 0.0, 0.0], choked: true }
    } else {
        let coldest = fluid.t_sat(back).min(cooled - 1e-6);
        let end = way.at(coldest);
        let (at, choked) = if end.before() > 0.0 { (end, false) } else { (way.choke(&start, coldest, drop), true) };
        let value = (2.0 * at.work).sqrt() / at.v;
        let by_work = 1.0 / (value * at.v * at.v);
        let by_back = if choked { 0.0 } else { -1.0 / (value * at.v) - value * at.slope / at.v };
        Rate { value, slope: [by_work * (1.0 - inlet.x) * v_l, 0.0, by_back], choked }
    };
    if !inlet.full {
        // Pressure and flash point move together: the flux goes about as the pressure.
        made.slope[0] = made.value / inlet.p - made.slope[2].min(0.0) * back / inlet.p;
    }
    if nonequilibrium <= 1.0 {
        return made;
    }
    delayed(made, inlet, head, nonequilibrium, v_l / v0)
}

/// Excess over saturation below which liquid is not followed down to its flash point, Pa: it cools by some 3 mK there.
const HARDLY: f64 = 5e3;

/// Temperature at which subcooled liquid begins to boil, K. On its way down at constant entropy it cools by T beta v/c dp, so that it boils
/// below the saturation pressure it came with; slopes at the inlet, beta and c along the saturation line.
fn flash_point(fluid: &Fluid, inlet: &Inlet) -> f64 {
    let sat = &inlet.sat;
    let excess = inlet.p - sat.p;
    if excess < HARDLY {
        return inlet.t;
    }
    let cools = -inlet.t * sat.drho_l / (sat.rho_l * sat.rho_l * sat.du_l.max(500.0));
    let follows = (cools * sat.dp_dt).min(0.5);
    (inlet.t - cools * excess / (1.0 - follows)).max(fluid.t_min())
}

fn bernoulli(head: f64, v: f64) -> Rate {
    let value = (2.0 * head / v).sqrt();
    let slope = 0.5 * value / head;
    Rate { value, slope: [slope, 0.5 * value * v, -slope], choked: false }
}

/// Boiling that lags behind. With G_s the flux of saturated liquid by the estimate 0.8 dp/dT sqrt(T/c), the factor is
/// 1 + (N - 1) min(1, (G_s/G)^2) (v_l/v)^0.75: within a tenth of Henry and Fauske's from 20 K subcooling to x = 0.2 (reference table f1).
fn delayed(made: Rate, inlet: &Inlet, head: f64, factor: f64, dense: f64) -> Rate {
    let sat = &inlet.sat;
    let saturated = 0.8 * sat.dp_dt * (inlet.t / sat.du_l.max(500.0)).sqrt();
    let ratio = (saturated / made.value).min(1.0);
    let gain = 1.0 + (factor - 1.0) * ratio * ratio * dense.sqrt() * dense.sqrt().sqrt();
    let frozen = bernoulli(head, 1.0 / (sat.rho_l * dense));
    if gain * made.value > frozen.value { frozen } else { made.times(gain) }
}
