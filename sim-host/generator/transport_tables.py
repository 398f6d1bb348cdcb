"""Transport table of one refrigerant: viscosities, and the exponent of sound of saturated vapour, over temperature.

Viscosity: R-1234yf residual-entropy correlation of Bell, Purdue 2016 (CoolProp key Bell-PURDUE-2016-ETA); R-134a Huber, Laesecke &
Perkins, Ind Eng Chem Res 2003 (Huber-IECR-2003). Both go on below their measured range at the cold end as the library has them.
Vapour: mu = mu0(T) + b(T) rho + c(T) rho^2 through the dilute gas, half and all of the density of saturated vapour. Above t_two, where
the dome is frozen, these are the densities there, the liquid's viscosity and the exponent of sound are held.
Compressed liquid: mu = mu_l + m1 y + m2 y^2 + m3 y^3 through thirds of y, the compression of host_tables (0 saturated, 1 at P_LIQ_MAX).
"""

import numpy as np

from host_tables import P_LIQ_MAX, T0, T_END, T_TWO

STEP = 2.0
LANES = 8  # mu_l, mu0, b, c, k, m1, m2, m3
DILUTE = 1e-6  # kg/m3: zero itself has no state
HAIR = 0.01  # K, for slopes


def liquid(eq, t):
    """(viscosity, [m1, m2, m3]) of saturated and compressed liquid."""
    rho_l, rho_m = eq.sat(t)["l"][0], eq.liquid_rho(P_LIQ_MAX, t)
    mu_l = eq.sat_flow(t)[0]
    y = np.arange(1, 4) / 3
    mu = np.array([eq.liquid_viscosity(rho_l + f * (rho_m - rho_l), t) for f in y])
    return mu_l, np.linalg.solve(y[:, None] ** np.arange(1, 4)[None, :], mu - mu_l)


def values(eq, t, held):
    """One value per lane at t; `held`: the values at t_two for t above it, else None."""
    if held is None:
        (mu_l, m), (_, rho_v, k) = liquid(eq, t), eq.sat_flow(t)
    else:
        mu_l, k, m = held[0], held[4], held[5:]
        rho_v = eq.sat_flow(T_TWO[eq.name])[1]
    mu0, half, full = (eq.gas_viscosity(rho, t) for rho in (DILUTE, 0.5 * rho_v, rho_v))
    b, c = (4 * half - full - 3 * mu0) / rho_v, (2 * full - 4 * half + 2 * mu0) / rho_v**2
    return np.array([mu_l, mu0, b, c, k, *m])


def build(eq):
    """Flat f64 array: T0, STEP, knots, t_two, then (values, slopes) per knot; t_two comes twice, with the slopes of either side."""
    t_two = T_TWO[eq.name]
    two, count = round((t_two - T0) / STEP), round((T_END - T0) / STEP) + 1
    rows = []
    for k in range(two + 1):
        t = T0 + STEP * k
        rows.append(np.concatenate([values(eq, t, None), (values(eq, t + HAIR, None) - values(eq, t - HAIR, None)) / (2 * HAIR)]))
    top = values(eq, t_two, None)
    for k in range(two, count):
        t = T0 + STEP * k
        rows.append(np.concatenate([values(eq, t, top), (values(eq, t + HAIR, top) - values(eq, t - HAIR, top)) / (2 * HAIR)]))
    return np.concatenate([[T0, STEP, len(rows), t_two], np.ravel(rows)])
