#!/usr/bin/env python3
"""Bounds the stack of a linked ARMv7-M image from above, without running it.

    stack.py ELF [--json] [--allow FILE] [--measured BYTES]
    stack.py --self-test

Frames come from the compiler's record (-Z emit-stack-sizes), checked against the instructions; functions without a record,
such as assembly, are read from the instructions alone. Calls come from the disassembly. Recursion, calls through a pointer
that the allow file does not resolve, and stack pointers set in a way that cannot be followed are errors (exit 1), never
guesses. The bound is that of the main path plus every exception once: it supposes that a handler shared by several vectors
of configurable priority does not interrupt itself, and that nothing but this image uses the stack.
"""

import argparse
import json
import os
import re
import sys
import tomllib

from stack_image import Image, Refused

NMI, HARD_FAULT = 2, 3


class Allow:
    """The allow file: where calls through pointers go, what ends the program, what no pointer calls though one could."""

    def __init__(self, text=""):
        data = tomllib.loads(text)
        self.calls = data.pop("call", [])
        self.ends = data.pop("end", [])
        self.never = data.pop("never", [])
        if data:
            raise Refused(f"allow file: unknown part '{next(iter(data))}'; known are [[call]], [[end]] and [[never]]")
        named = [(e, {"function", "reason"}) for e in self.ends + self.never]
        for entry, keys in [(e, {"from", "to", "reason"}) for e in self.calls] + named:
            if set(entry) != keys or not str(entry["reason"]).strip():
                raise Refused(f"allow file: an entry needs exactly {', '.join(sorted(keys))}: {entry}")

    @staticmethod
    def fits(pattern, name):
        """Whether a name is the pattern, in which `*` stands for anything."""
        return re.fullmatch(".*".join(re.escape(part) for part in pattern.split("*")), name) is not None

    def ended(self, name):
        """Whether the program is over when this function is entered."""
        return any(self.fits(entry["function"], name) for entry in self.ends)


class Bound:
    """Deepest stack below each function that can be reached."""

    def __init__(self, image, allow):
        self.image, self.allow = image, allow
        self.deepest = {}  # start of a function: (bytes, [(name, bytes, how)])
        self.pointers = False

    def targets(self, function):
        """(how, bytes in use, start of the callee) for every way out of the function."""
        for how, address, target, depth in function.calls:
            used = function.frame if how == "call" else depth
            if target is not None:
                if target not in self.image.functions:
                    raise Refused(f"{function.name} goes to {target:#x} at {address:#x}, which is no function's start")
                yield how, used, target
                continue
            self.pointers = True
            patterns = [p for e in self.allow.calls if self.allow.fits(e["from"], function.name) for p in e["to"]]
            if not patterns:
                raise Refused(f"{function.name} calls through a pointer at {address:#x}: name its targets in the allow file")
            for callee in self.image.functions.values():
                if any(self.allow.fits(pattern, callee.name) for pattern in patterns):
                    yield how, used, callee.start

    def of(self, start, path=()):
        """Bytes and chain of the deepest stack from this function on."""
        if start in self.deepest:
            return self.deepest[start]
        function = self.image.functions[start]
        if start in path:
            cycle = [self.image.functions[at].name for at in path[path.index(start):]] + [function.name]
            raise Refused("recursion has no bound: " + " -> ".join(cycle))
        if self.allow.ended(function.name):
            self.deepest[start] = (0, [])
            return self.deepest[start]
        if function.doubts:
            raise Refused(f"{function.name}: {function.doubts[0]}")
        if function.recorded is not None and function.seen > function.recorded:
            raise Refused(f"{function.name}: the compiler notes {function.recorded} bytes, the instructions take {function.seen}")
        best = (function.frame, [(function.name, function.frame)])
        for _, used, callee in sorted(set(self.targets(function))):
            below, chain = self.of(callee, path + (start,))
            if used + below > best[0] or (used + below == best[0] and len(chain) + 1 > len(best[1])):
                best = (used + below, [(function.name, used)] + chain)
        self.deepest[start] = best
        return best

    def unnamed(self):
        """Functions whose address the image holds and that no entry names: a pointer might go there."""
        patterns = [p for e in self.allow.calls for p in e["to"]]
        patterns += [e["function"] for e in self.allow.ends + self.allow.never]
        reset = dict(self.image.vectors())[1]
        held = (self.image.functions[start].name for start in self.image.addresses_held() - {reset})
        return sorted(name for name in held if not any(self.allow.fits(p, name) for p in patterns))


