"""Integer tables of the controller core: knots uniform in the abscissa, each with a curvature so that an interval is a parabola.

A value between knots k and k+1 with fraction f is y[k] + (y[k+1]-y[k]) f + 4 c[k] f (1-f); c is the deviation from the chord at mid-interval.
"""

import math

T_LO, T_HI = 23315, 36315  # -40 degC and 90 degC in 0.01 K
Q = 24


def water_sat(t):
    """Vapour pressure of liquid water, IAPWS SR1-86(1992); below 0.01 degC an extrapolation."""
    tau = 1 - t / 647.096
    a = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
    e = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
    return 22.064e6 * math.exp(647.096 / t * sum(c * tau**k for c, k in zip(a, e)))


def curve(f, lo, hi, n):
    """(start, step, [(value, curvature)]) of f over the integers lo..hi; the last knot may lie up to n-1 beyond hi."""
    step = -(-(hi - lo) // (n - 1))
    y = [round(f(lo + step * k)) for k in range(n)]
    c = [round(f(lo + step * (k + 0.5)) - (y[k] + y[k + 1]) / 2) for k in range(n - 1)] + [0]
    return lo, step, list(zip(y, c))


def invert(f, lo, hi, y):
    """x with f(x)=y for a rising f, by bisection to the last bit."""
    while True:
        mid = 0.5 * (lo + hi)
        if mid in (lo, hi):
            return mid
        lo, hi = (mid, hi) if f(mid) < y else (lo, mid)


def packed(items, indent, width=116):
    """Items joined into lines of at most `width` columns."""
    lines, now = [], ""
    for item in items:
        if now and len(indent) + len(now) + len(item) > width:
            lines.append(now)
            now = ""
        now += ("" if not now else " ") + item
    return "".join(f"{indent}{x}\n" for x in lines + [now])


def rust_curve(name, doc, c):
    """One `const` curve: curvatures in 16 bits above the least of them, for flash is dear."""
    least = min(b for _, b in c[2])
    bows = [b - least for _, b in c[2]]
    assert max(bows) < 1 << 16, name
    knots = packed([f"{a}," for a, _ in c[2]], "        ")
    bows = packed([f"{b}," for b in bows], "        ")
    return (
        f"/// {doc}\n#[rustfmt::skip]\npub(super) const {name}: Curve = Curve {{\n    start: {c[0]},\n    step: {c[1]},\n"
        f"    knots: &[\n{knots}    ],\n    least: {least},\n    bows: &[\n{bows}    ],\n}};\n"
    )


def rust_bows(name, doc, values):
    """One array of the distances from the chord, each in three bytes, low ones first."""
    first, last = values[0], values[-1]
    bows = [abs(v - first - (last - first) * k // (len(values) - 1)) for k, v in enumerate(values)]
    assert (last - first) % (len(values) - 1) == 0 and max(bows) < 1 << 24, name
    rows = packed([f"[{b & 255}, {b >> 8 & 255}, {b >> 16}]," for b in bows], "    ")
    return f"/// {doc}\n#[rustfmt::skip]\npub(super) const {name}: [[u8; 3]; {len(values)}] = [\n{rows}];\n"


def build(equations):
    """Text of core/src/fluid/tables.rs."""
    one = 1 << Q
    parts = [
        "//! Numbers only: integer property curves made by sim-host/generator/make_tables.py, not to be edited by hand.\n//!\n"
        "//! Sources: R-1234yf Lemmon & Akasaka 2022, R-134a Tillner-Roth & Baehr 1994, both through CoolProp 8.0.0;\n"
        "//! water IAPWS SR1-86(1992). Temperatures in 0.01 K, logarithms to base 2 in q24.\n\nuse super::curve::Curve;\n",
        rust_bows("EXP2", "How far 2^(k/128) lies below its chord, q24, in three bytes, low ones first.", [round(one * 2 ** (k / 128)) for k in range(129)]),
        rust_bows("LOG2", "How far log2(1 + k/128) lies above its chord, q24, in three bytes, low ones first.", [round(one * math.log2(1 + k / 128)) for k in range(129)]),
    ]
    for eq in equations:
        tag = eq.name.upper()
        cache = {}

        def sat(t, eq=eq, cache=cache):
            if t not in cache:
                cache[t] = eq.sat(t / 100)
            return cache[t]

        lp = lambda t: math.log2(sat(t)["p"])
        lo, hi = round(one * lp(T_LO)), round(one * lp(T_HI))
        inv = lambda z: 64 * invert(lp, T_LO - 300, T_HI + 150, z / one)
        parts += [
            rust_curve(f"{tag}_LOG2_P", "log2 of the saturation pressure in Pa, q24, over 0.01 K.", curve(lambda t: one * lp(t), T_LO, T_HI, 32)),
            rust_curve(f"{tag}_T64", "Saturation temperature in 1/64 of 0.01 K over log2(p/Pa) in q24.", curve(inv, lo, hi, 32)),
            rust_curve(f"{tag}_RHO_L", "Saturated-liquid density in g/m3 over 0.01 K.", curve(lambda t: 1000 * sat(t)["l"][0], T_LO, T_HI, 64)),
            rust_curve(f"{tag}_LOG2_RHO_V", "log2 of the saturated-vapour density in g/m3, q24, over 0.01 K.", curve(lambda t: one * math.log2(1000 * sat(t)["v"][0]), T_LO, T_HI, 64)),
        ]
    parts.append(rust_curve("WATER_LOG2_P", "log2 of the vapour pressure of liquid water in mPa, q24, over 0.01 K.", curve(lambda t: one * math.log2(1000 * water_sat(t / 100)), T_LO, T_HI, 48)))
    return "\n".join(parts)
