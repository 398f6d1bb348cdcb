//! Time of one property call; states vary so that no call is folded away.

use divan::{Bencher, black_box};
use valvewright_core::fluid::Refrigerant;
use valvewright_core::units::{AbsPa, CentiKelvin};
use valvewright_sim::fluid::{Fluid, FluidKind, State, water};

fn main() {
    divan::main();
}

fn fluid() -> &'static Fluid {
    Fluid::get(FluidKind::R1234yf)
}

/// 256 slowly moving states around (rho, t), as a plant's volume passes through them.
fn near(rho: f64, t: f64) -> Vec<(f64, f64)> {
    (0..256).map(|k| (rho * (1.0 + 1e-4 * f64::from(k)), t + 0.01 * f64::from(k))).collect()
}

/// Runs `call` over the states, reporting the time of one call.
fn each<S: Copy, R>(bencher: Bencher, states: &[S], call: impl Fn(S) -> R) {
    let mut k = 0usize;
    for &state in states {
        black_box(call(state)); // tables unpacked, caches warm
    }
    bencher.counter(1u32).bench_local(|| {
        k = (k + 1) & 255;
        call(black_box(states[k]))
    });
}

#[divan::bench(sample_size = 1000)]
fn p_sat(b: Bencher) {
    each(b, &near(1.0, 290.0), |(_, t)| fluid().p_sat(t));
}

#[divan::bench(sample_size = 1000)]
fn t_sat(b: Bencher) {
    each(b, &near(6e5, 290.0), |(p, _)| fluid().t_sat(p));
}

#[divan::bench(sample_size = 1000)]
fn sat(b: Bencher) {
    each(b, &near(1.0, 290.0), |(_, t)| fluid().sat(t));
}

#[divan::bench(sample_size = 1000)]
fn at_two_phase(b: Bencher) {
    each(b, &near(300.0, 290.0), |(rho, t)| fluid().at(rho, t));
}

#[divan::bench(sample_size = 1000)]
fn at_vapour(b: Bencher) {
    each(b, &near(5.0, 290.0), |(rho, t)| fluid().at(rho, t));
}

#[divan::bench(sample_size = 1000)]
fn at_liquid(b: Bencher) {
    each(b, &near(1200.0, 290.0), |(rho, t)| fluid().at(rho, t));
}

fn solved(rho: f64) -> Vec<State> {
    near(rho, 290.0).into_iter().map(|(rho, t)| fluid().at(rho, t)).collect()
}

#[divan::bench(sample_size = 1000)]
fn at_rho_u_two_phase_warm(b: Bencher) {
    each(b, &solved(300.0), |e| fluid().at_rho_u(e.rho, e.u, e.t + 0.05));
}

#[divan::bench(sample_size = 1000)]
fn at_rho_u_vapour_warm(b: Bencher) {
    each(b, &solved(5.0), |e| fluid().at_rho_u(e.rho, e.u, e.t + 0.05));
}

#[divan::bench(sample_size = 1000)]
fn at_rho_u_two_phase_cold(b: Bencher) {
    each(b, &solved(300.0), |e| fluid().at_rho_u(e.rho, e.u, 330.0));
}

#[divan::bench(sample_size = 1000)]
fn vapour_pt(b: Bencher) {
    each(b, &near(1e5, 290.0), |(p, t)| fluid().vapour_pt(p, t));
}

#[divan::bench(sample_size = 1000)]
fn at_ps_superheated_warm(b: Bencher) {
    let s = fluid().vapour_pt(1e5, 290.0).s;
    let guess = fluid().at_ps(8e5, s, 330.0).t;
    each(b, &near(8e5, 290.0), |(p, _)| fluid().at_ps(p, s, guess));
}

#[divan::bench(sample_size = 1000)]
fn at_ps_wet(b: Bencher) {
    let s = fluid().sat(290.0).s_v - 100.0;
    each(b, &near(3e5, 290.0), |(p, _)| fluid().at_ps(p, s, 280.0));
}

#[divan::bench(sample_size = 1000)]
fn at_ph_subcooled(b: Bencher) {
    let h = fluid().sat(290.0).h_l;
    each(b, &near(9e5, 290.0), |(p, _)| fluid().at_ph(p, h, 290.0));
}

#[divan::bench(sample_size = 1000)]
fn at_pt_vapour(b: Bencher) {
    each(b, &near(1e5, 290.0), |(p, t)| fluid().at_pt(p, t));
}

#[divan::bench(sample_size = 1000)]
fn at_pt_liquid(b: Bencher) {
    each(b, &near(9e5, 290.0), |(p, t)| fluid().at_pt(p, t));
}

#[divan::bench(sample_size = 1000)]
fn viscosity_liquid(b: Bencher) {
    each(b, &near(1.0, 290.0), |(_, t)| fluid().viscosity_liquid(t));
}

#[divan::bench(sample_size = 1000)]
fn viscosity_vapour(b: Bencher) {
    each(b, &near(5.0, 290.0), |(rho, t)| fluid().viscosity_vapour(rho, t));
}

#[divan::bench(sample_size = 1000)]
fn sound_exponent_saturated(b: Bencher) {
    each(b, &near(1.0, 290.0), |(_, t)| fluid().sound_exponent_saturated(t));
}

#[divan::bench(sample_size = 1000)]
fn water_liquid(b: Bencher) {
    each(b, &near(1.0, 290.0), |(_, t)| water::p_liquid(t));
}

#[divan::bench(sample_size = 1000)]
fn core_p_sat(b: Bencher) {
    let list: Vec<CentiKelvin> = (0..256).map(|k| CentiKelvin(28_000 + 7 * k)).collect();
    each(b, &list, |t| Refrigerant::R1234yf.p_sat(t));
}

#[divan::bench(sample_size = 1000)]
fn core_t_sat(b: Bencher) {
    let list: Vec<AbsPa> = (0..256).map(|k| AbsPa(300_000 + 1_001 * k)).collect();
    each(b, &list, |p| Refrigerant::R1234yf.t_sat(p));
}
