"""What a linked image for ARMv7-M says about its stack: functions, frames, calls, vectors.

Read from the ELF file itself and from `arm-none-eabi-objdump -d`. Whatever cannot be followed is kept as a doubt of its
function; the caller refuses an image in which a doubtful function can be reached.
"""

import bisect
import re
import struct
import subprocess

CONDITIONS = {"eq", "ne", "cs", "hs", "cc", "lo", "mi", "pl", "vs", "vc", "hi", "ls", "ge", "lt", "gt", "le"}
MOVERS = ("push", "pop", "sub", "subs", "subw", "add", "adds", "addw", "stmdb", "stm", "ldmia", "ldm", "str", "strd", "ldr",
          "ldrd", "mov", "movs", "vpush", "vpop", "vstmdb", "vldmia")
LINE = re.compile(r"^\s*([0-9a-f]+):\t([0-9a-f ]+?)\s*\t(\S+)(?:\t(.*))?$")
TARGET = re.compile(r"(?:^|, )([0-9a-f]+) <")
FLOAT = re.compile(r"^v[a-z]+(\..*)?$")


class Refused(Exception):
    """The image cannot be judged; the text says why and what to do."""


class Elf:
    """The parts of a 32-bit little-endian ELF file that are needed."""

    def __init__(self, path):
        with open(path, "rb") as file:
            self.data = data = file.read()
        if data[:6] != b"\x7fELF\x01\x01":
            raise Refused(f"{path}: not a 32-bit little-endian ELF file")
        at, = struct.unpack_from("<I", data, 32)
        size, count, names = struct.unpack_from("<HHH", data, 46)
        raw = [struct.unpack_from("<10I", data, at + size * i) for i in range(count)]
        text = raw[names][4]
        # name, kind, flags, address, offset, size, link
        self.sections = [(self._text(text + r[0]), r[1], r[2], r[3], r[4], r[5], r[6]) for r in raw]
        self.symbols = list(self._symbols())

    def _text(self, at):
        return self.data[at:self.data.index(b"\0", at)].decode()

    def _symbols(self):
        for _, kind, _, _, offset, size, link in self.sections:
            if kind != 2:
                continue
            names = self.sections[link][4]
            for at in range(offset, offset + size, 16):
                name, value, length, info, _, section = struct.unpack_from("<IIIBBH", self.data, at)
                yield self._text(names + name), value, length, info & 15, section

    def section(self, name):
        """Address and bytes of a section, or None."""
        for found, kind, _, address, offset, size, _ in self.sections:
            if found == name and kind != 8:
                return address, self.data[offset:offset + size]
        return None

    def loaded(self):
        """Address, bytes and whether it is code, of every loaded section with contents."""
        for _, kind, flags, address, offset, size, _ in self.sections:
            if flags & 2 and kind != 8 and size:
                yield address, self.data[offset:offset + size], bool(flags & 4)

    def word(self, address):
        """The word at an address of the image, or None."""
        for start, data, _ in self.loaded():
            if start <= address and address + 4 <= start + len(data):
                return struct.unpack_from("<I", data, address - start)[0]
        return None

    def value(self, name):
        """The value of a symbol, or None."""
        return next((value for found, value, *_ in self.symbols if found == name), None)


class Function:
    """One function: its instructions, its frame and where it goes."""

    def __init__(self, name, start, end):
        self.name, self.start, self.end = name, start, end
        self.recorded = None  # bytes the compiler noted
        self.seen = 0  # deepest place of the stack pointer seen in the instructions
        self.calls = []  # (how, address, target, bytes of this frame in use there); target None: through a pointer
        self.doubts = []
        self.floats = False

    @property
    def frame(self):
        """Bytes of stack of this function alone."""
        return self.seen if self.recorded is None else max(self.recorded, self.seen)


