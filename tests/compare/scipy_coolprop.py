#!/usr/bin/env python3
"""Times solved plant cases in scipy + CoolProp and with our `rig` command on this machine, and prints the ratios.

usage: scipy_coolprop.py PATH_TO_VALVEWRIGHT [case ...]        (cases: a2 b1 d2 e2)

The laws are those MODEL.md of the reference solutions states, written anew here with the parameters of the shipped rigs. Both sides solve
the same equations; scipy works at rtol 1e-6 with LSODA, its fastest solver for these, ours at the rigs' own tolerance of 1e-5 (which the
reference comparison shows to be within some 1e-4 in pressure): the ratios say how long a usable answer takes, not which solver is better. Ours is timed twice: as a whole process (start,
reading, rows, writing) and by the `wall_seconds` it reports for the solving alone. Best of several runs on both sides.
"""
import json
import math
import subprocess
import sys
import tempfile
import time

import CoolProp.CoolProp as CP
import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

FLUID = "R1234yf"
ATMOSPHERE = 101325.0
R_AIR, CV_AIR = 287.05, 718.0
CP.set_reference_state(FLUID, "IIR")
BULK = CP.AbstractState("HEOS", FLUID)
EDGE = CP.AbstractState("HEOS", FLUID)


class Content:
    """Equilibrium state of refrigerant at mean density rho and energy u, or temperature t."""

    def __init__(self, rho, u=None, t=None):
        if t is None:
            BULK.update(CP.DmassUmass_INPUTS, rho, u)
        else:
            BULK.update(CP.DmassT_INPUTS, rho, t)
        self.rho, self.t, self.p, self.u = rho, BULK.T(), BULK.p(), BULK.umass()
        if BULK.phase() == CP.iphase_twophase:
            self.wet = 1.0 - BULK.Q()
            EDGE.update(CP.QT_INPUTS, 0, self.t)
            self.rho_l, self.h_l = EDGE.rhomass(), EDGE.hmass()
            EDGE.update(CP.QT_INPUTS, 1, self.t)
            self.rho_g, self.h_g, self.s_g = EDGE.rhomass(), EDGE.hmass(), EDGE.smass()
        else:
            self.wet, self.rho_l, self.h_l = 0.0, 1e3, 0.0
            self.rho_g, self.h_g, self.s_g = rho, BULK.hmass(), BULK.smass()


def isentropic(p, s):
    EDGE.update(CP.PSmass_INPUTS, p, s)
    return EDGE.hmass(), EDGE.rhomass()


def ideal_flux(p, rho, back, k):
    x = max(back / p, (2 / (k + 1)) ** (k / (k - 1)))
    return math.sqrt(max(0.0, 2 * p * rho * k / (k - 1) * (x ** (2 / k) - x ** ((k + 1) / k))))


def run(rates, span, y, event=None, absolute=1e-6):
    """Solves one step of a schedule; returns its end time, end state and the evaluations."""
    if event is not None:
        event.terminal = True
    made = solve_ivp(rates, span, y, method="LSODA", rtol=1e-6, atol=absolute, events=event)
    return made.t[-1], made.y[:, -1], made.nfev


def wet_conductance(liquid):
    return 3.0 + 22.0 * liquid / (liquid + 0.05)


def case_a2():
    volume, area = 0.010, 0.85 * math.pi * 1e-6 / 4
    BULK.update(CP.PT_INPUTS, 5e5, 298.15)
    m = BULK.rhomass() * volume
    y = np.array([m, m * BULK.umass()])

    def flux(c):
        def at(p):
            h, rho = isentropic(p, c.s_g)
            return rho * math.sqrt(max(0.0, 2 * (c.h_g - h)))

        best = minimize_scalar(lambda p: -at(p), bounds=(0.4 * c.p, 0.75 * c.p), method="bounded", options={"xatol": 1e-5 * c.p})
        return -best.fun if best.x > ATMOSPHERE else at(ATMOSPHERE)

    def rates(_, y):
        c = Content(y[0] / volume, u=y[1] / y[0])
        w = area * flux(c) if c.p > ATMOSPHERE else 0.0
        return [-w, -w * c.h_g]

    t, _, calls = run(rates, (0, 600), y, lambda _, y: Content(y[0] / volume, u=y[1] / y[0]).p - ATMOSPHERE - 100, [1e-9, 1e-4])
    return t, calls


def case_b1():
    loop, vessel, ambient = 0.004, 0.020, 298.15
    u_loop, u_vessel = Content(0.6 / loop, t=ambient).u, Content(8.0 / vessel, t=ambient).u
    y = np.array([0.6, 0.6 * u_loop, ambient, 8.0, 8.0 * u_vessel, ambient])
    running = [True]

    def rates(_, y):
        a, b = Content(y[0] / loop, u=y[1] / y[0]), Content(y[3] / vessel, u=y[4] / y[3])
        w = h = 0.0
        if running[0]:
            filling = max(0.0, 0.92 * (1 - 0.035 * ((b.p / a.p) ** (1 / 1.12) - 1)))
            w = a.rho_g * 10e-6 * 24 * filling
            ideal = isentropic(b.p, a.s_g)[0] if b.p > a.p else a.h_g
            h = a.h_g + max(0.0, ideal - a.h_g) / 0.60
        q1 = wet_conductance(a.wet * y[0]) * (y[2] - a.t)
        q2 = 30.0 * (y[5] - b.t)
        return [-w, -w * a.h_g + q1, (4 * (ambient - y[2]) - q1) / 3500, w, w * h + q2, (5 * (ambient - y[5]) - q2) / 3400]

    t = calls = 0
    small = [1e-8, 1e-3, 1e-5, 1e-7, 1e-2, 1e-5]
    for _ in range(2):
        running[0] = True
        t, y, n = run(rates, (t, t + 3600), y, lambda _, y: Content(y[0] / loop, u=y[1] / y[0]).p - 40e3, small)
        running[0] = False
        t, y, k = run(rates, (t, t + 300), y, None, small)
        calls += n + k
    return t, calls


