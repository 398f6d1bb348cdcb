#!/usr/bin/env python3
"""Holds our values of temporal formulas against those of rtamt (discrete time, offline), in every sample of every trace.

usage: temporal.py [--record FILE COUNT] [PAIRS]       (PAIRS: what the example `temporal` writes; standard input without)

Leaves with 1 where one value is off by more than 1e-9, where a number stands against none, or where fewer than 1 000 pairs were compared.
--record writes the first COUNT pairs with rtamt's values, as tests/data/temporal/rtamt.jsonl has them.
"""
import json
import sys
from importlib.metadata import version

import rtamt

LEAST = 1000
CLOSE = 1e-9


def theirs(formula, trace):
    spec = rtamt.StlDiscreteTimeSpecification()
    for name in trace:
        spec.declare_var(name, "float")
    spec.spec = formula
    spec.parse()
    length = len(next(iter(trace.values())))
    # Lists of its own: windows that reach beyond the end are filled up in place.
    data = {"time": list(range(length)), **{name: list(values) for name, values in trace.items()}}
    return [value for _, value in spec.evaluate(data)]


def number(value):
    return float(value)


def off(ours, other):
    if ours == other:
        return 0.0
    return abs(ours - other) if abs(ours) < float("inf") and abs(other) < float("inf") else float("inf")


def main(words):
    record, count = None, 0
    if words[:1] == ["--record"]:
        record, count, words = words[1], int(words[2]), words[3:]
    source = open(words[0], encoding="utf-8") if words else sys.stdin
    pairs = values = endless = wrong = 0
    worst = 0.0
    kept = []
    for line in source:
        pair = json.loads(line)
        ours, other = [number(value) for value in pair["ours"]], theirs(pair["formula"], pair["trace"])
        pairs += 1
        if len(ours) != len(other):
            print(f"seed {pair['seed']}: {len(ours)} values against {len(other)}")
            wrong += 1
            continue
        far = max(map(off, ours, other))
        worst = max(worst, far)
        values += len(ours)
        endless += sum(abs(value) == float("inf") for value in other)
        if far > CLOSE:
            at = next(k for k, both in enumerate(zip(ours, other)) if off(*both) > CLOSE)
            print(f"seed {pair['seed']}: sample {at}: {ours[at]} against {other[at]}: {pair['formula']}")
            wrong += 1
        if record and len(kept) < count:
            shown = [value if abs(value) < float("inf") else str(value) for value in other]
            kept.append(json.dumps({"seed": pair["seed"], "formula": pair["formula"], "rtamt": shown}))
    if record:
        head = f"# values of the pairs of these seeds by rtamt {version('rtamt')}, discrete time, offline; made with tests/compare/temporal.py --record"
        with open(record, "w", encoding="utf-8") as file:
            file.write("\n".join([head, *kept]) + "\n")
    print(f"{pairs} pairs, {values} values, {endless} of them without measure; furthest apart {worst:.1e}; {wrong} pairs differ")
    if pairs < LEAST:
        print(f"fewer than {LEAST} pairs: nothing is shown")
        return 1
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
