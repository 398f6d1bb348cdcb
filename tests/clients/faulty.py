"""A controller with one fault, named by its first argument, from the scan named by its second: for tests of whoever has to notice."""

import os
import signal
import sys
import time

import line

KIND, FROM = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 10
sys.argv = sys.argv[:1]
out = sys.stdout.fileno()


def spoil(good, sequence):
    """What is sent in place of a good answer."""
    match KIND:
        case "late":
            time.sleep(1.5)
        case "silent":
            time.sleep(3600)
        case "cut":
            os.write(out, good[:-4])
            time.sleep(3600)
        case "dies":
            print("the pump is on fire", file=sys.stderr)
            print("giving up", file=sys.stderr)
            sys.exit(7)
        case "orphans":
            # Its child holds the streams open.
            if os.fork() == 0:
                time.sleep(5)
            os._exit(7)
        case "killed":
            os.kill(os.getpid(), signal.SIGKILL)
        case "deaf":
            while True:
                os.write(out, line.packet(sequence, "Up", ("Scan", line.answer(on=["K1"]))))
                sequence += 1
                time.sleep(0.005)
        case "closes":
            os.close(out)
            time.sleep(3600)
        case "other":
            return line.packet(sequence - 3, "Up", ("Scan", line.answer(on=["K1"])))
        case "flood":
            return good * 2000
        case "twice":
            return good * 2
        case "endless":
            while True:
                os.write(out, b"\x55" * 1000)
        case "garbage":
            return bytes([good[0], good[1] ^ 1]) + good[2:]
        case "text":
            return b"pressure is 4.2 bar\n" + good
        case "ready":
            return line.packet(sequence, "Up", ("Ready", line.FORMAT, "again"))
        case "output":
            answer = line.answer()
            answer["outputs"]["on"] = 0x8000
            return line.packet(sequence, "Up", ("Scan", answer))
        case "distrusts":
            return line.packet(sequence, "Up", ("Safe", ("Late", 700), 0x4008))
    return good


def main():
    ends = line.Line()
    if KIND == "never":
        time.sleep(3600)
    for scan, stuffed in enumerate(ends.packets()):
        sequence, message = line.unpack(stuffed, "Down")
        if message == "Bye":
            return
        if message[0] == "Setup":
            ends.send(line.packet(sequence, "Up", ("Ready", line.FORMAT + (KIND == "format"), "faulty")))
            continue
        # What is on before the fault, so that the safe state is a change.
        good = line.packet(sequence, "Up", ("Scan", line.answer(on=["P1", "Xv6", "K1"], notices=[])))
        ends.send(spoil(good, sequence) if scan >= FROM else good)


main()
