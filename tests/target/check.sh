#!/bin/bash
# Proves on a Cortex-M4F build what the core promises: no reachable panic, no arithmetic that can overflow unnoticed, no
# floats, no heap, the same outputs as on the host, inside the design's budget of flash, RAM and instructions.
# Run setup.sh once before. Says "N passed, M failed" at the end; leaves with 1 if anything failed.
set -euo pipefail
cd "$(dirname "$0")"
house=$(cd ../.. && pwd)
out=${VALVEWRIGHT_PROOF_DIR:-$house/target/proof}
mkdir -p "$out"
pass=0
bad=0
t() {
    if [ "$2" = "$3" ]; then pass=$((pass + 1)); echo "ok   $1"; else bad=$((bad + 1)); echo "FAIL $1: got '$2', want '$3'"; fi
}
log=$out/build.log
: >"$log"

. ./figures.sh
planted_figures

CARGO_TARGET_DIR=$out/host cargo run --quiet --release --manifest-path host/Cargo.toml >"$out/host.txt"
sed -n '3,$p' "$out/host.txt"
t "the stimulus walks through a whole job" "$(grep -c 'clear_hoses Done' "$out/host.txt")" 1

# fw PROFILE FEATURE: builds the proof program and keeps it as PROFILE-FEATURE; prints "linked" or what the linker missed.
fw() {
    (
        . ./env.sh
        cd fw
        if cargo build --profile "$1" --no-default-features --features "$2" --bin nopanic --target-dir "$out/fw" >"$out/last.log" 2>&1; then
            cp "$out/fw/thumbv7em-none-eabihf/$1/nopanic" "$out/$1-$2"
            echo linked
        else
            cat "$out/last.log" >>"$log"
            grep -m 1 -o 'undefined symbol: a_panic_path_is_still_reachable' "$out/last.log" || tail -n 5 "$out/last.log"
        fi
    )
}
t "the core links without any panic path" "$(fw release no-panics)" linked
t "one possible panic stops the link" "$(fw release with-a-panic)" "undefined symbol: a_panic_path_is_still_reachable"

elf=$out/release-no-panics
# Floating-point arithmetic, conversions and moves of the M4F, and the calls that stand for them elsewhere.
floats() { arm-none-eabi-objdump -d "$1" | awk -F'\t' '$3 ~ /^v[a-z]+(\..*)?$/ { n++ } END { print n + 0 }'; }
symbols() { arm-none-eabi-nm -C "$1" | awk -v p="$2" '$0 ~ p { n++ } END { print n + 0 }'; }
t "no instruction of the float unit" "$(floats "$elf")" 0
t "no soft-float call" "$(symbols "$elf" '__aeabi_[fd]|__(add|sub|mul|div|fix|float|extend|trunc).*[sd]f')" 0
t "no allocator" "$(symbols "$elf" '__rust_alloc|__rdl_alloc|[ ]malloc$')" 0
t "the scan would find a float" "$(fw release with-a-float)" linked
# Callers of a panic in a build whose panic handler only loops. The one left with trapping arithmetic is the length counter
# of heapless::Vec, which its own capacity check keeps below the limit; anything else would be arithmetic of the core.
panickers() {
    arm-none-eabi-objdump -d -C "$1" | awk '
        /^[0-9a-f]+ <.*>:$/ { caller = $0; sub(/^[0-9a-f]+ </, "", caller); sub(/>:$/, "", caller) }
        /\tb[a-z.]*\t/ && /<core::panicking/ && caller !~ /^core::panicking/ && caller !~ /heapless::vec/ { print caller }' | sort -u
}
t "the same build with a loop for a handler" "$(fw checked loop-on-panic)" linked
t "no arithmetic of the core can overflow unnoticed" "$(panickers "$out/checked-loop-on-panic")" ""
t "the scan would find an overflow" "$(fw checked with-an-overflow)" linked
[ -n "$(panickers "$out/checked-with-an-overflow")" ] && found=yes || found=no
t "the scan does find an overflow" "$found" yes
[ "$(floats "$out/release-with-a-float")" -gt 0 ] && found=yes || found=no
t "the scan does find a float" "$found" yes

(
    . ./env.sh
    cd fw
    cargo build --release --bin scan --target-dir "$out/fw" >>"$log" 2>&1
) || { tail -n 20 "$log"; exit 1; }
elf=$out/fw/thumbv7em-none-eabihf/release/scan
qemu() {
    timeout 120 qemu-system-arm -M mps2-an386 -display none -monitor none -serial none \
        -semihosting-config enable=on,target=native -icount shift=10,sleep=off -kernel "$1"
}
qemu "$elf" >"$out/target.txt" || { cat "$out/target.txt"; exit 1; }
cat "$out/target.txt"
field() { awk -v key="$1" '{ for (i = 1; i < NF; i++) if ($i == key) print $(i + 1) }' "$out/$2.txt" | sed -n 1p; }
t "same outputs on host and target over $(field scans target) scans" "$(field digest target)" "$(field digest host)"
budget instructions_longest_scan "$(field most target)"
budget instructions_mean_scan "$(field mean target)"
budget station_bytes "$(awk '/^station bytes/ { print $3 }' "$out/target.txt")"
# The bound holds for every run, the painted stack shows one run: a bound below it would be wrong, and stack.py says so.
stack_bound "$elf" --measured "$(awk '/^stack bytes/ { print $3 }' "$out/target.txt")"
image_budgets core_ "$out/release-no-panics" --allow /dev/null

# The whole firmware of the emulated board: by itself, where no panic can be linked, and with its ends of a line.
(
    . ./env.sh
    cd board
    cargo build --release --no-default-features --features no-panics --bin station --target-dir "$out/board" >>"$log" 2>&1
    cp "$out/board/thumbv7em-none-eabihf/release/station" "$out/station"
    cargo build --release --bin loop_semihosting --bin loop_uart --target-dir "$out/board" >>"$log" 2>&1
) || { tail -n 20 "$log"; exit 1; }
image_budgets "" "$out/station" --allow /dev/null
image_budgets loop_semihosting_ "$out/board/thumbv7em-none-eabihf/release/loop_semihosting"
image_budgets loop_uart_ "$out/board/thumbv7em-none-eabihf/release/loop_uart"
all_budgets_measured
log_reads_as_on_the_host
echo "$pass passed, $bad failed"
[ "$bad" = 0 ]
