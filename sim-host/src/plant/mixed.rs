//! A volume with two refrigerants: liquids that mix, vapours that follow Dalton, one temperature.
//!
//! Two-phase: p_i = x_i g_i p_sat,i(T) with x molar and g from [`Mixing`]; each vapour by its own equation of state at (T, p_i);
//! liquid volumes and energies add (saturated pure liquids at T). Dry: both vapours at their own densities. Full: the mean liquid
//! compressed as the main refrigerant's.

use super::content::{COLDEST, Content, Fluids, HOTTEST, Known, Others};
use super::spec::Mixing;
use crate::fluid::{Fluid, Phase, Sat, State};

/// Mass share below which a refrigerant counts as absent.
pub const TRACE: f64 = 1e-9;
/// Mole fractions are kept this far from 0 and 1.
const EDGE: f64 = 1e-10;
/// Temperature at which an iteration ends, K.
const CLOSE: f64 = 2e-5;

/// What is known at one temperature.
struct At<'a> {
    fluids: [&'a Fluid; 2],
    mixing: Mixing,
    t: f64,
    sat: [Sat; 2],
    m: [f64; 2],
    volume: f64,
}

/// Both phases for one composition of the liquid.
struct Phases {
    x: f64,
    p: [f64; 2],
    gas: [State; 2],
    /// Liquid of either, kg; negative where the composition asks for more than there is.
    liquid: [f64; 2],
    gas_volume: f64,
}

impl At<'_> {
    fn molar(&self) -> [f64; 2] {
        self.fluids.map(Fluid::molar_mass)
    }

    fn activities(&self, x: f64) -> [f64; 2] {
        match self.mixing {
            Mixing::Ideal => [1.0; 2],
            Mixing::Real => {
                let a = 0.235 - 0.0011 * (self.t - 273.15);
                [(a * (1.0 - x) * (1.0 - x)).exp(), (a * x * x).exp()]
            }
        }
    }

    fn phases(&self, x: f64) -> Phases {
        let x = x.clamp(EDGE, 1.0 - EDGE);
        let g = self.activities(x);
        let p = [x * g[0] * self.sat[0].p, (1.0 - x) * g[1] * self.sat[1].p];
        let gas = [0, 1].map(|i| self.fluids[i].vapour_pt(p[i], self.t));
        let (mut room, mut net) = (self.volume, 1.0);
        for ((mass, sat), gas) in self.m.iter().zip(&self.sat).zip(&gas) {
            room -= mass / sat.rho_l;
            net -= gas.rho / sat.rho_l;
        }
        let gas_volume = room / net.max(0.05);
        let liquid = [0, 1].map(|i| self.m[i] - gas[i].rho * gas_volume);
        Phases { x, p, gas, liquid, gas_volume }
    }

    /// How far the liquid's composition is from the one assumed, in moles over all moles.
    fn miss(&self, phases: &Phases) -> f64 {
        let molar = self.molar();
        let n = [phases.liquid[0] / molar[0], phases.liquid[1] / molar[1]];
        let all = self.m[0] / molar[0] + self.m[1] / molar[1];
        (phases.x * (n[0] + n[1]) - n[0]) / all
    }

    /// The composition that fits, from `x`.
    fn solve(&self, x: f64) -> Phases {
        let mut now = self.phases(x);
        let (mut low, mut high) = (EDGE, 1.0 - EDGE);
        for _ in 0..60 {
            let f = self.miss(&now);
            if f > 0.0 {
                high = now.x;
            } else {
                low = now.x;
            }
            let step = 1e-6 * (if now.x < 0.5 { 1.0 } else { -1.0 });
            let slope = (self.miss(&self.phases(now.x + step)) - f) / step;
            let mut next = now.x - f / slope;
            if !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            let close = (next - now.x).abs() < 1e-9;
            now = self.phases(next);
            if close || high - low < 1e-12 {
                break;
            }
        }
        now
    }

    fn energy(&self, phases: &Phases) -> f64 {
        (0..2).map(|i| phases.liquid[i] * self.sat[i].u_l + (self.m[i] - phases.liquid[i]) * phases.gas[i].u).sum()
    }
}

/// Works out `m` (main, second) kg beside `others`.
pub(super) fn content(
    fluids: &Fluids,
    second: &Fluid,
    m: [f64; 2],
    others: &Others,
    known: Known,
    guess: f64,
) -> Content {
    let pair = [fluids.main, second];
    let hottest = pair[0].t_sat_max().min(pair[1].t_sat_max());
    let start = others.held.unwrap_or(guess).clamp(COLDEST, HOTTEST);
    // Where it was dry it most often still is.
    if known.quality < 1.0 {
        if let Some(made) = wet(fluids, pair, m, others, known, start, hottest) {
            return made;
        }
        return dry(pair, m, others, start);
    }
    let made = dry(pair, m, others, start);
    if made.t < hottest && condenses(fluids, pair, &made) {
        return wet(fluids, pair, m, others, known, made.t, hottest).unwrap_or(made);
    }
    made
}

