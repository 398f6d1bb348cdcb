"""Reference values for the tests, at states the tables were not made from. Deterministic, written with 10 digits."""

import CoolProp.CoolProp as CP

from host_tables import P_LIQ_MAX, T_TWO


def header(eq, what):
    """Source lines of a data file."""
    src = {"R1234yf": "Lemmon & Akasaka, Int J Thermophys 2022", "R134a": "Tillner-Roth & Baehr, J Phys Chem Ref Data 1994"}[eq.name]
    return f"# {what}\n# source: CoolProp 8.0.0 HEOS, {src}; made by sim-host/generator/make_tables.py; IIR reference\n"


def saturation(eq):
    """Saturation line between the knots."""
    out = header(eq, f"{eq.name} saturation at temperatures that are no knot of any table")
    out += "T_K,p_Pa,rho_l,rho_v,u_l,u_v,h_l,h_v,s_l,s_v\n"
    t = 174.237
    while t < T_TWO[eq.name]:
        s = eq.sat(t)
        (rl, ul, sl), (rv, uv, sv) = s["l"][:3], s["v"][:3]
        out += ",".join(f"{x:.10g}" for x in (t, s["p"], rl, rv, ul, uv, ul + s["p"] / rl, uv + s["p"] / rv, sl, sv)) + "\n"
        t += 1.3171
    return out


def weyl(n):
    """n points of a low-discrepancy sequence in the unit square."""
    return [((0.5 + k * 0.7548776662466927) % 1.0, (0.5 + k * 0.5698402909980532) % 1.0) for k in range(1, n + 1)]


def single_phase(eq):
    """Superheated vapour to 145 degC and compressed liquid to 8 MPa, -40..90 degC for the liquid."""
    out = header(eq, f"{eq.name} single-phase states: vapour -40..145 degC down to 1 Pa, liquid -40..90 degC up to 8 MPa")
    out += "phase,T_K,rho,p_Pa,u,h,s\n"
    cap = eq.sat(T_TWO[eq.name])["v"][0]
    for a, b in weyl(300):
        t = 233.17 + a * 184.9
        top = eq.sat(t)["v"][0] if t < T_TWO[eq.name] else cap
        lo = 1.0 / (eq.r * t)
        rho = lo * (0.999 * top / lo) ** b
        p, u, s = eq.single(rho, t, CP.iphase_gas)[:3]
        out += "vapour," + ",".join(f"{x:.10g}" for x in (t, rho, p, u, u + p / rho, s)) + "\n"
    for a, b in weyl(200):
        t = 233.17 + a * 129.9
        ps = eq.sat(t)["p"]
        p = ps + (8e6 - ps) * (0.001 + 0.999 * b)
        rho = eq.liquid_rho(p, t)
        _, u, s = eq.liquid(rho, t)[:3]
        out += "liquid," + ",".join(f"{x:.10g}" for x in (t, rho, p, u, u + p / rho, s)) + "\n"
    return out


def states(eq):
    """Single-phase states over all of the tables' range, liquid up to their top pressure, with viscosities: for questions by pairs."""
    out = header(eq, f"{eq.name} single-phase states: vapour -99..149 degC, liquid -99 degC to the end of the saturation data, up to 20 MPa")
    out += "phase,T_K,rho,p_Pa,h,s,mu_Pa_s\n"
    t_two = T_TWO[eq.name]
    cap = eq.sat(t_two)["v"][0]
    for a, b in weyl(250):
        t = 174.19 + a * 247.9
        rho = (0.999 * eq.sat(t)["v"][0] if t < t_two else cap) * b
        p, u, s = eq.single(rho, t, CP.iphase_gas)[:3]
        out += "vapour," + ",".join(f"{x:.10g}" for x in (t, rho, p, u + p / rho, s, eq.gas_viscosity(rho, t))) + "\n"
    for a, b in weyl(250):
        t = 174.19 + a * (t_two - 0.1 - 174.19)
        ps = eq.sat(t)["p"]
        p = ps + (P_LIQ_MAX - ps) * (0.001 + 0.998 * b)
        rho = eq.liquid_rho(p, t)
        _, u, s = eq.liquid(rho, t)[:3]
        out += "liquid," + ",".join(f"{x:.10g}" for x in (t, rho, p, u + p / rho, s, eq.liquid_viscosity(rho, t))) + "\n"
    return out