def case_d2():
    loop, vessel, warm, ambient = 0.004, 0.020, 293.15, 298.15
    area = 0.6 * math.pi * 0.8e-3**2 / 4
    BULK.update(CP.PT_INPUTS, 100.0, warm)
    m, u = BULK.rhomass() * loop, BULK.umass()
    b = Content(8.0 / vessel, t=ambient)
    y = np.array([m, m * u, warm, 8.0, 8.0 * b.u, ambient])

    def rates(_, y):
        a, b = Content(y[0] / loop, u=y[1] / y[0]), Content(y[3] / vessel, u=y[4] / y[3])
        dp = b.p - a.p
        w = area * math.sqrt(2 * b.rho_l) * dp / (dp * dp + 100.0) ** 0.25 if dp > 0 else 0.0
        q1 = wet_conductance(a.wet * y[0]) * (y[2] - a.t)
        q2 = 30.0 * (y[5] - b.t)
        return [w, w * b.h_l + q1, (4 * (warm - y[2]) - q1) / 3500, -w, -w * b.h_l + q2, (5 * (ambient - y[5]) - q2) / 3400]

    t, _, calls = run(rates, (0, 1200), y, lambda _, y: y[0] - m - 0.5, [1e-9, 1e-4, 1e-5, 1e-7, 1e-2, 1e-5])
    return t, calls


def case_e2():
    volume, ambient = 0.020, 298.15
    area = 0.8 * math.pi * 1.5e-3**2 / 4
    c = Content(8.0 / volume, t=ambient)
    y = np.array([8.0, 0.010, 8.0 * c.u + 0.010 * CV_AIR * (ambient - 273.15), ambient])
    last, vent = [ambient], [True]

    def mixture(y):
        t = last[0]
        for _ in range(20):
            c = Content(y[0] / volume, t=t)
            warmer = Content(y[0] / volume, t=t + 0.01)
            slope = (y[0] * (warmer.u - c.u)) / 0.01 + y[1] * CV_AIR
            step = (y[2] - y[0] * c.u - y[1] * CV_AIR * (t - 273.15)) / slope
            t += step
            if abs(step) < 1e-7:
                break
        last[0] = t
        c = Content(y[0] / volume, t=t)
        room = volume - c.wet * y[0] / c.rho_l
        return c, room, y[1] * R_AIR * t / room

    def rates(_, y):
        c, room, air = mixture(y)
        dense = y[1] / room
        w = area * ideal_flux(c.p + air, c.rho_g + dense, ATMOSPHERE, 1.15) if vent[0] else 0.0
        x = dense / (c.rho_g + dense)
        h = CV_AIR * (c.t - 273.15) + R_AIR * c.t
        q = 30.0 * (y[3] - c.t)
        return [-w * (1 - x), -w * x, -w * ((1 - x) * c.h_g + x * h) + q, (5 * (ambient - y[3]) - q) / 3400]

    t = calls = 0
    while t < 1800:
        for vent[0], pause in ((True, 3), (False, 27)):
            t, y, n = run(rates, (t, t + pause), y, None, [1e-9, 1e-11, 1e-3, 1e-5])
            calls += n
        if mixture(y)[2] < 20e3:
            break
    return t, calls


CASES = {"a2": case_a2, "b1": case_b1, "d2": case_d2, "e2": case_e2}


def best(repeats, action):
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        made = action()
        times.append(time.perf_counter() - start)
    return min(times), made


def ours(binary, case):
    with tempfile.TemporaryDirectory() as folder:

        def go():
            command = [binary, "rig", case, "--out", f"{folder}/{time.perf_counter_ns()}", "--json"]
            return subprocess.run(command, check=True, capture_output=True, text=True).stdout

        wall, text = best(7, go)
    try:
        inner = json.loads(text).get("wall_seconds")
    except (ValueError, AttributeError):
        inner = None
    return wall, inner


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    binary, chosen = sys.argv[1], sys.argv[2:] or list(CASES)
    for case in chosen:
        if case not in CASES:
            sys.exit(f"there is no case `{case}`; there are {', '.join(CASES)}")
    print("case   sim s   scipy+CoolProp ms  (x real time, calls)   ours, whole process ms (ratio)   ours, solving ms (ratio)")
    for case in chosen:
        wall, (seconds, calls) = best(3, CASES[case])
        process, inner = ours(binary, case)
        solving = f"{1e3 * inner:8.2f} ({wall / inner:6.0f})" if inner else "not reported"
        print(f"{case:4} {seconds:8.1f} {1e3 * wall:12.1f}  ({seconds / wall:9.0f}, {calls:6d}) {1e3 * process:18.2f} ({wall / process:6.1f}) {solving:>28}")


if __name__ == "__main__":
    main()
