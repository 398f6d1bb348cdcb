"""Writes the scenario of each fault from the catalogue and what is said of it in `sim-host/data/reactions_*.toml`; `--check` says what is stale.

A fault's entry, all keys but the first optional:

    [F003]
    reaction = "row I03 stands and C-1 is off"   what has to be so within the budget of the catalogue, whenever the fault acts
    formula = "..."          the whole property in its place, where a budget in seconds does not fit; with `found_by` it says what finds the fault
    also = { "no motion after it" = "..." }           further properties, by name
    base = "mild_hatchback"  the shipped scenario that it changes
    fault = { phase = "recover", after = "60 s" }     further keys of [[fault]]; none for an operating condition that is in the file itself
    more = [{ id = "F070", at = "5 min" }]            further faults
    act = [{ do = "abort", phase = "charge" }]        [[operator.act]] tables
    set = { "order.charge" = "500 g" }                keys of the base that get another value, or are added
    verdict = "failed"       as [expect] has them, like trips, hazards, leak, charged_within, escaped_most, vessel_most
    phases = { leak_check = "failed" }
    found_by = "I03"         for the table of the book: a row, a reading, a proof test
    within = 2               s, where the catalogue's budget is no number and one can be said all the same
    rows = ["I03"]           rows that this scenario shows, all of `trips` by default
    why = "..."              why the property is asked for, where that is not plain
    time_limit = "2 h"       where two hours do not do
    refused = "..."          why there is no scenario
    note = "..."             a sentence or two for the reader
    open = "..."             what is missing: the scenario fails, and this is why

Needs Python 3.11 and nothing else.
"""

import csv
import io
import re
import sys
import textwrap
import tomllib
from pathlib import Path

HOUSE = Path(__file__).resolve().parent.parent
KEYS = {"reaction", "formula", "also", "base", "fault", "more", "act", "set", "verdict", "trips", "hazards", "leak", "charged_within",
        "recovered_within", "escaped_most", "vessel_most", "phases", "found_by", "rows", "note", "open", "within", "refused", "time_limit", "why"}
EXPECT = ["leak", "charged_within", "recovered_within", "escaped_most", "vessel_most"]
WIDTH = 120
LIST = '''//! The scenario of each fault, made by `sim-host/generator/make_fault_scenarios.py` and listed by it.

/// A shipped scenario: its name and its text.
pub struct Shipped {
    /// Name for the command line; the same as in the text.
    pub name: &'static str,
    /// The TOML text.
    pub text: &'static str,
}

macro_rules! one {
    ($name:literal) => {
        Shipped { name: $name, text: include_str!(concat!("../../scenarios/faults/", $name, ".toml")) }
    };
}

/// In the order of the catalogue.
pub const FAULTS: &[Shipped] = &[
ALL];
'''


def text(value):
    """A value as TOML has it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return str(value)
    if isinstance(value, list):
        return "[" + ", ".join(text(one) for one in value) + "]"
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def table(head, keys):
    return f"[{head}]\n" + "".join(f"{key} = {text(value)}\n" for key, value in keys.items())


def sections(base):
    """The base's tables in their order: name of the table, its lines."""
    lines, found, name = (HOUSE / "scenarios" / f"{base}.toml").read_text().splitlines(), [], None
    for line in lines:
        head = re.fullmatch(r"\[+([a-z_.]+)\]+", line.split("#")[0].strip())
        if head:
            found.append((head[1], [line]))
        elif found:
            found[-1][1].append(line)
        elif line.startswith("seed"):
            name = line
    return name, found


def changed(found, changes):
    """The tables with other values for some keys."""
    left = dict(changes)
    out = []
    for name, lines in found:
        kept = []
        for line in lines:
            key = line.split("=")[0].strip()
            place = f"{name}.{key}"
            kept.append(f"{key} = {text(left.pop(place))}" if place in left and "=" in line else line)
        while kept and not kept[-1].strip():
            kept.pop()
        for place in [place for place in left if place.rpartition(".")[0] == name]:
            kept.append(f"{place.rpartition('.')[2]} = {text(left.pop(place))}")
        out.append("\n".join(kept) + "\n")
    fresh = {}
    for place, value in left.items():
        head, _, key = place.rpartition(".")
        fresh.setdefault(head, {})[key] = value
    return out + [table(head, keys) for head, keys in fresh.items()]


def budget(fault, entry):
    seconds = entry.get("within", fault["budget_s"])
    try:
        number = float(str(seconds))
    except ValueError:
        return None
    return f"{number * 1000:g} ms" if number < 1 else f"{number:g} s"