def registers(text):
    """How many bytes a register list such as {r4, r5-r7, lr} or {d8-d9} takes."""
    total = 0
    for item in re.search(r"\{(.*)\}", text).group(1).split(","):
        item = item.strip()
        first, _, last = item.partition("-")
        count = int(last[1:]) - int(first[1:]) + 1 if last else 1
        total += count * (8 if first[0] == "d" else 4)
    return total


def plain(mnemonic):
    """Mnemonic without width and condition, and whether there was a condition."""
    name = re.sub(r"\.[nw]$", "", mnemonic)
    if name in ("b", "bl", "blx", "bx", "cbz", "cbnz", "tbb", "tbh") or name in MOVERS:
        return name, name in ("cbz", "cbnz")
    if name[-2:] in CONDITIONS and (name[:-2] in ("b", "bl", "blx", "bx") or name[:-2] in MOVERS):
        return name[:-2], True
    return name, False


def movement(name, operands):
    """Bytes by which the instruction deepens the stack; None: it does something to the pointer that cannot be followed."""
    number = re.search(r"#(-?\d+)", operands)
    if name in ("push", "vpush"):
        return registers(operands)
    if name in ("pop", "vpop"):
        return -registers(operands)
    if name in ("stmdb", "vstmdb") and operands.startswith("sp!"):
        return registers(operands)
    if name in ("ldmia", "ldm", "vldmia") and operands.startswith("sp!"):
        return -registers(operands)
    if name in ("str", "strd", "ldr", "ldrd") and re.search(r"\[sp(, #-?\d+)?\]!|\[sp\],", operands):
        return -int(number.group(1)) if number else None
    if re.match(r"sp, (sp, )?#\d+$", operands):
        if name in ("sub", "subw", "subs"):
            return int(number.group(1))
        if name in ("add", "addw", "adds"):
            return -int(number.group(1))
    if "sp!" in operands or re.search(r"\[sp[^\]]*\]!|\[sp\],", operands):
        return None
    if name == "msr" and re.match(r"(msp|psp|control)", operands, re.I):
        return None
    if operands.startswith("sp,") and not name.startswith(("str", "stm", "cmp", "cmn", "tst", "vst", "vld", "ldm")):
        return None
    if name.startswith("ldr") and re.match(r"(\w+, )?sp, \[", operands):
        return None
    return 0


