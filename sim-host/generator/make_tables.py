#!/usr/bin/env python3
"""Makes the committed property tables, or with --check compares them with freshly made ones (exit 1 and the name of what differs).

Integer tables and reference files must match exactly up to the last printed digit's rounding; stored f64 tables within 1e-9 of the
column's largest value, fitted polynomials by what they evaluate to, so that another libm or BLAS does not fail the check.
"""

import argparse
import os
import pathlib
import sys

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np

import core_tables
import host_tables
import reference_data
import transport_tables
from equation import Equation

ROOT = pathlib.Path(__file__).resolve().parents[2]
NAMES = ("R1234yf", "R134a")
HEAD = 16


def products(equations):
    """path -> bytes of everything this program makes, and the fitted vapour polynomials."""
    out, vapours = {}, {}
    for eq in equations:
        flat, vapours[eq.name] = host_tables.build(eq)
        out[f"sim-host/src/fluid/tables/{eq.name.lower()}.bin"] = flat.astype("<f8").tobytes()
        out[f"sim-host/src/fluid/tables/{eq.name.lower()}_transport.bin"] = transport_tables.build(eq).astype("<f8").tobytes()
        data = f"tests/data/fluid/{eq.name.lower()}"
        out[f"{data}_offknot.csv"] = reference_data.saturation(eq).encode()
        out[f"{data}_single.csv"] = reference_data.single_phase(eq).encode()
        out[f"{data}_states.csv"] = reference_data.states(eq).encode()
    out["core/src/fluid/tables.rs"] = core_tables.build(equations).encode()
    return out, vapours


def compare_host(old, new, eq):
    """First difference between two stored f64 tables, or None."""
    old, new = np.frombuffer(old, "<f8"), np.frombuffer(new, "<f8")
    if old.shape != new.shape or np.any(np.abs(old[:HEAD] - new[:HEAD]) > 1e-12 * np.abs(new[:HEAD])):
        return "header or size"
    n_sat, n_liq, nd, nt, ny = (int(new[k]) for k in (7, 10, 12, 13, 14))
    at = HEAD + host_tables.NU
    end = at + nd * nt
    pair = [host_tables.Vapour(eq, a[at:end].reshape(nt, nd).T, a[HEAD:at]) for a in (old, new)]
    for t in np.linspace(175.0, 420.0, 50):
        top = eq.sat(t)["v"][0] if t < host_tables.T_TWO[eq.name] else 200.0
        for rho in (1e-4, 0.1 * top, 0.5 * top, top):
            a, b = (np.array(v.all(rho, t)[:3]) for v in pair)
            if np.any(np.abs(a - b) > 1e-9 * np.abs(b)):
                return f"vapour polynomial at {t:.2f} K, {rho:.4g} kg/m3: {a} against {b}"
    for what, rows, cols, tol_slope in (("saturation", n_sat, 16, 1e-9), ("liquid", n_liq, 2 * (1 + 3 * ny), 1e-6)):
        a, b = (x[end : end + rows * cols].reshape(rows, cols) for x in (old, new))
        end += rows * cols
        tol = np.where(np.arange(cols) < cols // 2, 1e-9, tol_slope) * np.abs(b).max(axis=0)
        bad = np.argwhere(np.abs(a - b) > tol)
        if len(bad):
            k, c = bad[0]
            return f"{what} knot {k} column {c}: {float(a[k, c])!r} stored, {float(b[k, c])!r} made"
    return None


def compare_transport(old, new):
    """First difference between two stored transport tables, or None; slopes are differences and agree less closely."""
    old, new = np.frombuffer(old, "<f8"), np.frombuffer(new, "<f8")
    if old.shape != new.shape or np.any(old[:4] != new[:4]):
        return "header or size"
    a, b = (x[4:].reshape(-1, 2 * transport_tables.LANES) for x in (old, new))
    tol = np.where(np.arange(a.shape[1]) < transport_tables.LANES, 1e-9, 1e-6) * np.abs(b).max(axis=0)
    bad = np.argwhere(np.abs(a - b) > tol)
    if len(bad):
        k, c = bad[0]
        return f"knot {k} column {c}: {float(a[k, c])!r} stored, {float(b[k, c])!r} made"
    return None


def compare_text(old, new):
    """First line that differs by more than the last printed digit, or None."""
    a, b = old.decode().splitlines(), new.decode().splitlines()
    if len(a) != len(b):
        return f"{len(a)} lines against {len(b)}"
    for n, (x, y) in enumerate(zip(a, b), 1):
        if x == y:
            continue
        try:
            close = all(p == q or abs(float(p) - float(q)) <= 1e-9 * abs(float(q)) for p, q in zip(x.split(","), y.split(","), strict=True))
        except ValueError:
            close = False
        if not close:
            return f"line {n}: {x!r} against {y!r}"
    return None


def main():
    """Entry point."""
    args = argparse.ArgumentParser(description=__doc__)
    args.add_argument("--check", action="store_true", help="compare, write nothing")
    check = args.parse_args().check
    equations = [Equation(n) for n in NAMES]
    made, _ = products(equations)
    bad = 0
    for path, data in made.items():
        file = ROOT / path
        if not check:
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(data)
            print(f"wrote {path} ({len(data)} bytes)")
            continue
        if not file.exists():
            why = "missing"
        elif path.endswith("_transport.bin"):
            why = compare_transport(file.read_bytes(), data)
        elif path.endswith(".bin"):
            why = compare_host(file.read_bytes(), data, next(e for e in equations if e.name.lower() in path))
        elif path.endswith(".rs"):
            why = None if file.read_bytes() == data else (compare_exact(file.read_bytes(), data))
        else:
            why = compare_text(file.read_bytes(), data)
        print(f"{'differs' if why else 'same'}: {path}{': ' + why if why else ''}")
        bad += why is not None
    return 1 if bad else 0


def compare_exact(old, new):
    """First differing line."""
    a, b = old.decode().splitlines(), new.decode().splitlines()
    n = next((k for k, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    return f"line {n + 1}: {a[n : n + 1]} against {b[n : n + 1]}"


if __name__ == "__main__":
    sys.exit(main())
