#!/bin/sh
# Builds the command for any machine of this kind and for the instruction set of this one, and fails unless both give the same
# result, trace hash included, for every shipped scenario, time after time. Prints both real-time factors, best of nine in turns.
set -eu
cd "$(dirname "$0")/../.."
target=${CARGO_TARGET_DIR:-target}
cargo build --quiet --release --target-dir "$target"
RUSTFLAGS="-C target-cpu=native" cargo build --quiet --release --target-dir "$target/native"
out=$(mktemp -d)
trap 'rm -r "$out"' EXIT
python3 - "$target" "$out" <<'END'
import json, subprocess, sys

ROUNDS = 9
target, out = sys.argv[1:]
commands = [f"{target}/release/valvewright", f"{target}/native/release/valvewright"]


def answer(command, *words):
    return json.loads(subprocess.run([command, *words, "--json"], stdout=subprocess.PIPE).stdout)


for one in answer(commands[0], "list")["scenarios"]:
    name, results, speeds = one["name"], [], {command: [] for command in commands}
    for command in commands * ROUNDS:
        result = answer(command, "run", name, "--trace", "none", "--no-report", "--out", out, "--force")
        speeds[command].append(result.pop("speed"))
        del result["wall_seconds"]
        results.append(result)
    assert all(result == results[0] for result in results), f"{name}: not the same result each time"
    slow, fast = (max(speeds[command]) for command in commands)
    print(f"{name:16} {results[0]['trace_hash']} by both  {slow:9.0f} x {fast:9.0f} x  {fast / slow:.2f}")
END
