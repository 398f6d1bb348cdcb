"""Makes two pages of the book from campaigns that were run: docs/single-faults.md and docs/without-a-row.md.

    valvewright campaign all_single --out A && valvewright campaign --report A && valvewright campaign all_single --out A --minimal --json > A/minimal.json
    valvewright campaign ablation --out B && valvewright campaign --report B
    python3 sim-host/generator/make_campaign_pages.py A B target/release/valvewright

Tables are those of report.md, the list of least scenarios is that of minimal.json. For the second page the program runs each shipped scenario that names
an interlock row with that row and without it.
"""

import functools
import json
import pathlib
import shlex
import subprocess
import sys
import tempfile

DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"
CAUTION = (
    "True of the simulator and of these plans: of these faults, at these moments, on this plant. No certificate and no probability. Real stations hold "
    "flammable gas under pressure,\nwhich burns with cold, and vehicles may carry lethal voltage; local codes and licensed practice decide."
)


def sections(folder):
    """Head and sections of report.md by their titles."""
    text = (pathlib.Path(folder) / "report.md").read_text()
    head, *rest = text.split("\n## ")
    return head, {part.split("\n", 1)[0]: part.split("\n", 1)[1].strip() for part in rest}


def ends(head):
    """The lines of the head that say how runs ended and why some were refused."""
    lines = head.split("\n")
    runs = next(line.split(". True of")[0] for line in lines if " runs, digest " in line)
    return runs, [line for line in lines if line.startswith(("How they ended", "Refused in"))]


def minimal(folder):
    """The table of least scenarios."""
    rows = ["| hazard | what is needed | at | runs made | again |", "| --- | --- | ---: | ---: | --- |"]
    for one in json.loads((pathlib.Path(folder) / "minimal.json").read_text())["minimal"]:
        if one["file"] is None:
            rows.append(f"| {one['hazard']} | run {one['run']} does not come to it by itself | | | |")
            continue
        changes = "".join(f", `{key}` = {value}" for key, value in one["changes"])
        faults = " + ".join(f"`{fault}`" for fault in one["faults"]) or "no fault"
        command = f"valvewright run {one['scenario']}" + (f" --seed {one['seed']}" if one["seed"] is not None else "")
        command += "".join(f" --fault {shlex.quote(fault)}" for fault in one["faults"])
        rows.append(
            f"| {one['hazard']} | {faults}{changes} | {one['accident_s']:.0f} s | {one['tries']} | `{command}` |"
        )
    return "\n".join(rows)


def single(folder):
    head, parts = sections(folder)
    runs, told = ends(head)
    accidents = "Accidents"
    out = [
        "# Every single fault at every step",
        "",
        f"Made by `sim-host/generator/make_campaign_pages.py` from `valvewright campaign all_single`: {runs}. Every fault of the [catalogue](faults.md) in its usual way, at the "
        "first scan,\nthe middle and the last scan of every step of six jobs that together come to every step of a service that lasts. What the words mean: "
        "[campaigns](campaign.md#what-it-says).",
        "",
        f"> {CAUTION}",
        "",
        *told,
        "",
        "## Every hazard that was reached, and its least scenario",
        "",
        "Each cause of each accident [shrunk](campaign.md#the-least-of-it) to what is needed. Accidents that are known to follow from a fault stand with their reason in `sim-host/data/accidents.csv`.",
        "",
        minimal(folder),
        "",
    ]
    for title, text in parts.items():
        if title != accidents:
            out += [f"## {title}", "", text, ""]
    return "\n".join(out)


LEVELS = ["none", "alert", "accident"]


def answer(program, *words):
    return subprocess.run([program, *words], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout


def missed(program):
    """For each row the shipped scenario in which its absence shows most: a hazard at a worse level, or an expectation that fails."""
    shipped = json.loads(answer(program, "list", "--json"))
    listed = [one for kind in ("scenarios", "questions", "upkeep", "faults") for one in shipped[kind]]
    scenarios = {one["name"]: answer(program, "list", one["name"]) for one in listed}
    with tempfile.TemporaryDirectory() as out:

        @functools.cache
        def run(name, *more):
            return json.loads(answer(program, "run", name, "--no-report", "--trace", "none", "--json", "--force", "--out", out, *more))

        def differs(name, row):
            whole, bare = run(name), run(name, "--without", row)
            before = {one["id"]: LEVELS.index(one["level"]) for one in whole["hazards"]}
            worse = [(LEVELS.index(one["level"]), one["id"]) for one in bare["hazards"] if LEVELS.index(one["level"]) > before[one["id"]]]
            held = {one["name"] for one in whole["expectations"] if one["held"]}
            fails = [one["name"] for one in bare["expectations"] if not one["held"] and one["name"] in held and not one["name"].startswith("hazards")]
            return max(worse, default=(0, "")), sorted(worse, reverse=True), fails

        lines = ["| row | without it | again |", "| --- | --- | --- |"]
        for row in [one["id"] for one in json.loads(answer(program, "matrix", "--json"))]:
            best = (0, 0, "", "")
            for name in (name for name, text in scenarios.items() if row in text):
                (level, _), worse, fails = differs(name, row)
                what = "; ".join(f"{hazard} {LEVELS[at]}" for at, hazard in worse) or ("no hazard; does not hold: " + "; ".join(fails[:2]) if fails else "")
                best = max(best, (level, bool(fails), what, f"`valvewright run {name} --without {row}`"), key=lambda one: one[:2])
            lines.append(f"| [{row}](interlock-table.md#{row.lower()}) | {best[2] or 'nothing in the scenarios that name it'} | {best[3]} |")
        return "\n".join(lines)


def without(folder, program):
    head, parts = sections(folder)
    runs, _ = ends(head)
    title = "What each interlock row prevents by itself"
    return "\n".join(
        [
            f"# {title}",
            "",
            f"Made by `sim-host/generator/make_campaign_pages.py` from `valvewright campaign ablation`: {runs}, every fault of the [catalogue](faults.md) in the middle of five "
            "steps of the everyday\njob, once with the whole [interlock table](interlock-table.md) and once [without each row](campaign.md#without-a-row).",
            "",
            f"> {CAUTION}",
            "",
            parts[title],
            "",
            "## In scenarios of their own",
            "",
            "The plan above is the everyday job. Rows of upkeep, of the store, of the vessel's heat and others have nothing to do in it; each was left out of the shipped scenarios that "
            "name it as well.\nOf those the one is shown in which its absence did most: hazards at a worse level than with the row, else what the scenario expects and does not hold any more.",
            "",
            missed(program),
            "",
        ]
    )


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    (DOCS / "single-faults.md").write_text(single(sys.argv[1]))
    (DOCS / "without-a-row.md").write_text(without(sys.argv[2], sys.argv[3]))


main()
