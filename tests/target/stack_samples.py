"""Small planted images, assembled and linked, for which the bound is known or must be refused."""

import os
import subprocess
import tempfile

from stack import Allow, judge
from stack_image import Image, Refused

SCRIPT = """
ENTRY(Reset)
SECTIONS {
  .vector_table 0x0 : { KEEP(*(.vectors)) }
  .text : { *(.text*) }
  .rodata : { *(.rodata*) }
  .stack_sizes (INFO) : { KEEP(*(.stack_sizes)) }
}
"""
HEAD = """
.syntax unified
.cpu cortex-m4
.fpu fpv4-sp-d16
.thumb
.section .vectors, "a"
.word 0x20004000, Reset{extra}
.section .stack_sizes
.word 0
.byte 0
.text
.macro func name
  .global \\name
  .type \\name, %function
  .thumb_func
  \\name:
.endm
func Reset
  bl start
"""
CHAIN = """
func start
  push {r4, lr}
  sub sp, #16
  bl middle
  add sp, #16
  pop {r4, pc}
func middle
  stmdb sp!, {r4-r7, lr}
  str r8, [sp, #-4]!
  ldr r8, [sp], #4
  ldmia.w sp!, {r4-r7, lr}
  b.w last
func last
  push {r7, lr}
  sub.w sp, sp, #256
  add.w sp, sp, #256
  pop {r7, pc}
"""
# start: 8 + 16; middle: 24 deep, but 0 where it jumps to last, which takes 8 + 256.
CHAIN_BYTES = 24 + 264


def record(name, size):
    """A frame size as the compiler notes it."""
    return f".section .stack_sizes\n.word {name}\n.uleb128 {size}\n.text\n"


