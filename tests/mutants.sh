#!/bin/bash
# Changes the controller in one place after the other and lists the changes that no test notices.
#
#   tests/mutants.sh list              how many changes there are, by file
#   tests/mutants.sh stage1 [K/N]      the controller's own tests on all of them, or on part K of N
#   tests/mutants.sh changed [REV]     the same on the lines that differ from REV (main)
#   tests/mutants.sh stage2 [K/N]      every test of the repository on what stage1 of the same part did not catch
#   tests/mutants.sh constants [FILE]  times, masses and pressures moved up and down by a fifth, on the controller's own tests
#   tests/mutants.sh report            counts by file of all that was run, and what was missed
#
# Needs cargo-mutants 27 (cargo install cargo-mutants --locked). A change costs some 4 s in stage1 and a minute in stage2.
# Everything is written under target/mutants; the sources are copied there and not touched. Figures are in docs/mutants.md.
set -euo pipefail
cd "$(dirname "$0")/.."
out=${CARGO_TARGET_DIR:-$PWD/target}/mutants
mkdir -p "$out/tmp"
# Optimised as the tests are, since they take longer than the build; rebuilt in part, without debug information.
export TMPDIR=$out/tmp CARGO_INCREMENTAL=1 CARGO_PROFILE_TEST_DEBUG=0
mutants=(cargo mutants -p valvewright-core --config tests/mutants.toml --jobs 1 --colors never)
first=(--timeout 20 --build-timeout 120)

# Folder and options of a part.
part() {
    if [ -n "${1:-}" ]; then
        folder=$out/part-${1/\//-of-}
        shard=(--shard "$1" --sharding slice)
    else
        folder=$out/all
        shard=()
    fi
}

# 2: some were missed, 3: some ran out of time; both are for the report, which reads every run that was kept.
tried() {
    "${mutants[@]}" "$@" -o "$folder" "${tests[@]}" || case $? in 2 | 3) ;; *) return 1 ;; esac
    # Nothing was changed, nothing is there.
    [ ! -e "$folder/mutants.out/outcomes.json" ] || cp "$folder/mutants.out/outcomes.json" "$folder/run-$(date +%s).json"
}
tests=(-- --test controller)

case ${1:-} in
list)
    "${mutants[@]}" --list | cut -d: -f1 | sort | uniq -c
    ;;
stage1)
    part "${2:-}"
    tried "${first[@]}" "${shard[@]}"
    ;;
changed)
    git diff "${2:-main}" -- core/src >"$out/changed.diff"
    folder=$out/changed
    tried "${first[@]}" --in-diff "$out/changed.diff"
    ;;
stage2)
    part "${2:-}"
    test -d "$folder/mutants.out" || { echo "no stage1 of this part" >&2; exit 1; }
    # A survivor is named by its place; what else is changed there is tried again with it.
    places=()
    while IFS= read -r line; do places+=(--re "^${line%%: *}: "); done <"$folder/mutants.out/missed.txt"
    [ ${#places[@]} -gt 0 ] || exit 0
    folder=$folder-whole
    tests=()
    tried --timeout 900 "${places[@]}" --test-workspace true
    ;;
constants)
    python3 tests/mutants/constants.py "$out/constants" "${@:2}"
    ;;
report)
    python3 tests/mutants/report.py "$out"
    ;;
*)
    sed -n '3,10s/^# *//p' "$0" >&2
    exit 2
    ;;
esac
