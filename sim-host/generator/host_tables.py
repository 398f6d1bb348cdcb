"""Tables of the simulator: saturation line, vapour polynomial and compressed-liquid polynomials of one refrigerant.

Vapour: residual Helmholtz energy a = sum c[i][j] d^i x^j with d = rho/rho_s, x = (300 K/T - X_MID)/X_HALF, fitted up to saturated vapour.
Saturated vapour is then taken FROM that polynomial (density at which it gives p_sat), so that the two regions meet without a step.
Liquid: p-p_sat, u-u_l, s-s_l as polynomials in y = (rho-rho_l)/(rho_m-rho_l), rho_m the density at P_LIQ_MAX, coefficients tabulated over T.
Above t_two (just below the critical point) the dome is frozen at its densities there; the curves go on along these isochores, so that
every (rho, T) has a value that joins without a step. That part is a continuation, not data.
"""

import numpy as np

T0, STEP, T_END = 173.15, 0.5, 423.15
T_TWO = {"R1234yf": 365.15, "R134a": 371.15}
LIQ_STEP = 1.0
P_LIQ_MAX = 20e6
ND, NT = 6, 8  # powers of d (1..6) and of x (0..7)
X_MID, X_HALF = 1.2, 0.55
RIDGE = 1e-11  # holds the coefficients down where no density reaches; far below the fit error
NY = 6  # powers of y (1..6)
NU = 8  # coefficients of the ideal-gas energy polynomial
T_REF = 300.0


def cheb(n, lo, hi):
    """n Chebyshev points of the second kind, ends included."""
    return lo + (hi - lo) * 0.5 * (1 - np.cos(np.pi * np.arange(n) / (n - 1)))


def tau_basis(t):
    """x^j and tau d/dtau, tau^2 d2/dtau2 of it, j = 0..NT-1."""
    tau = T_REF / t
    x, j = (tau - X_MID) / X_HALF, np.arange(NT)
    b0 = x**j
    b1 = np.concatenate([[0.0], j[1:] * b0[:-1]]) * tau / X_HALF
    b2 = np.concatenate([[0.0, 0.0], (j * (j - 1))[2:] * b0[:-2]]) * (tau / X_HALF) ** 2
    return b0, b1, b2


class Vapour:
    """The fitted polynomial and its derived values, the same arithmetic as the simulator's."""

    def __init__(self, eq, c, u_poly):
        self.eq, self.c, self.u_poly, self.rho_s = eq, c, u_poly, eq.rho_crit
        self.i = np.arange(1, ND + 1)

    def u0(self, t):
        """Ideal-gas energy and heat capacity from the polynomial in (t-300)/100."""
        x = (t - T_REF) / 100
        return np.polyval(self.u_poly[::-1], x), np.polyval(np.polyder(self.u_poly[::-1]), x) / 100

    def all(self, rho, t):
        """(p, u, s, cv, p_T, p_rho, u_rho)."""
        i, r = self.i, self.eq.r
        dn = (rho / self.rho_s) ** i
        b0, b1, b2 = tau_basis(t)
        a, ta, tta = dn * (self.c @ b0), dn * (self.c @ b1), dn * (self.c @ b2)
        u0, cv0 = self.u0(t)
        p = rho * r * t * (1 + np.sum(i * a))
        s = self.eq.ideal(t)[2] - r * np.log(rho) + r * np.sum(ta - a)
        return (
            p,
            u0 + r * t * np.sum(ta),
            s,
            cv0 - r * np.sum(tta),
            rho * r * (1 + np.sum(i * (a - ta))),
            r * t * (1 + np.sum(i * (i + 1) * a)),
            r * t * np.sum(i * ta) / rho,
        )

    def rho_at(self, p, t, guess):
        """Density where the polynomial has pressure p, by Newton."""
        rho = guess
        for _ in range(50):
            v = self.all(rho, t)
            step = (p - v[0]) / v[5]
            rho += step
            if abs(step) < 1e-14 * rho:
                return rho
        if abs(step) < 1e-11 * rho:
            return rho
        raise RuntimeError(f"{self.eq.name}: no saturated vapour density at {t} K")