class Image:
    """A linked image, read and followed."""

    def __init__(self, path):
        self.elf = elf = Elf(path)
        self.functions = {}
        self._find_functions()
        self._read_records()
        self._read_code(path)
        for function in self.functions.values():
            self._follow(function)
        self._demangle()

    def _find_functions(self):
        code = [(a, a + len(d)) for a, d, executable in self.elf.loaded() if executable]
        found = {}
        for name, value, size, kind, _ in self.elf.symbols:
            start = value & ~1
            if kind not in (0, 2) or name.startswith("$") or not name or not any(a <= start < b for a, b in code):
                continue
            # A sized function names its address better than a label does.
            rank = (kind == 2, size, not name.startswith("_"))
            if start not in found or rank > found[start][0]:
                found[start] = (rank, name, size)
        inside = 0
        kept = []
        for start in sorted(found):
            (is_function, *_), name, size = found[start]
            if start < inside and not is_function:
                continue
            inside = max(inside, start + size)
            kept.append((start, name, size))
        for (start, name, size), following in zip(kept, [k[0] for k in kept[1:]] + [None]):
            section = next(b for a, b in code if a <= start < b)
            limit = min(section, following if following is not None else section)
            self.functions[start] = Function(name, start, min(limit, start + size) if size else limit)

    def _read_records(self):
        found = self.elf.section(".stack_sizes")
        if found is None:
            raise Refused("the image has no frame sizes: build it with -Z emit-stack-sizes and link it with -T stack-sizes.x")
        data, at = found[1], 0
        while at < len(data):
            start = struct.unpack_from("<I", data, at)[0] & ~1
            at += 4
            value = shift = 0
            while True:
                byte = data[at]
                at += 1
                value |= (byte & 127) << shift
                shift += 7
                if byte < 128:
                    break
            function = self.functions.get(start)
            # A record without a function belongs to one that the linker dropped (address 0).
            if function:
                function.recorded = max(value, function.recorded or 0)

    def _read_code(self, path):
        text = subprocess.run(["arm-none-eabi-objdump", "-d", path], check=True, capture_output=True, text=True).stdout
        self.code = {}
        for line in text.splitlines():
            match = LINE.match(line)
            if match:
                address, raw, mnemonic, operands = match.groups()
                operands = re.split(r"\s*[@;]", operands or "")[0].strip()
                self.code[int(address, 16)] = (len(raw.replace(" ", "")) // 2, mnemonic, operands)
        self.order = sorted(self.code)

    def _table(self, address, wide, function):
        """Targets of a branch through the table behind it; the table ends where the first of them begins, and at the next instruction where the
        image tells data from instructions, as it does where the first entry is none."""
        at = base = address + 4
        nearest, targets = function.end, set()
        instruction = lambda place: not self.code.get(place, (0, ".", ""))[1].startswith(".")
        while at < nearest and (instruction(base) or not instruction(at)):
            word = self.elf.word(at & ~3)
            entry = word >> 8 * (at & 3) & (0xFFFF if wide else 0xFF)
            target = base + 2 * entry
            at += 2 if wide else 1
            if target > base and target < function.end:
                targets.add(target)
                nearest = min(nearest, target)
        return targets

    def _branches(self, function, address, size, operands):
        """The branches right behind a `mov pc` that they are the table of: the function takes their address and adds an index times
        four to it, which may happen well before. Empty for any other `mov pc`."""
        base, registers = address + size, set()
        if self.code.get(base, (0, ""))[1] == "nop":
            # The table is aligned to four bytes.
            base += self.code[base][0]
        for at in self.order_of(function):
            _, name, text = self.code[at]
            taken = re.fullmatch(r"(\w+), pc, #(\d+)", text) if name.startswith("add") else None
            if taken and ((at + 4) & ~3) + int(taken[2]) == base:
                registers.add(taken[1])
        scaled = (re.fullmatch(r"\w+, (\w+), \w+, lsl #2", self.code[at][2]) for at in self.order_of(function))
        if not any(match and match[1] in registers for match in scaled) or not re.fullmatch(r"pc, (?!lr)\w+", operands):
            return []
        targets = []
        for target in self.order[bisect.bisect_left(self.order, base):]:
            if self.code[target][:2] != (4, "b.w"):
                return targets
            targets.append(target)
        return targets

    def _follow(self, function):
        """Walks every path and notes the deepest stack pointer at each instruction and at each way out."""
        depth, todo, rounds = {}, [(function.start, 0)], 0
        while todo:
            address, here = todo.pop()
            if depth.get(address, -1) >= here:
                continue
            rounds += 1
            if rounds > 100_000:
                function.doubts.append("the stack grows in a loop")
                return
            depth[address] = here
            function.seen = max(function.seen, here)
            todo.extend(self._step(function, address, here))
        for address in self.order_of(function):
            if address not in depth and not self.code[address][1].startswith("."):
                # Not reached by any path seen: taken as if the whole frame were in use.
                for _ in self._step(function, address, function.frame, walked=False):
                    pass

    def order_of(self, function):
        """Addresses of the function's instructions."""
        return self.order[bisect.bisect_left(self.order, function.start):bisect.bisect_left(self.order, function.end)]

    def _step(self, function, address, here, walked=True):
        size, mnemonic, operands = self.code.get(address, (2, ".missing", ""))
        if mnemonic.startswith("."):
            if walked and address not in self.code:
                function.doubts.append(f"a path leads to {address:#x}, where no instruction is")
            return
        name, conditional = plain(mnemonic)
        function.floats = function.floats or bool(FLOAT.match(mnemonic))
        out = lambda how, target: function.calls.append((how, address, target, here))
        moved = movement(name, operands)
        if moved is None:
            if walked:
                function.doubts.append(f"'{mnemonic} {operands}' at {address:#x} sets the stack pointer in a way not followed")
            moved = 0
        after = here + moved
        if conditional:
            after = max(after, here)
        ends = False
        if name in ("b", "cbz", "cbnz"):
            target = int(TARGET.search(operands).group(1), 16)
            ends = not conditional
            if function.start <= target < function.end:
                yield target, here
            else:
                out("jump", target)
        elif name == "bl":
            out("call", int(TARGET.search(operands).group(1), 16))
            # A call with nothing behind it does not return.
            ends = address + size >= function.end
        elif name == "blx":
            out("call", None)
            ends = address + size >= function.end
        elif name == "bx":
            ends = not conditional
            if operands != "lr":
                out("jump", None)
            elif ends and walked and after > 0:
                function.doubts.append(f"a return at {address:#x} leaves {after} bytes on the stack")
        elif name in ("tbb", "tbh"):
            ends = True
            for target in self._table(address, name == "tbh", function):
                yield target, here
        elif name == "udf":
            ends = True
        elif re.search(r"\bpc\}", operands) and name in ("pop", "ldmia", "ldm"):
            ends = not conditional
            if not (name == "pop" or operands.startswith("sp!")):
                out("jump", None)
            elif ends and walked and after > 0:
                function.doubts.append(f"a return at {address:#x} leaves {after} bytes on the stack")
        elif name == "mov" and (branches := self._branches(function, address, size, operands)):
            ends = True
            for target in branches:
                yield target, here
        elif operands.startswith("pc,") and not name.startswith(("cmp", "str", "tst")):
            ends = not conditional
            if not (name == "mov" and operands == "pc, lr") and "[sp]," not in operands:
                out("jump", self._literal(name, address, operands))
        if not walked:
            return
        if after < 0:
            function.doubts.append(f"more is taken from the stack than was put there at {address:#x}")
        elif ends:
            return
        elif address + size >= function.end:
            function.calls.append(("run on", address, address + size, after))
        else:
            yield address + size, after

    def _literal(self, name, address, operands):
        match = re.match(r"pc, \[pc(?:, #(-?\d+))?\]", operands)
        if name != "ldr" or not match:
            return None
        word = self.elf.word((address + 4 & ~3) + int(match.group(1) or 0))
        return word & ~1 if word else None

    def _demangle(self):
        names = "\n".join(f.name for f in self.functions.values())
        out = subprocess.run(["arm-none-eabi-c++filt", "-i"], input=names, check=True, capture_output=True, text=True).stdout
        for function, name in zip(self.functions.values(), out.splitlines()):
            function.name = name

    def vectors(self):
        """Number and handler address of each filled vector; 1 is reset."""
        found = self.elf.section(".vector_table")
        if found is None:
            raise Refused("the image has no section .vector_table: its entry points are not known")
        address, data = found
        words = struct.unpack_from(f"<{len(data) // 4}I", data)
        return [(number, word & ~1) for number, word in enumerate(words) if number and word]

    def addresses_held(self):
        """Functions whose address stands in a constant, a literal or a pair of immediate moves, vectors aside."""
        table = self.elf.section(".vector_table")[0]
        held = set()
        for start, data, executable in self.elf.loaded():
            if start == table:
                continue
            for at in range(-start % 4, len(data) - 3, 4):
                if not executable or self.code.get(start + at, (0, ".word", ""))[1].startswith("."):
                    held.add(struct.unpack_from("<I", data, at)[0])
        low = {}
        for address in self.order:
            _, mnemonic, operands = self.code[address]
            match = re.match(r"(\w+), #(\d+)$", operands)
            if match and mnemonic.startswith("movw"):
                low[match.group(1)] = int(match.group(2))
            elif match and mnemonic.startswith("movt"):
                held.add(int(match.group(2)) << 16 | low.get(match.group(1), 0))
        return {f.start for f in self.functions.values() if f.start | 1 in held}