def judge(image, allow):
    """Everything there is to say about an image, as plain data."""
    bound = Bound(image, allow)
    vectors = image.vectors()
    known = image.functions
    for number, start in vectors:
        if start not in known:
            raise Refused(f"vector {number} holds {start:#x}, which is no function's start")
    main_bytes, main_chain = bound.of(dict(vectors)[1])
    # Bytes the processor pushes (ARMv7-M): eight words, with the float unit in use 18 more, and one to align to eight.
    floats = any(known[start].floats for start in bound.deepest)
    groups = {}
    for number, start in vectors:
        if number > 1:
            kind = {NMI: "NMI", HARD_FAULT: "HardFault"}.get(number, "configurable")
            groups.setdefault((kind, start), []).append(number)
    below = {key: bound.of(key[1]) for key in groups}
    floats = floats or any(known[start].floats for start in bound.deepest)
    entry = (104 if floats else 32) + 4
    handlers = [
        {"kind": kind, "function": known[start].name, "vectors": numbers, "bytes": below[kind, start][0],
         "entry": entry, "chain": below[kind, start][1]}
        for (kind, start), numbers in groups.items()
    ]
    if bound.pointers and bound.unnamed():
        raise Refused("calls go through pointers, and the allow file names nothing that fits these functions, whose address "
                      "the image holds: " + "; ".join(bound.unnamed()))
    top, bottom = image.elf.value("_stack_start"), image.elf.value("_stack_end")
    return {
        "total": main_bytes + sum(h["bytes"] + h["entry"] for h in handlers),
        "main": {"bytes": main_bytes, "chain": main_chain},
        "handlers": handlers,
        "room": top - bottom if top is not None and bottom is not None else None,
        "functions": len(bound.deepest),
        "read_from_instructions": sorted(known[s].name for s in bound.deepest if known[s].recorded is None),
        "ends": sorted(known[s].name for s in bound.deepest if allow.ended(known[s].name)),
        "through_pointers": bound.pointers,
        "float_state": floats,
    }


def chain_text(chain):
    """One line a function."""
    return [f"    {size:6d}  {name}" for name, size in chain]


def text(found):
    """The findings for people."""
    lines = [f"main path: {found['main']['bytes']} bytes"] + chain_text(found["main"]["chain"])
    for handler in found["handlers"]:
        vectors = handler["vectors"]
        which = f"vector {vectors[0]}" if len(vectors) == 1 else f"{len(vectors)} vectors from {vectors[0]}"
        lines.append(f"{handler['kind']}, {which}: {handler['bytes']} bytes and {handler['entry']} pushed by the processor")
        lines += chain_text(handler["chain"])
    lines.append(f"functions reached: {found['functions']}, of these read from their instructions alone: "
                 + (", ".join(found["read_from_instructions"]) or "none"))
    lines.append("calls through pointers: " + ("as the allow file says" if found["through_pointers"] else "none"))
    if found["ends"]:
        lines.append("not followed, by the allow file: " + ", ".join(found["ends"]))
    lines.append("float state pushed on exceptions: " + ("yes" if found["float_state"] else "no, no such instruction"))
    room = found["room"]
    lines.append(f"stack bound: {found['total']} bytes" + (f" of {room}" if room is not None else ""))
    return "\n".join(lines)


def main():
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("elf", nargs="?", help="linked image with .stack_sizes")
    parser.add_argument("--json", action="store_true", help="the findings as JSON")
    parser.add_argument("--allow", help="TOML file that says where calls through pointers go; without it there may be none")
    parser.add_argument("--measured", type=int, help="bytes seen in use in a run: the bound must not be below them")
    parser.add_argument("--self-test", action="store_true", help="judge small planted images")
    args = parser.parse_args()
    if args.self_test:
        import stack_samples
        return stack_samples.run()
    if not args.elf:
        parser.error("an ELF file is needed")
    allow = Allow("")
    if args.allow:
        with open(args.allow, encoding="utf-8") as file:
            allow = Allow(file.read())
    found = judge(Image(args.elf), allow)
    print(json.dumps(found, indent=1) if args.json else text(found))
    if args.measured is not None and args.measured > found["total"]:
        raise Refused(f"{args.measured} bytes were seen in use, more than the bound of {found['total']}: the bound is wrong")
    if found["room"] is not None and found["total"] > found["room"]:
        raise Refused(f"the bound of {found['total']} bytes does not fit the {found['room']} bytes left for the stack")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Refused as why:
        print(f"stack.py: {why}", file=sys.stderr)
        sys.exit(1)
