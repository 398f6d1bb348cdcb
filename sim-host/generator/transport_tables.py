"""Transport table of one refrigerant: viscosities, and the exponent of sound of saturated vapour, over temperature.

Viscosity: R-1234yf residual-entropy correlation of Bell, Purdue 2016 (CoolProp key Bell-PURDUE-2016-ETA); R-134a Huber, Laesecke &
Perkins, Ind Eng Chem Res 2003 (Huber-IECR-2003). Both go on below their measured range at the cold end as the library has them.
Vapour: mu = mu0(T) + b(T) rho + c(T) rho^2 through the dilute gas, half and all of the density of saturated vapour. Above t_two, where
the dome is frozen, these are the densities there, the liquid's viscosity and the exponent of sound are held.
"""

import numpy as np

from host_tables import T0, T_END, T_TWO

STEP = 2.0
LANES = 5  # mu_l, mu0, b, c, k
DILUTE = 1e-6  # kg/m3: zero itself has no state
HAIR = 0.01  # K, for slopes


def values(eq, t, frozen):
    """[liquid viscosity, dilute viscosity, b, c, k = rho a^2 / p] at t; `frozen`: (liquid viscosity, rho_v, k) above t_two, else None."""
    mu_l, rho_v, k = frozen or eq.sat_flow(t)
    mu0, half, full = (eq.gas_viscosity(rho, t) for rho in (DILUTE, 0.5 * rho_v, rho_v))
    b, c = (4 * half - full - 3 * mu0) / rho_v, (2 * full - 4 * half + 2 * mu0) / rho_v**2
    return np.array([mu_l, mu0, b, c, k])


def build(eq):
    """Flat f64 array: T0, STEP, knots, t_two, then (values, slopes) per knot; t_two comes twice, with the slopes of either side."""
    t_two = T_TWO[eq.name]
    two, count = round((t_two - T0) / STEP), round((T_END - T0) / STEP) + 1
    rows = []
    for k in range(two + 1):
        t = T0 + STEP * k
        rows.append(np.concatenate([values(eq, t, None), (values(eq, t + HAIR, None) - values(eq, t - HAIR, None)) / (2 * HAIR)]))
    top = eq.sat_flow(t_two)
    for k in range(two, count):
        t = T0 + STEP * k
        rows.append(np.concatenate([values(eq, t, top), (values(eq, t + HAIR, top) - values(eq, t - HAIR, top)) / (2 * HAIR)]))
    return np.concatenate([[T0, STEP, len(rows), t_two], np.ravel(rows)])
