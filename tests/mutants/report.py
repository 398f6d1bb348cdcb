#!/usr/bin/env python3
"""Counts what cargo-mutants caught and missed, by file, over all parts that were run, and lists what was missed.

    report.py FOLDER

FOLDER holds the parts that tests/mutants.sh made. A mutant that ran out of time counts as caught. Line numbers are left out
of the list: they move with every change.
"""

import collections
import json
import sys
from pathlib import Path

KINDS = {"CaughtMutant": "caught", "Timeout": "caught", "MissedMutant": "missed", "Unviable": "unviable"}


def main():
    verdicts = {}
    # The newest verdict on a mutant counts.
    for path in sorted(Path(sys.argv[1]).glob("*/run-*.json"), key=lambda path: path.name):
        for outcome in json.loads(path.read_text())["outcomes"]:
            if isinstance(outcome["scenario"], dict) and outcome["summary"] in KINDS:
                mutant = outcome["scenario"]["Mutant"]
                verdicts[mutant["name"]] = (mutant["file"], KINDS[outcome["summary"]])
    counts = collections.defaultdict(collections.Counter)
    for file, kind in verdicts.values():
        counts[file][kind] += 1
        counts["all"][kind] += 1
    print(f"{'file':34} {'viable':>7} {'caught':>7} {'missed':>7} {'share':>6}")
    for file, count in sorted(counts.items()):
        viable = count["caught"] + count["missed"]
        share = 100 * count["caught"] / viable if viable else 100
        print(f"{file:34} {viable:7} {count['caught']:7} {count['missed']:7} {share:5.1f} %")
    print()
    missed = sorted((file, name.split(": ", 1)[1]) for name, (file, kind) in verdicts.items() if kind == "missed")
    for file, what in missed:
        print(f"{file}: {what}")


main()