/// Whether vapours of these densities are past their dew point.
fn condenses(fluids: &Fluids, pair: [&Fluid; 2], made: &Content) -> bool {
    let at = At {
        fluids: pair,
        mixing: fluids.mixing,
        t: made.t,
        sat: pair.map(|fluid| fluid.sat(made.t)),
        m: [0.0; 2],
        volume: 1.0,
    };
    let parts = [0, 1].map(|i| pair[i].at_without_entropy(made.gas[i], made.t).p / at.sat[i].p);
    let mut x = parts[0] / (parts[0] + parts[1]).max(1e-30);
    for _ in 0..8 {
        let g = at.activities(x);
        let shares = [parts[0] / g[0], parts[1] / g[1]];
        x = shares[0] / (shares[0] + shares[1]).max(1e-30);
    }
    let g = at.activities(x);
    parts[0] / g[0] + parts[1] / g[1] > 1.0
}

fn dry(pair: [&Fluid; 2], m: [f64; 2], others: &Others, start: f64) -> Content {
    let rho = m.map(|one| one / others.volume);
    let at = |t: f64| [0, 1].map(|i| pair[i].at_without_entropy(rho[i].max(1e-9), t));
    let mut t = start;
    let mut gas = at(t);
    let mut capacity = others.capacity + m[0] * gas[0].cv + m[1] * gas[1].cv;
    if others.held.is_none() {
        for _ in 0..40 {
            let step = (others.energy - others.energy_at(t) - m[0] * gas[0].u - m[1] * gas[1].u) / capacity;
            t = (t + step.clamp(-40.0, 40.0)).clamp(COLDEST, HOTTEST);
            gas = at(t);
            capacity = others.capacity + m[0] * gas[0].cv + m[1] * gas[1].cv;
            if step.abs() < CLOSE {
                break;
            }
        }
    }
    let all = m[0] + m[1];
    let mean = |f: fn(&State) -> f64| (m[0] * f(&gas[0]) + m[1] * f(&gas[1])) / all;
    let p = gas[0].p + gas[1].p;
    let rho_all = rho[0] + rho[1];
    let dp_dt = gas[0].dp_dt + gas[1].dp_dt;
    let cv = mean(|s| s.cv);
    let spring = (0..2).map(|i| rho[i] * gas[i].dp_drho).sum::<f64>();
    let k = (spring + t * dp_dt * dp_dt / (rho_all * cv)) / p.max(1e-9);
    let state = State {
        phase: Phase::Vapour,
        rho: rho_all,
        p,
        u: mean(|s| s.u),
        h: mean(|s| s.h),
        quality: 1.0,
        rho_g: rho_all,
        h_g: mean(|s| s.h),
        s_g: f64::NAN,
        dp_dt,
        dp_drho: spring / rho_all,
        cv,
        ..gas[0]
    };
    Content {
        t,
        capacity,
        by_mass: gas.map(|s| s.u + s.rho * s.du_drho),
        push: gas.map(|s| s.dp_drho / others.volume),
        gas: rho,
        gas_h: gas.map(|s| s.h),
        k,
        second_l: m[1] / all,
        mole: 0.5,
        main: gas[0].p / p.max(1e-9),
        r: pair.map(|fluid| 8.314_462_618 / fluid.molar_mass()),
        state,
    }
}

/// The two-phase or liquid-full state; `None` where no liquid is left or it is too warm for one.
fn wet(
    fluids: &Fluids,
    pair: [&Fluid; 2],
    m: [f64; 2],
    others: &Others,
    known: Known,
    start: f64,
    hottest: f64,
) -> Option<Content> {
    let at = |t: f64| At {
        fluids: pair,
        mixing: fluids.mixing,
        t,
        sat: pair.map(|fluid| fluid.sat(t)),
        m,
        volume: others.volume,
    };
    let molar = pair.map(Fluid::molar_mass);
    let whole = m[0] / molar[0] / (m[0] / molar[0] + m[1] / molar[1]);
    let mut x = if known.mole > 0.0 && known.mole < 1.0 && known.quality < 1.0 { known.mole } else { whole };
    let mut t = start.min(hottest);
    let mut capacity = if known.capacity > 0.0 && known.quality < 1.0 {
        known.capacity
    } else {
        others.capacity + (m[0] + m[1]) * 1200.0
    };
    let mut last: Option<(f64, f64)> = None;
    for _ in 0..60 {
        let here = at(t);
        let phases = here.solve(x);
        x = phases.x;
        let full = phases.gas_volume <= 0.0;
        let energy = if full { (0..2).map(|i| m[i] * here.sat[i].u_l).sum() } else { here.energy(&phases) };
        let miss = others.energy - others.energy_at(t) - energy;
        if others.held.is_none() {
            if let Some((t0, miss0)) = last
                && (t - t0).abs() > 1e-7
            {
                let seen = (miss0 - miss) / (t - t0);
                if seen > 0.2 * capacity && seen < 5.0 * capacity {
                    capacity = seen;
                }
            }
            last = Some((t, miss));
            let step = miss / capacity;
            if step.abs() > CLOSE {
                let next = (t + step.clamp(-20.0, 20.0)).max(COLDEST);
                if next >= hottest && t >= hottest {
                    return None;
                }
                t = next.min(hottest);
                continue;
            }
        }
        if !full && phases.liquid[0] + phases.liquid[1] <= 0.0 {
            return None;
        }
        return Some(if full { filled(&here, others, capacity) } else { settled(&here, &phases, others, capacity) });
    }
    None
}