def fit_vapour(eq):
    """Weighted least squares on Z, u and a; the weight of Z makes the DENSITY error at given p even."""
    t_two = T_TWO[eq.name]
    cap = eq.sat(t_two)["v"][0]
    rows, rhs = [], []
    i = np.arange(1, ND + 1)[:, None]
    for t in np.concatenate([cheb(70, T0, t_two), cheb(24, t_two, T_END)[1:]]):
        top = eq.sat(t)["v"][0] if t < t_two else cap
        for f in cheb(36, 0.0, 1.0)[1:]:
            rho = top * f
            a, da, ta, slope = eq.residual(rho, t)
            dn = (rho / eq.rho_crit) ** i
            b0, b1, _ = tau_basis(t)
            wz = 1 / max(slope, 0.05)
            for w, base, y in ((wz, i * dn * b0, da), (0.3, dn * b1, ta), (0.3, dn * b0, a)):
                rows.append(w * base.ravel())
                rhs.append(w * y)
    a, b = np.array(rows), np.array(rhs)
    scale = np.sqrt((a * a).sum(axis=0))
    damp = RIDGE * np.sqrt(len(b)) * np.eye(len(scale))
    c = np.linalg.lstsq(np.vstack([a / scale, damp]), np.concatenate([b, np.zeros(len(scale))]), rcond=None)[0] / scale
    x = cheb(200, (T0 - T_REF) / 100, (T_END - T_REF) / 100)
    cv = np.array([eq.ideal(T_REF + 100 * v)[1] for v in x])
    cvp = np.polynomial.chebyshev.Chebyshev.fit(x, cv, NU - 2).convert(kind=np.polynomial.Polynomial).coef
    u_poly = np.concatenate([[eq.ideal(T_REF)[0]], 100 * cvp / np.arange(1, NU)])
    return Vapour(eq, c.reshape(ND, NT), u_poly)


def saturation(eq, vap):
    """Rows (value, slope) x [p, rho_l, rho_v, u_l, u_v, s_l, s_v, s0] per knot; t_two comes twice, with the slopes of either side."""
    t_two = T_TWO[eq.name]
    out = []
    frozen = None
    count, two = int(round((T_END - T0) / STEP)) + 1, int(round((t_two - T0) / STEP))
    for k in [*range(two + 1), *range(two, count)]:
        t = T0 + STEP * k
        s0 = eq.ideal(t)[2]
        cv0 = vap.u0(t)[1]
        if frozen is None:
            st = eq.sat(t)
            p, dp, (rl, ul, sl, drl, dul, dsl) = st["p"], st["dp"], st["l"]
            rv = vap.rho_at(p, t, st["v"][0])
            v = vap.all(rv, t)
            drv = (dp - v[4]) / v[5]
            duv = v[3] + v[6] * drv
            dsv = v[3] / t - v[4] / rv**2 * drv
            if k == two:
                frozen = (rl, rv)
        else:
            rl, rv = frozen
            v = vap.all(rv, t)
            p, dp, drl, drv, duv, dsv = v[0], v[4], 0.0, 0.0, v[3], v[3] / t
            _, ul, sl, dul, _, _ = eq.single(rl, t, 0)
            dsl = dul / t
        out.append([p, rl, rv, ul, v[1], sl, v[2], s0, dp, drl, drv, dul, duv, dsl, dsv, cv0 / t])
    return np.array(out)


def liquid_knot(eq, t):
    """[rho_m, p coefficients, u coefficients, s coefficients] at t."""
    st = eq.sat(t)
    rl, ul, sl = st["l"][:3]
    rm = eq.liquid_rho(P_LIQ_MAX, t)
    y = cheb(17, 0.0, 1.0)[1:]
    data = np.array([eq.liquid(rl + f * (rm - rl), t)[:3] for f in y]) - [st["p"], ul, sl]
    base = y[:, None] ** np.arange(1, NY + 1)[None, :]
    out = [rm]
    for col, w in ((0, 1 / (0.02 + y)), (1, 1 / (0.1 + y)), (2, 1 / (0.1 + y))):
        out.extend(np.linalg.lstsq(base * w[:, None], data[:, col] * w, rcond=None)[0])
    return np.array(out)


def liquid(eq):
    """Rows (value, slope) of liquid_knot per knot; slopes by central difference."""
    n = int(round((T_TWO[eq.name] - T0) / LIQ_STEP)) + 1
    out, e = [], 0.02
    for k in range(n):
        t = T0 + LIQ_STEP * k
        mid, up, dn = liquid_knot(eq, t), liquid_knot(eq, t + e), liquid_knot(eq, t - e)
        out.append(np.concatenate([mid, (up - dn) / (2 * e)]))
    return np.array(out)


def build(eq):
    """(flat f64 array to be stored, Vapour)."""
    vap = fit_vapour(eq)
    sat, liq = saturation(eq, vap), liquid(eq)
    head = [eq.molar_mass, eq.r, eq.t_crit, eq.p_crit, eq.rho_crit, T0, STEP, len(sat), T_TWO[eq.name], LIQ_STEP, len(liq), P_LIQ_MAX, ND, NT, NY, NU]
    return np.concatenate([head, vap.u_poly, vap.c.T.ravel(), sat.ravel(), liq.ravel()]), vap
