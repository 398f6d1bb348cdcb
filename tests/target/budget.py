#!/usr/bin/env python3
"""Holds a measured figure against its budget and against the figure on record, in budgets.csv.

    budget.py NAME VALUE     one line; exit 1 if over the limit or over 5 % worse than on record
    budget.py --self-test

All figures are costs: less is better. With VALVEWRIGHT_WRITE=1 the measured value becomes the record (a value over the limit
is refused even then).
"""

import csv
import os
import sys
import tempfile

FILE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "budgets.csv")
COLUMNS = ["name", "unit", "figure", "limit", "what"]
# Per cent by which a figure may grow before it has to be looked at, and shrink before the record is out of date.
TOLERANCE = 5


class Wrong(Exception):
    """The file or the call is wrong; the text says how."""


def read(path):
    """The rows of the file, as dictionaries with whole numbers."""
    with open(path, encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        if reader.fieldnames != COLUMNS:
            raise Wrong(f"{path}: the first line must be {','.join(COLUMNS)}")
        rows = list(reader)
    for row in rows:
        for column in ("figure", "limit"):
            if not (row[column] or "").isdigit() or row["name"] in (other["name"] for other in rows if other is not row):
                raise Wrong(f"{path}: {row['name']}: once only, with a whole number as {column}")
            row[column] = int(row[column])
    return rows


def write(path, rows):
    """Writes the rows back."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def judge(path, name, value, keep=False):
    """Whether the value holds, and the line that says so; `keep` makes it the record."""
    rows = read(path)
    row = next((row for row in rows if row["name"] == name), None)
    if row is None:
        raise Wrong(f"no budget '{name}'; there are {', '.join(row['name'] for row in rows)}")
    figure, limit, unit = row["figure"], row["limit"], row["unit"]
    change = f"{100 * (value - figure) / figure:+.1f} %" if figure else "nothing on record"
    if value <= 0:
        return False, f"{name}: {value} {unit}: nothing was measured"
    line = f"{name}: {value} {unit}, {change} of the recorded {figure}, limit {limit} ({row['what']})"
    if value > limit:
        return False, f"{line}: over the limit. Make it smaller; the limit is the design's and moves only with it"
    if keep:
        row["figure"] = value
        write(path, rows)
        return True, f"{line}: recorded"
    if value * 100 > figure * (100 + TOLERANCE):
        return False, (f"{line}: over {TOLERANCE} % worse. Find the change that costs it, or, if it is worth it, record the new figure "
                       "with VALVEWRIGHT_WRITE=1 and say why in the commit")
    if value * 100 < figure * (100 - TOLERANCE):
        return True, f"{line}: over {TOLERANCE} % better; record it with VALVEWRIGHT_WRITE=1, so that it stays so"
    return True, line


def self_test():
    """Shows that the check can fail, and where it does not."""
    failed = []

    def expect(what, got, wanted):
        if got != wanted:
            failed.append(f"FAIL {what}: got {got!r}, want {wanted!r}")

    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "budgets.csv")
        write(path, [dict(zip(COLUMNS, ("sample", "bytes", 1000, 1200, "planted")))])
        for value, holds, part in [
            (1000, True, "+0.0 %"),
            (1049, True, "+4.9 % of the recorded 1000"),
            (1050, True, "+5.0 %"),
            (1051, False, "+5.1 % of the recorded 1000"),
            (1201, False, "over the limit"),
            (951, True, "planted)"),
            (949, True, "5 % better"),
            (0, False, "nothing was measured"),
        ]:
            got, line = judge(path, "sample", value)
            expect(f"verdict on {value}", got, holds)
            expect(f"words on {value}", part in line, True)
            expect(f"{value} is called better", "better" in line, value == 949)
        expect("nothing is not recorded", judge(path, "sample", 0, keep=True)[0], False)
        expect("a value over the limit is not recorded", judge(path, "sample", 1201, keep=True)[0], False)
        expect("the record after that", read(path)[0]["figure"], 1000)
        expect("a worse value can be recorded", judge(path, "sample", 1100, keep=True)[0], True)
        expect("the record after that", read(path)[0]["figure"], 1100)
        expect("it then holds", judge(path, "sample", 1100)[0], True)
        try:
            judge(path, "other", 1)
            failed.append("FAIL an unknown name is accepted")
        except Wrong as why:
            expect("an unknown name is answered with the known ones", "sample" in str(why), True)
    print("\n".join(failed) or "a regression of 5.1 % fails, one of 4.9 % does not")
    return int(bool(failed))


def main(arguments):
    """The command."""
    if arguments == ["--self-test"]:
        return self_test()
    if len(arguments) != 2 or not arguments[1].isdigit():
        raise Wrong("use: budget.py NAME VALUE, the value a whole number")
    holds, line = judge(FILE, arguments[0], int(arguments[1]), os.environ.get("VALVEWRIGHT_WRITE") == "1")
    print(line)
    return int(not holds)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except Wrong as why:
        print(f"budget.py: {why}")
        sys.exit(1)
