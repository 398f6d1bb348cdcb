//! Friction in round bores: Churchill's factor and the pressure gradient of wet flow.

/// Darcy friction factor after Churchill (1977), one formula from laminar to rough, and its slope d ln f / d ln Re: `reynolds` above 0,
/// `roughness` over bore.
///
/// f = 8 ((8/Re)^12 + (A + B)^-1.5)^(1/12), A = (2.457 ln 1/((7/Re)^0.9 + 0.27 e/D))^16, B = (37 530/Re)^16.
#[inline]
pub fn churchill(reynolds: f64, roughness: f64) -> (f64, f64) {
    let reynolds = reynolds.max(1e-12);
    // The turbulent part is below 1e-9 of the laminar one there.
    if reynolds < 300.0 {
        return (64.0 / reynolds, -1.0);
    }
    let smooth = (7.0 / reynolds).powf(0.9);
    let whole = smooth + 0.27 * roughness;
    let log = -2.457 * whole.ln();
    let (a, b) = (sixteenth(log), sixteenth(37_530.0 / reynolds));
    let laminar = 8.0 / reynolds;
    let laminar = laminar * laminar * laminar;
    let laminar = laminar * laminar;
    let laminar = laminar * laminar;
    let sum = a + b;
    // Over the turbulent part, (A + B)^-1.5.
    let share = laminar * sum * sum.sqrt();
    let root = 1.0 / sum.sqrt().sqrt().sqrt();
    let factor = if share < 1e-6 { 1.0 + share / 12.0 } else { (1.0 + share).powf(1.0 / 12.0) };
    let by_log = 2.457 * 0.9 * smooth / (whole * log);
    let bend = -(share + 2.0 * (a * by_log - b) / sum) / (1.0 + share);
    (8.0 * root * factor, bend)
}

#[inline]
fn sixteenth(x: f64) -> f64 {
    let x = x * x;
    let x = x * x;
    let x = x * x;
    x * x
}

/// Pressure gradient of wet flow over G^2 after Mueller-Steinhagen and Heck (1986): what the gradients of all liquid, a = f_lo/(2 D rho_l),
/// and all gas, b = f_go/(2 D rho_g), count for.
///
/// (a + 2 (b - a) x)(1 - x)^(1/3) + b x^3. Published scatter is +-30 % (from memory).
#[inline]
pub fn wet_shares(x: f64) -> (f64, f64) {
    let x = x.clamp(0.0, 1.0);
    let root = (1.0 - x).cbrt();
    ((1.0 - 2.0 * x) * root, 2.0 * x * root + x * x * x)
}
