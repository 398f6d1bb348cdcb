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
# budget NAME VALUE: holds a figure against its limit and its record in budgets.csv.
budget() {
    local line
    if line=$(python3 budget.py "$1" "$2"); then pass=$((pass + 1)); echo "ok   $line"; else bad=$((bad + 1)); echo "FAIL $line"; fi
}
log=$out/build.log
: >"$log"

t "the bound of the stack is right on planted images" "$(python3 stack.py --self-test | tee -a "$log" | tail -n 1)" "23 of 23 planted images judged right"
t "budgets can fail" "$(python3 budget.py --self-test)" "a regression of 5.1 % fails, one of 4.9 % does not"

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
proof=$out/release-no-panics
arm-none-eabi-size "$proof" "$elf"
budget flash_bytes "$(arm-none-eabi-size "$proof" | awk 'NR == 2 { print $1 + $2 }')"
# The bound holds for every run, the painted stack shows one: a bound below it would be wrong, and stack.py says so.
seen=$(awk '/^stack bytes/ { print $3 }' "$out/target.txt")
if python3 stack.py "$elf" --measured "$seen" >"$out/stack.txt" 2>&1; then found=held; else found=refused; fi
cat "$out/stack.txt"
t "the stack of the program that scans is bounded, and $seen bytes seen are within" "$found" held
bound=$(awk '/^stack bound:/ { print $3 }' "$out/stack.txt")
statics=$(arm-none-eabi-size "$elf" | awk 'NR == 2 { print $2 + $3 }')
budget stack_bound_bytes "${bound:-999999}"
budget ram_bytes "$((${bound:-999999} + statics))"
if python3 stack.py "$proof" --allow /dev/null >"$out/stack-core.txt" 2>&1; then found=held; else found=$(tail -n 1 "$out/stack-core.txt"); fi
t "the core's stack is bounded without any leave: $(tail -n 1 "$out/stack-core.txt")" "$found" held

# What the core logs with defmt on the target reads as its values print on the host.
(
    . ./env.sh
    cd fw
    DEFMT_LOG=info cargo build --release --features log --bin log --target-dir "$out/fw" >>"$log" 2>&1
) || { tail -n 20 "$log"; exit 1; }
CARGO_TARGET_DIR=$out/log cargo build --quiet --manifest-path log/Cargo.toml
logger=$out/fw/thumbv7em-none-eabihf/release/log
qemu "$logger" >"$out/log.bin"
"$out/log/debug/valvewright-log" "$logger" <"$out/log.bin" >"$out/log.txt" || echo "the log could not be read to its end" >>"$out/log.txt"
"$out/log/debug/expected" >"$out/log-host.txt"
difference=$(diff "$out/log-host.txt" "$out/log.txt" | sed -n 1,4p) || true
t "$(wc -l <"$out/log-host.txt") logged values read as on the host" "$difference" ""
for name in RawFrame Outputs Tripped WorkOrder Readings I01 StationConfig Station; do
    grep -q "\b$name\b" "$out/log.txt" && found=named || found=missing
    t "the log names $name" "$found" named
done
echo "$pass passed, $bad failed"
[ "$bad" = 0 ]
