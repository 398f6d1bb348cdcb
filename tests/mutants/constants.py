#!/usr/bin/env python3
"""Moves each constant of the controller up and down by a fifth, one after the other, and runs the controller's tests on it.

    constants.py FOLDER [FILE ...]

FOLDER takes a copy of the sources and the result, missed.txt. FILE limits the run to these files of core/src. A constant is
a `const NAME: Type = ...` that holds one bare number, or several; each number is moved alone. Numbers of less than five move
by one. What is checked while compiling and no longer builds counts as noticed.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

FILES = ["connection.rs", "drive.rs", "effect.rs", "hoses.rs", "job/*.rs", "sense/scale.rs"]
# The name must not be that of a table or a set, whose numbers are no quantities.
CONSTANT = re.compile(r"^ *(?:pub(?:\([a-z]+\))? )?const ([A-Z_0-9]+): ([^=;]+?) = ([^;{]+);", re.M)
NUMBER = re.compile(r"(?<![A-Za-z_0-9.])-?\d[\d_]*(?![A-Za-z_0-9.])")
QUANTITIES = re.compile(r"Millis|AbsPa|Milligram|MilligramPerS|CentiKelvin|Milliamp|Permille|[iu](8|16|32|64)$|\(AbsPa, AbsPa\)")


def moved(number, up):
    """The number a fifth larger or smaller, by one where that is less."""
    value = int(number.replace("_", ""))
    step = max(1, abs(value) // 5)
    return str(value + step if (value >= 0) == up else value - step)


def places(text):
    """Each number of each constant: name, where it stands, and the number."""
    for constant in CONSTANT.finditer(text):
        name, kind, value = constant.groups()
        if not QUANTITIES.search(kind.strip()) or "1 <<" in value:
            continue
        for number in NUMBER.finditer(value):
            at = constant.start(3) + number.start()
            yield name, at, number.group()


def main():
    folder, only = Path(sys.argv[1]), sys.argv[2:]
    copy = folder / "tree"
    shutil.rmtree(copy, ignore_errors=True)
    ignore = shutil.ignore_patterns("target", ".git", "results")
    shutil.copytree(".", copy, ignore=ignore)
    environment = {**os.environ, "CARGO_TARGET_DIR": str(folder / "target"), "RUST_BACKTRACE": "0"}
    command = ["cargo", "test", "--quiet", "-p", "valvewright-core", "--test", "controller"]

    def notices():
        try:
            done = subprocess.run(command, cwd=copy, env=environment, capture_output=True, timeout=120)
        except subprocess.TimeoutExpired:
            return True
        return done.returncode != 0

    if notices():
        sys.exit("the tests fail on the sources as they are")
    tried, missed = 0, []
    source = copy / "core/src"
    files = [source / one for one in only] or sorted(path for glob in FILES for path in source.glob(glob))
    for path in files:
        text = path.read_text()
        for name, at, number in places(text):
            for up in (True, False):
                other = moved(number, up)
                path.write_text(text[:at] + other + text[at + len(number) :])
                tried += 1
                if not notices():
                    missed.append(f"{path.relative_to(copy)}: {name}: {number} -> {other}")
                    print(missed[-1], flush=True)
        path.write_text(text)
    (folder / "missed.txt").write_text("".join(line + "\n" for line in missed))
    print(f"{tried} moved, {tried - len(missed)} noticed, {len(missed)} missed")


main()
