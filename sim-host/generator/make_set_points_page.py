"""Makes docs/set-points.md from an answer of `search set-points`.

    valvewright search set-points --json > A.json
    python3 sim-host/generator/make_set_points_page.py A.json
"""

import json
import pathlib
import sys

PAGE = pathlib.Path(__file__).resolve().parents[2] / "docs" / "set-points.md"
CELLS = 24
HEAD = """# How far each set point can move

Made by `sim-host/generator/make_set_points_page.py` from `valvewright search set-points`: {base} runs of the everyday job with the [interlock table](interlock-table.md) as it is, healthy and with every fault that can come while it runs in the middle of each of its steps, and {more} more with one
set point moved to its dangerous side. What is counted as worse, and how the bracket is found, stands in [searches](search.md#how-far-a-set-point-can-move).

> True of the simulator and of these runs: of these faults, at these moments, on this plant. No certificate, and no leave to move a set point. Real stations hold flammable gas under pressure,
which burns with cold, and vehicles may carry lethal voltage; local codes and licensed practice decide.

A row acts by other causes too: by another condition of its own, and by every reading that is not to be believed, wherever the figure lies. That is why most of these figures can be moved anywhere in runs whose faults are mostly broken inputs; it is no word on how they were chosen.

The bar goes from where the table has the figure (left) to one that no reading comes to (right): `=` nothing worse came, `x` something did.

| row | set point | table | | nothing worse up to | worse from | what comes |
| --- | --- | ---: | --- | ---: | ---: | --- |
"""


def figure(value):
    return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"


def bar(one):
    whole = abs(one["far"] - one["table"]) or 1.0
    free = CELLS if one["worse"] is None else round(CELLS * abs(one["safe"] - one["table"]) / whole)
    return "`[" + "=" * free + "x" * (CELLS - free) + "]`"


def line(one):
    unit, worse = one["unit"], one["worse"]
    if one["runs"] == 0:
        told = ["", "", "its row trips in none of these runs: they say nothing of it"]
    elif worse is None:
        told = ["anywhere", "", f"nothing in the {one['runs']} runs in which its row trips: other rows and phases hold too"]
    else:
        level = "accident" if worse["accident"] else "alert"
        what = f"{worse['hazard']} {level}, margin {worse['margin']:.2f} ({worse['before']:.2f} as it is), of {one['runs']} runs"
        told = [f"{figure(one['safe'])} {unit}", f"{figure(worse['at'])} {unit}", what]
    row = one["row"]
    cells = [f"[{row}](interlock-table.md#{row.lower()})", f"`{one['name']}`", f"{figure(one['table'])} {unit}", bar(one), *told]
    return "| " + " | ".join(cells) + " |"


def main():
    found = json.loads(pathlib.Path(sys.argv[1]).read_text())["found"]
    assert not found["partial"], "the answer was broken off"
    text = HEAD.format(base=found["base"], more=found["runs"] - found["base"])
    text += "".join(line(one) + "\n" for one in found["points"])
    worse = [one["worse"] for one in found["points"] if one["worse"]]
    text += "\n## To see it again\n\n```sh\n" + "".join(f"{one['replay']}   # {one['hazard']}\n" for one in worse) + "```\n"
    PAGE.write_text(text)


main()