SAMPLES = [
    # name, code, more vectors, allow file, expected bytes or a part of the refusal
    ("a known chain with a jump at its end", CHAIN, "", "", CHAIN_BYTES),
    ("frames as the compiler notes them", CHAIN + record("last", 264), "", "", CHAIN_BYTES),
    ("a note above what is seen counts", CHAIN + record("last", 300), "", "", 24 + 300),
    ("a note below what is seen", CHAIN + record("last", 100), "", "", "notes 100 bytes, the instructions take 264"),
    ("a conditional jump to a function", "func start\n push {r4, lr}\n cmp r0, #1\n beq.w big\n pop {r4, pc}\n"
     "func big\n sub sp, #128\n add sp, #128\n bx lr\n", "", "", 8 + 128),
    ("the deeper of two ways", "func start\n cbz r0, 1f\n push {r4-r7, lr}\n pop {r4-r7, pc}\n1: sub sp, #40\n add sp, #40\n bx lr\n",
     "", "", 40),
    ("a branch through a table", "func start\n tbb [pc, r0]\n2: .byte (3f-2b)/2, (4f-2b)/2\n3: bx lr\n"
     "4: sub sp, #64\n add sp, #64\n bx lr\n", "", "", 64),
    ("a jump into branches that stand behind it", "func start\n cmp r0, #1\n bhi 5f\n addw r1, pc, #8\n nop\n"
     " add.w r2, r1, r0, lsl #2\n mov pc, r2\n b.w 3f\n b.w 4f\n5: bx lr\n3: bx lr\n4: sub sp, #64\n add sp, #64\n bx lr\n",
     "", "", 64),
    ("the same with its table aligned", "func start\n cmp r0, #1\n bhi 5f\n addw r1, pc, #8\n"
     " add.w r2, r1, r0, lsl #2\n mov pc, r2\n nop\n b.w 3f\n b.w 4f\n5: bx lr\n3: bx lr\n4: sub sp, #64\n add sp, #64\n bx lr\n",
     "", "", 64),
    ("a jump to somewhere else by the same sum", "func start\n addw r1, pc, #12\n nop\n add.w r2, r1, r0, lsl #2\n mov pc, r2\n"
     " b.w 3f\n3: bx lr\n", "", "", "start calls through a pointer"),
    ("a jump through a literal", "func start\n ldr.w pc, =big\n .ltorg\nfunc big\n sub sp, #128\n add sp, #128\n bx lr\n", "", "", 128),
    ("running on into the next function", "func start\n push {r4, lr}\nfunc next\n sub sp, #8\n add sp, #8\n pop {r4, pc}\n",
     "", "", "more is taken from the stack"),
    ("a return with bytes left", "func start\n push {r4}\n bx lr\n", "", "", "leaves 4 bytes"),
    ("a return by pop with bytes left", "func start\n push {r4, lr}\n sub sp, #8\n pop {r4, pc}\n", "", "", "leaves 8 bytes"),
    ("conditional moves of the stack", "func start\n push {r4, lr}\n cmp r0, #0\n itt ne\n addne sp, #0\n popne {r4, pc}\n"
     " bl big\n pop {r4, pc}\nfunc big\n sub sp, #16\n cmp r0, #1\n itt eq\n addeq sp, #16\n bxeq lr\n add sp, #16\n bx lr\n", "", "", 24),
    ("a function's start in a register list", "func start\n ldm r0, {r4, pc}\n", "", "", "start calls through a pointer"),
    ("float registers", "func start\n push {r4, lr}\n vpush {d8-d10}\n vpop {d8-d10}\n pop {r4, pc}\n", "", "", 8 + 24),
    ("a jump through a computed address", "func start\n add pc, r0\n", "", "", "start calls through a pointer"),
    ("recursion", "func start\n push {r4, lr}\n bl other\n pop {r4, pc}\nfunc other\n push {r4, lr}\n bl start\n pop {r4, pc}\n",
     "", "", "start -> other -> start"),
    ("recursion by a jump", "func start\n cbz r0, 1f\n b.w other\n1: bx lr\nfunc other\n b.w start\n", "", "", "recursion"),
    ("a call through a pointer", "func start\n push {r4, lr}\n blx r0\n pop {r4, pc}\n", "", "", "start calls through a pointer"),
    ("a jump through a pointer", "func start\n bx r3\n", "", "", "start calls through a pointer"),
    ("a pointer that is allowed", "func start\n push {r4, lr}\n ldr r0, =last\n blx r0\n pop {r4, pc}\n .ltorg\n"
     "func last\n sub sp, #32\n add sp, #32\n bx lr\n", "", "[[call]]\nfrom='start'\nto=['last']\nreason='known'\n", 8 + 32),
    ("a pointer to something nobody named", "func start\n push {r4, lr}\n ldr r0, =other\n blx r0\n pop {r4, pc}\n .ltorg\n"
     "func last\n bx lr\nfunc other\n sub sp, #128\n add sp, #128\n bx lr\n", "",
     "[[call]]\nfrom='start'\nto=['last']\nreason='wrong'\n", "holds: other"),
    ("a stack pointer from a register", "func start\n mov sp, r0\n bx lr\n", "", "", "sets the stack pointer"),
    ("a second stack", "func start\n msr PSP, r0\n bx lr\n", "", "", "sets the stack pointer"),
    ("a stack that grows in a loop", "func start\n1: push {r4}\n b 1b\n", "", "", "grows in a loop"),
    ("exceptions, each once on top of the other", CHAIN + "func nmi\n b nmi\nfunc irq\n push {r7, lr}\n pop {r7, pc}\n",
     ", nmi, irq, irq, irq", "", CHAIN_BYTES + (0 + 36) + (8 + 36) + (8 + 36)),
    ("float state is pushed too", CHAIN + "func irq\n vmov.f32 s0, #1.0\n bx lr\n", ", 0, 0, irq", "", CHAIN_BYTES + 108),
    ("what ends the program", "func start\n push {r4, lr}\n bl panic\nfunc panic\n sub sp, #512\n b panic\n", "",
     "[[end]]\nfunction='panic'\nreason='leaves'\n", 8),
    ("an entry without a reason", "func start\n bx lr\n", "", "[[end]]\nfunction='panic'\nreason=' '\n", "needs exactly"),
]


def build(folder, code, extra):
    """Assembles and links one sample."""
    source, elf, script = (os.path.join(folder, name) for name in ("a.s", "a.elf", "a.x"))
    with open(source, "w", encoding="utf-8") as file:
        file.write(HEAD.format(extra=extra) + code)
    with open(script, "w", encoding="utf-8") as file:
        file.write(SCRIPT)
    subprocess.run(["arm-none-eabi-as", "-o", os.path.join(folder, "a.o"), source], check=True)
    subprocess.run(["arm-none-eabi-ld", "-T", script, "-o", elf, os.path.join(folder, "a.o")], check=True)
    return elf


def verdict(folder, code, extra, allow):
    """The bound, or the refusal's text."""
    try:
        return judge(Image(build(folder, code, extra)), Allow(allow))["total"]
    except Refused as why:
        return str(why)


def run():
    """Judges every sample; 0 if all verdicts are as expected."""
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, code, extra, allow, wanted in SAMPLES:
            got = verdict(folder, code, extra, allow)
            fits = got == wanted if isinstance(wanted, int) else isinstance(got, str) and wanted in got
            failed += not fits
            if not fits:
                print(f"FAIL {name}: got {got!r}, want {wanted!r}")
    print(f"{len(SAMPLES) - failed} of {len(SAMPLES)} planted images judged right")
    return int(failed > 0)
