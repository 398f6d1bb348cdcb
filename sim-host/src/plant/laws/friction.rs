//! Friction in round bores: Churchill's factor and the pressure gradient of wet flow.

/// Darcy friction factor after Churchill (1977), one formula from laminar to rough: `reynolds` above 0, `roughness` over bore.
///
/// f = 8 ((8/Re)^12 + (A + B)^-1.5)^(1/12), A = (2.457 ln 1/((7/Re)^0.9 + 0.27 e/D))^16, B = (37 530/Re)^16.
#[inline]
pub fn churchill(reynolds: f64, roughness: f64) -> f64 {
    let reynolds = reynolds.max(1e-12);
    // The turbulent part is below 1e-9 of the laminar one there.
    if reynolds < 300.0 {
        return 64.0 / reynolds;
    }
    let a = sixteenth(-2.457 * ((7.0 / reynolds).powf(0.9) + 0.27 * roughness).ln());
    let b = sixteenth(37_530.0 / reynolds);
    let turbulent = a + b;
    let laminar = 8.0 / reynolds;
    let laminar = laminar * laminar * laminar;
    let laminar = laminar * laminar;
    8.0 * (laminar * laminar + 1.0 / (turbulent * turbulent.sqrt())).powf(1.0 / 12.0)
}

#[inline]
fn sixteenth(x: f64) -> f64 {
    let x = x * x;
    let x = x * x;
    let x = x * x;
    x * x
}

/// Pressure gradient of wet flow over G^2, Pa/m per (kg/(m2 s))^2, after Mueller-Steinhagen and Heck (1986).
///
/// a = f_lo/(2 D rho_l), b = f_go/(2 D rho_g): (a + 2 (b - a) x)(1 - x)^(1/3) + b x^3. Published scatter is +-30 % (from memory).
#[inline]
pub fn wet_gradient(x: f64, liquid: f64, gas: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    (liquid + 2.0 * (gas - liquid) * x) * (1.0 - x).cbrt() + gas * x * x * x
}