/// Both phases as one content.
fn settled(at: &At, phases: &Phases, others: &Others, capacity: f64) -> Content {
    let (sat, molar) = (&at.sat, at.molar());
    let all = at.m[0] + at.m[1];
    let liquid = phases.liquid.map(|one| one.max(0.0));
    let m_liq = liquid[0] + liquid[1];
    let p = phases.p[0] + phases.p[1];
    let rho_l = m_liq / (liquid[0] / sat[0].rho_l + liquid[1] / sat[1].rho_l).max(1e-30);
    let rho_g = phases.gas[0].rho + phases.gas[1].rho;
    let u_l = (liquid[0] * sat[0].u_l + liquid[1] * sat[1].u_l) / m_liq.max(1e-30);
    let h_g = (phases.gas[0].rho * phases.gas[0].h + phases.gas[1].rho * phases.gas[1].h) / rho_g.max(1e-30);
    let u = at.energy(phases) / all;
    let moles = (liquid[0] / molar[0] + liquid[1] / molar[1]).max(1e-12);
    let apart = sat[0].p - sat[1].p;
    let push = [apart * (1.0 - phases.x) / (moles * molar[0]), -apart * phases.x / (moles * molar[1])];
    let by_mass = [0, 1].map(|i| {
        (sat[i].u_l * sat[i].rho_l - phases.gas[i].u * phases.gas[i].rho) / (sat[i].rho_l - phases.gas[i].rho)
    });
    let dp_dt = (0..2).map(|i| phases.p[i] / sat[i].p * sat[i].dp_dt).sum();
    let state = State {
        phase: Phase::TwoPhase,
        rho: all / others.volume,
        t: at.t,
        p,
        u,
        h: u + p * others.volume / all,
        s: f64::NAN,
        quality: 1.0 - m_liq / all,
        rho_l,
        h_l: u_l + p / rho_l,
        rho_g,
        h_g,
        s_g: f64::NAN,
        dp_dt,
        dp_drho: 0.0,
        cv: capacity / all,
        du_drho: 0.0,
    };
    let share = phases.p[0] / p;
    Content {
        state,
        t: at.t,
        capacity,
        by_mass,
        // A nearly dry volume's composition would swing the pressure more than the gas in it can.
        push: push.map(|one| one.clamp(-p / all, p / all)),
        gas: phases.gas.map(|s| s.rho),
        gas_h: phases.gas.map(|s| s.h),
        k: share * at.fluids[0].sound_exponent_saturated(at.t)
            + (1.0 - share) * at.fluids[1].sound_exponent_saturated(at.t),
        second_l: liquid[1] / m_liq.max(1e-30),
        mole: phases.x,
        main: share,
        r: at.fluids.map(|fluid| 8.314_462_618 / fluid.molar_mass()),
    }
}

/// A volume full of liquid: the pressure is that of the main refrigerant compressed as much.
fn filled(at: &At, others: &Others, capacity: f64) -> Content {
    let (sat, m, molar) = (&at.sat, at.m, at.molar());
    let all = m[0] + m[1];
    let x = m[0] / molar[0] / (m[0] / molar[0] + m[1] / molar[1]);
    let g = at.activities(x);
    let bubble = x * g[0] * sat[0].p + (1.0 - x) * g[1] * sat[1].p;
    let room = m[0] / sat[0].rho_l + m[1] / sat[1].rho_l;
    let squeezed = at.fluids[0].at_without_entropy(sat[0].rho_l * (room / others.volume).max(1.0 + 1e-12), at.t);
    let p = bubble + (squeezed.p - sat[0].p).max(0.0);
    let u = (m[0] * sat[0].u_l + m[1] * sat[1].u_l) / all;
    let rho = all / others.volume;
    let stiff = squeezed.dp_drho * sat[0].rho_l;
    let state = State {
        phase: Phase::Liquid,
        rho,
        t: at.t,
        p,
        u,
        h: u + p / rho,
        quality: 0.0,
        rho_l: rho,
        h_l: u + p / rho,
        rho_g: rho,
        h_g: u + p / rho,
        s_g: f64::NAN,
        dp_drho: stiff / rho,
        cv: capacity / all,
        du_drho: 0.0,
        ..squeezed
    };
    Content {
        state,
        t: at.t,
        capacity,
        by_mass: [sat[0].u_l, sat[1].u_l],
        push: [0, 1].map(|i| stiff / (sat[i].rho_l * others.volume)),
        gas: [rho * m[0] / all, rho * m[1] / all],
        gas_h: [u + p / rho; 2],
        k: at.fluids[0].sound_exponent_saturated(at.t),
        second_l: m[1] / all,
        mole: x,
        main: x * g[0] * sat[0].p / bubble,
        r: at.fluids.map(|fluid| 8.314_462_618 / fluid.molar_mass()),
    }
}
