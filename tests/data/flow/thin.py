#!/usr/bin/env python3
"""Thins the outside solutions f1 to f6 into the files beside this script.

usage: thin.py FOLDER_OF_THE_WHOLE_SERIES

Heads are kept and say in a line `# thinned:` what was left out. Tables keep every row and lose the columns no check or chart uses; time
series keep every column and lose rows where little happens, never the first or last row of a step. Numbers are cut to seven digits, a
thousandth of the finest limit they are held against.
"""
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
F1 = "inlet,T0_C,dT_K,x0,p0_Pa,rho0,h0,s0,pb_Pa,G_HEM,choked,p_throat_Pa,x_throat,G_Leung_crit,G_HenryFauske_crit"
COOL = [(2600, 20), (6000, 200), (8000, 20), (1e9, 200)]
ABSORB = [(300, 5), (1e9, 30)]
DESORB = [(420, 5), (1e9, 60)]
# Name here: name there, and either columns to keep or intervals (until s, one row each s; counted from the start of a step).
FILES = {
    "f1_R1234yf": ("f1_flash_R1234yf", F1),
    "f1_R134a": ("f1_flash_R134a", F1),
    "f2_gas": ("f2_gas", "fluid,D_m,L_m,eps_m,p1_Pa,T1_C,p2_Pa,mu_Pa_s,rho1,w_iso_kg_s,choked_iso,pexit_iso_Pa,w_fanno_kg_s"),
    "f2_liquid": ("f2_liquid", "fluid,T_C,D_m,L_m,eps_m,dp_Pa,rho,mu_Pa_s,Re,f_Churchill,w_kg_s"),
    "f2_wet": ("f2_wet", "fluid,D_m,L_m,eps_m,p1_Pa,T1_C,x1,p2_Pa,w_MSH_kg_s,choked_MSH,pexit_MSH_Pa,xexit_MSH,w_Friedel_kg_s"),
    "f2_rarefied": ("f2_rarefied", "gas,D_m,L_m,p1_Pa,p2_Pa,mu_Pa_s,Kn,w_Knudsen_kg_s,w_viscous_kg_s,w_combined_kg_s"),
    "f3a30": ("f3a_charge_500g_loop30C", []),
    "f3a40": ("f3a_charge_500g_loop40C", [(70, 1), (1e9, 10)]),
    "f3b": ("f3b_recovery_hose4p8mm", {"run1": [], "run2": [], "": [(40, 2), (1e9, 20)]}),
    "f3b134": ("f3b_recovery_hose4p8mm_R134a_warm", {"run1": [], "run2": [], "": [(40, 2), (1e9, 20)]}),
    "f4a": ("f4a_cold_volume_wet_air", COOL),
    "f4b": ("f4b_cold_volume_pool_2g", COOL),
    "f4c": ("f4c_moist_vessel_evacuated", [(300, 5), (1e9, 50)]),
    "f5a": ("f5a_absorb_raoult_PAG", ABSORB),
    "f5b": ("f5b_absorb_linear", ABSORB),
    "f5c": ("f5c_absorb_raoult_POE32_R134a_wall", ABSORB),
    "f5d": ("f5d_desorb_raoult", DESORB),
    "f5e": ("f5e_desorb_linear", DESORB),
    "f5f": ("f5f_absorb_flory_PAG_R134a", ABSORB),
    "f5g": ("f5g_desorb_flory_PAG_R134a", DESORB),
    "f6a": ("f6a_R1234yf_with_10pct_R134a", []),
    "f6b": ("f6b_R134a_with_10pct_R1234yf", []),
    "f6c": ("f6c_R1234yf_with_10pct_R134a_liquid_draw", []),
    "f5_oil_fit": ("f5_oil_fit", []),
}


def short(cell):
    """Seven digits of a number, anything else as it is."""
    try:
        return f"{float(cell):.7g}"
    except ValueError:
        return cell


def kept(rows, columns, rule):
    """Rows that the intervals keep; the first and last of each step always."""
    phase = columns.index("phase") if "phase" in columns else None
    name = lambda row: row[phase] if phase is not None else ""
    found, start = [], 0.0
    for at, row in enumerate(rows):
        first = at == 0 or name(rows[at - 1]) != name(row)
        last = at + 1 == len(rows) or name(rows[at + 1]) != name(row)
        t = float(row[0])
        start = t if first else start
        spans = rule.get(name(row), rule[""]) if isinstance(rule, dict) else rule
        every = next((every for until, every in spans if t - start <= until), None)
        steps = (t - start) / every if every else 0.0
        if first or last or abs(steps - round(steps)) < 1e-6:
            found.append(row)
    return found


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    for name, (source, rule) in FILES.items():
        with open(os.path.join(sys.argv[1], f"{source}.csv"), encoding="utf-8") as file:
            lines = file.read().splitlines()
        head = [line for line in lines if line.startswith("#")]
        table = [line.split(",") for line in lines if line and not line.startswith("#")]
        columns, rows = table[0], table[1:]
        if isinstance(rule, str):
            chosen = rule.split(",")
            at = [columns.index(column) for column in chosen]
            note = f"every row, {len(chosen)} of {len(columns)} columns" if len(chosen) < len(columns) else "every row and column"
            columns, rows = chosen, [[row[i] for i in at] for row in rows]
        else:
            some = kept(rows, columns, rule) if rule else rows
            note = f"{len(some)} of {len(rows)} rows" if len(some) < len(rows) else "every row and column"
            rows = some
        head.append(f"# thinned: {note}, seven digits; the whole is {source}.csv")
        with open(os.path.join(HERE, f"{name}.csv"), "w", encoding="utf-8") as file:
            file.write("\n".join(head + [",".join(columns)] + [",".join(short(cell) for cell in row) for row in rows]) + "\n")


if __name__ == "__main__":
    main()