def scenario(fault, entry):
    unknown = set(entry) - KEYS
    if unknown:
        raise SystemExit(f"{fault['id']}: unknown {sorted(unknown)}")
    within = budget(fault, entry)
    if "formula" in entry:
        formula = entry["formula"]
    elif within and "reaction" in entry:
        formula = f"whenever fault {fault['id']} acts then within {within} ({entry['reaction']})"
    else:
        raise SystemExit(f"{fault['id']}: neither a reaction within its budget nor a formula")
    is_open = "open" in entry
    shows = [] if is_open else [fault["id"], *entry.get("rows", entry.get("trips", []))]
    name = fault["id"].lower()
    expected = fault["expected_safe_reaction"].rstrip(".")
    words = f"{fault['component'][0].upper()}{fault['component'][1:]} {fault['tag']}: {fault['failure_mode']}. "
    words += f"To be found by: {fault['detection']}. Expected reaction: {expected}."
    words += f" {entry['note']}" if "note" in entry else ""
    words += f" Not met yet: {entry['open']}." if is_open else ""
    seed, found = sections(entry.get("base", "mild_hatchback"))
    found = [one for one in found if not one[0].startswith(("expect", "fault", "property"))]
    out = [
        "# Made by sim-host/generator/make_fault_scenarios.py; to change it, change what sim-host/data/reactions_*.toml says of this fault.\n"
        f"name = {text(name)}\n"
        f"title = {text(fault['id'] + ': ' + fault['component'] + ' ' + fault['tag'] + ', ' + fault['failure_mode'])}\n"
        'summary = """\n' + "\n".join(textwrap.wrap(words, WIDTH)) + '\n"""\n'
        + (f"shows = {text(shows)}\n" if shows else "") + f"{seed}\ntime_limit = {text(entry.get('time_limit', '2 h'))}\n"
    ]
    out += changed(found, entry.get("set", {}))
    out += [table("[operator.act]", one) for one in entry.get("act", [])]
    if entry.get("fault", {}) is not None and entry.get("fault") != "none":
        out.append(table("[fault]", {"id": fault["id"], **entry.get("fault", {})}))
    out += [table("[fault]", one) for one in entry.get("more", [])]
    reasons = [f"found by: {entry['found_by']}"] if "found_by" in entry else []
    reasons += [entry["why"]] if "why" in entry else []
    why = {"why": "; ".join(reasons)} if reasons else {}
    out.append(table("[property]", {"name": "reaction", "formula": formula, **why}))
    out += [table("[property]", {"name": one, "formula": also}) for one, also in entry.get("also", {}).items()]
    expect = {"verdict": entry.get("verdict", "failed")}
    expect |= {key: entry[key] for key in EXPECT if key in entry}
    if "trips" in entry:
        expect["trips"] = entry["trips"]
    if entry.get("hazards"):
        expect["hazards"] = entry["hazards"]
    out.append(table("expect", expect))
    if "phases" in entry:
        out.append(table("expect.phases", entry["phases"]))
    return name, "\n".join(out)


def write_open(entries, check):
    """The faults in `open.csv` are those that are not met or cannot be injected; whether it was stale."""
    path = HOUSE / "data" / "open.csv"
    with path.open(newline="") as file:
        head, *rows = csv.reader(file)
    kept = [row for row in rows if not re.fullmatch(r"F\d{3}", row[0])]
    now = [[key, "reaction" if "open" in one else "showing", one.get("open", one.get("refused"))] for key, one in entries.items() if "open" in one or "refused" in one]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    # Hazards first, then faults, laws, worked examples: as they were.
    before = [row for row in kept if row[0] < "F"]
    after = [row for row in kept if row[0] > "F"]
    hazards = [row for row in after if row[0].startswith("H")]
    writer.writerows([head, *before, *hazards, *sorted(now), *[row for row in after if not row[0].startswith("H")]])
    if path.read_text() == out.getvalue():
        return False
    if not check:
        path.write_text(out.getvalue())
    return True


def main():
    faults = {one["id"]: one for one in csv.DictReader((HOUSE / "data" / "faults.csv").open(newline=""))}
    entries = {}
    for file in sorted((HOUSE / "data").glob("reactions_*.toml")):
        for key, entry in tomllib.loads(file.read_text()).items():
            if key not in faults:
                raise SystemExit(f"{file.name}: the catalogue has no {key}")
            if key in entries:
                raise SystemExit(f"{file.name}: {key} stands twice")
            entries[key] = entry
    check = "--check" in sys.argv
    folder, stale, want = HOUSE / "scenarios" / "faults", [], set()
    for key in sorted(entries):
        if "refused" in entries[key]:
            continue
        name, new = scenario(faults[key], entries[key])
        path = folder / f"{name}.toml"
        want.add(path)
        if not path.exists() or path.read_text() != new:
            stale.append(path.name)
            if not check:
                path.write_text(new)
    lines = "".join(f'    one!("{path.stem}"),\n' for path in sorted(want))
    listed = HOUSE / "src" / "scenario" / "fault_files.rs"
    new = LIST.replace("ALL", lines)
    if not listed.exists() or listed.read_text() != new:
        stale.append(listed.name)
        if not check:
            listed.write_text(new)
    if write_open(entries, check):
        stale.append("open.csv")
    for path in sorted(set(folder.glob("*.toml")) - want):
        stale.append(path.name)
        if not check:
            path.unlink()
    missing = sorted(set(faults) - set(entries))
    if missing:
        print(f"nothing is said of {len(missing)} faults: {' '.join(missing)}")
    if check and (stale or missing):
        raise SystemExit(f"stale: {' '.join(stale)}")
    print(f"{len(want)} scenarios, {len(stale)} {'stale' if check else 'written'}")


if __name__ == "__main__":
    main()
