#!/usr/bin/env python3
"""Holds the panel to what is claimed of it, in a real browser: steering it, reaching and reading it, at every size and in both schemes.

usage: panel_in_browser.py PROGRAM OUT_DIR [CLAIM ...]

PROGRAM is the `valvewright` command; pictures and saved files go to OUT_DIR. Prints a line for each claim (those named, or all) and leaves
with 1 where one does not hold. Wants chromium and chromedriver of the same version on the path.
"""

import inspect
import sys
import time
from pathlib import Path

from selenium.common.exceptions import WebDriverException

import campaigns
import drawing
import learning
import looks
import orders
import steering
from browse import Wrong, browser, hold


def claims():
    """Every function of the rooms that begins from a program, in the order of the files."""
    for room in (steering, learning, orders, campaigns, drawing, looks):
        for name, one in vars(room).items():
            if inspect.isfunction(one) and one.__module__ == room.__name__ and "program" in inspect.signature(one).parameters:
                yield name, one


def main(words):
    if len(words) < 2:
        print(__doc__.strip())
        return 2
    program, out, wanted = str(Path(words[0]).resolve()), Path(words[1]).resolve(), words[2:]
    out.mkdir(parents=True, exist_ok=True)
    there = dict(claims())
    hold(set(wanted) <= set(there), f"no such claim; there are {', '.join(there)}")
    todo = {name: one for name, one in there.items() if not wanted or name in wanted}
    began, failed = time.monotonic(), 0
    with browser(out) as driver:
        for name, claim in todo.items():
            since = time.monotonic()
            try:
                claim(program, driver, out)
                print(f"ok {name} ({time.monotonic() - since:.1f} s)", flush=True)
            except (Wrong, WebDriverException) as why:
                failed += 1
                print(f"FAILED {name}: {str(getattr(why, 'msg', None) or why).strip()}", flush=True)
                driver.save_screenshot(str(out / f"failed_{name}.png"))
    print(f"{len(todo) - failed} of {len(todo)} claims hold, in {time.monotonic() - began:.0f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
