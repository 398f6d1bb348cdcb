#!/usr/bin/env python3
"""Inputs to begin with: those of the controller's targets stand in corpus/TARGET.hex, one a line; those of files are the shipped files.

corpus.py unpack TARGET FOLDER   puts them into a folder
corpus.py pack TARGET FOLDER     adds those of a folder to corpus/TARGET.hex, shortest first, as far as they fit 12 kB
"""
import hashlib
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
SIM = HERE.parent.parent / "sim-host"
MOST = 12_000
SHIPPED = {
    "scenario": [SIM / "scenarios", SIM / "scenarios" / "faults", SIM / "scenarios" / "upkeep"],
    "station": [SIM / "networks"],
    "network": [SIM / "rigs", SIM / "networks"],
    "plan": [SIM / "campaigns"],
}


def inputs(target):
    """What is to begin with."""
    packed = HERE / "corpus" / f"{target}.hex"
    if packed.is_file():
        yield from (bytes.fromhex(line) for line in packed.read_text().split("\n") if line)
    for folder in SHIPPED.get(target, []):
        yield from (path.read_bytes() for path in sorted(folder.glob("*.toml")))


def unpack(target, folder):
    """Puts them into a folder, each named by what is in it."""
    found = list(inputs(target))
    if not found:
        sys.exit(f"nothing to begin with for `{target}`: it has neither corpus/{target}.hex nor shipped files")
    for data in found:
        (pathlib.Path(folder) / hashlib.sha1(data).hexdigest()).write_bytes(data)


def pack(target, folder):
    """Keeps what stands there and adds those of a folder, as many as fit."""
    packed = HERE / "corpus" / f"{target}.hex"
    lines = packed.read_text().split() if packed.is_file() else []
    size = sum(len(line) + 1 for line in lines)
    found = {path.read_bytes() for path in pathlib.Path(folder).iterdir()}
    for data in sorted(found, key=lambda data: (len(data), data)):
        size += 2 * len(data) + 1
        if size > MOST:
            break
        if data and data.hex() not in lines:
            lines.append(data.hex())
    packed.write_text("\n".join(lines) + "\n")
    print(f"{target}: {len(lines)} inputs")


if len(sys.argv) != 4 or sys.argv[1] not in ("unpack", "pack"):
    sys.exit(__doc__)
{"unpack": unpack, "pack": pack}[sys.argv[1]](sys.argv[2], sys.argv[3])
