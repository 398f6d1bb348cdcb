#!/bin/sh
# Fuzzes the targets one after the other with coverage, on the stable toolchain, and keeps what they find.
#
#   tests/fuzz/nightly.sh                    # every target, 10 min each
#   tests/fuzz/nightly.sh 60 codes store     # these targets, 60 s each
#   JOBS=1 RUNS=1000000 tests/fuzz/nightly.sh 0 codes    # so many runs, on one core, without a limit of time
#
# The corpus grows in $CARGO_TARGET_DIR/fuzz/corpus, what crashes is kept in .../fuzz/found; exit code 1 where there is any.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
target=${CARGO_TARGET_DIR:-$here/target}
out=$target/fuzz
seconds=${1:-600}
[ $# -gt 0 ] && shift
CORE="codes line packets frames store records"
FILES="scenario station network plan words image"
wanted=${*:-"$CORE $FILES"}
host=$(rustc -vV | sed -n 's/^host: //p')

# Counters in every branch, and every comparison told, by the compiler itself: what a nightly toolchain's -Zsanitizer would set.
flags="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 -Cllvm-args=-sanitizer-coverage-inline-8bit-counters"
flags="$flags -Cllvm-args=-sanitizer-coverage-pc-table -Cllvm-args=-sanitizer-coverage-trace-compares"

build() {
    (cd "$here" && RUSTFLAGS="$flags" CARGO_TARGET_DIR="$target" cargo build --locked --release --target "$host" "$@")
}

program() {
    case " $CORE " in *" $1 "*) echo controller ;; *) echo files ;; esac
}

for one in $wanted; do
    case " $CORE $FILES " in
    *" $one "*) ;;
    *) echo "\`$one\` is no target; there are: $CORE $FILES" >&2; exit 64 ;;
    esac
done
for one in $wanted; do
    [ "$(program "$one")" = controller ] && build --bin controller && break
done
for one in $wanted; do
    [ "$(program "$one")" = files ] && build --features files --bin files && break
done

mkdir -p "$out/found"
failed=0
for one in $wanted; do
    corpus=$out/corpus/$one
    mkdir -p "$corpus"
    python3 "$here/corpus.py" unpack "$one" "$corpus"
    echo "$one: $(ls "$corpus" | wc -l) inputs to begin with" >&2
    VALVEWRIGHT_FUZZ=$one "$target/$host/release/$(program "$one")" "$corpus" \
        -fork="${JOBS:-2}" -ignore_crashes=1 -max_total_time="$seconds" -runs="${RUNS:--1}" \
        -artifact_prefix="$out/found/$one-" -print_final_stats=1 -rss_limit_mb=2048 -timeout=20 >"$out/$one.log" 2>&1 || failed=1
    tail -n 3 "$out/$one.log"
    [ -z "$(ls "$out/found" | grep "^$one-" || true)" ] || { echo "$one: something was found, see $out/found" >&2; failed=1; }
done
exit $failed
