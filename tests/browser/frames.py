#!/usr/bin/env python3
"""Measures the panel: frames a second that two pages draw, and the pace that the run keeps, without pages, with them, and beside a campaign.

usage: frames.py PROGRAM [SECONDS [SPEED]]

Each page is in a browser of its own, for a page behind another is not drawn. PROGRAM is the `valvewright` command as users have it (a release
build); SECONDS are measured in each stage [default: 10], at SPEED times life [default: 100]. It judges nothing: figures hang on the machine, which
should do nothing else meanwhile. Wants chromium and chromedriver of the same version on the path.
"""

import json
import os
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from browse import Page, Server, browser, hold

# Heard by the page, whether it draws them or not.
COUNTS = """
    window.frames_heard = 0;
    const Own = EventSource;
    window.EventSource = class extends Own {
        constructor(...words) { super(...words); this.addEventListener("message", () => { window.frames_heard += 1; }); }
    };
"""
# A whole job is some 2700 s: no stage may come to its end.
LONGEST = 2400
CAMPAIGN = {"do": "start", "row": "I03", "faults": "all"}


def ask(server, path, what):
    request = urllib.request.Request(server.address + path, json.dumps(what).encode(), {"content-type": "application/json"})
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)


def campaign(server):
    with urllib.request.urlopen(server.address + "campaign") as answer:
        return json.load(answer)


def frame(server):
    """The newest one, with the time at which it was read."""
    with urllib.request.urlopen(server.address + "stream") as stream:
        for line in stream:
            if line.startswith(b"data: {") and len(line) > 20:
                return json.loads(line[6:]), time.monotonic()
    raise SystemExit("the stream ended without a frame")


def stage(name, server, pages, seconds, speed):
    """From time 0 for so long; what was drawn and heard of it."""
    ask(server, "do", {"do": "restart"})
    ask(server, "do", {"do": "speed", "x": speed})
    ask(server, "do", {"do": "run"})
    # The server measures its pace over half a second.
    time.sleep(1)
    count = "return [window.frames_shown, window.frames_heard, performance.now()]"
    before, (first, at) = [page.js(count) for page in pages], frame(server)
    time.sleep(seconds)
    after, (last, end) = [page.js(count) for page in pages], frame(server)
    hold(last["running"], f"{name}: the run came to its end at {last['t']} s: measure for a shorter time")
    print(f"{name}: the run kept {(last['t'] - first['t']) / (end - at):.1f} x of {speed:g} x; by the server's own measure {last['went']:.1f} x")
    for number, ((shown, heard, began), (now_shown, now_heard, now)) in enumerate(zip(before, after), 1):
        passed = (now - began) / 1000
        print(f"  page {number}: {(now_shown - shown) / passed:.1f} frames a second drawn, {(now_heard - heard) / passed:.1f} sent to it")


def opened(driver, server):
    driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": COUNTS})
    return Page(driver, server.address)


def main(words):
    if not 1 <= len(words) <= 3:
        print(__doc__.strip())
        return 2
    program = str(Path(words[0]).resolve())
    seconds, speed = float(words[1]) if len(words) > 1 else 10.0, float(words[2]) if len(words) > 2 else 100.0
    hold(1 <= seconds and 1 <= speed and (seconds + 3) * speed <= LONGEST, f"{seconds:g} s at {speed:g} x: at least 1 of each, and no more than {LONGEST} s of a job in all")
    print(f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.2f} before")
    with tempfile.TemporaryDirectory() as out, Server(program) as server:
        stage("no page", server, [], seconds, speed)
        with browser(out) as one, browser(out) as two:
            pages = [opened(one, server), opened(two, server)]
            stage("two pages", server, pages, seconds, speed)
            began = time.monotonic()
            runs = ask(server, "campaign", CAMPAIGN)["runs"]
            stage("two pages, beside a campaign", server, pages, seconds, speed)
            within = campaign(server)["stand"] == "runs"
            while campaign(server)["stand"] == "runs":
                time.sleep(0.05)
            took = f"at most {runs} runs took {time.monotonic() - began:.1f} s"
            print(f"  the campaign of {took}, {'longer than' if within else 'less than'} what was measured beside it")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
