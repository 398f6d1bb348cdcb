#!/bin/bash
# Follows docs/porting.md to the letter in an empty folder: writes each file as it stands there, runs each command that is
# marked to be run, and says what came of the demo job. Needs what setup.sh installs. Usage: guide.sh [FOLDER]
set -euo pipefail
cd "$(dirname "$0")"
house=$(cd ../.. && pwd)
target=${CARGO_TARGET_DIR:-$house/target}
work=${1:-$target/guide}
rm -rf "$work"
mkdir -p "$work/blank-board"
ln -s "$house" "$work/valvewright"
. ./env.sh
python3 - "$house/docs/porting.md" "$work" <<'PY'
import pathlib, re, shlex, subprocess, sys
page, work = pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"), pathlib.Path(sys.argv[2])
crate = work / "blank-board"
pieces = re.findall(r"^(?:\*\*`(\S+)`\*\*[^\n]*\n|<!-- run[^\n]* -->)\n```\S*\n(.*?)^```$", page, re.S | re.M)
runs = 0
for name, text in pieces:
    if name:
        (crate / name).parent.mkdir(parents=True, exist_ok=True)
        (crate / name).write_text(text, encoding="utf-8")
        print(f"wrote {name}, {len(text.splitlines())} lines", flush=True)
        continue
    runs += 1
    for line in text.splitlines():
        if line.startswith("cd ") or "valvewright" in line or "--board" in line:
            # The demo job itself is run by whoever called, with the image that was built here.
            continue
        command = shlex.split(line) + ["-Zbuild-std=core", "--target-dir", str(crate / "target")]
        print(line, flush=True)
        code = subprocess.run(command + ["--quiet"], cwd=crate, timeout=900).returncode
        if code:
            sys.exit(f"`{line}` of step {runs} left with {code}")
if len(pieces) - runs < 8 or runs < 3:
    sys.exit("docs/porting.md has lost its marks: **`NAME`**: before a file, <!-- run --> before commands")
PY
echo "image $work/blank-board/target/thumbv7em-none-eabihf/release/blank-board"
