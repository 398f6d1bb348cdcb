# Source this in check.sh, after `t`: figures of an image against their budgets, and what it logs. Needs $out and $log.
measured=""

# budget NAME VALUE: holds a figure against its limit and its record in budgets.csv.
budget() {
    local line
    measured="$measured $1"
    if line=$(python3 budget.py "$1" "$2"); then pass=$((pass + 1)); echo "ok   $line"; else bad=$((bad + 1)); echo "FAIL $line"; fi
}

# The checks themselves can fail.
planted_figures() {
    t "budgets can fail" "$(python3 budget.py --self-test)" "a regression of 5.1 % fails, one of 4.9 % does not"
    python3 stack.py --self-test >"$out/stack-planted.txt" && found=held || found=refused
    t "stacks of planted images: $(tail -n 1 "$out/stack-planted.txt")" "$found" held
}

# stack_bound ELF [OPTIONS of stack.py]: bounds the stack; leaves the bytes in $bound, and a number over every limit if there is no bound.
stack_bound() {
    local report found
    report=$out/stack-$(basename "$1").txt
    python3 stack.py "$@" >"$report" 2>&1 && found=held || found=$(tail -n 1 "$report")
    sed -n '/^main path/,/^functions/p' "$report"
    t "the stack of $(basename "$1") has a bound" "$found" held
    bound=$(awk '/^stack bound:/ { print $3 }' "$report")
    bound=${bound:-9999999}
}

# image_budgets PREFIX ELF [OPTIONS of stack.py]: flash, bound of the stack, and RAM, which is statics and that bound.
image_budgets() {
    local prefix=$1 elf=$2
    shift 2
    arm-none-eabi-size "$elf"
    budget "${prefix}flash_bytes" "$(arm-none-eabi-size "$elf" | awk 'NR == 2 { print $1 + $2 }')"
    stack_bound "$elf" "$@"
    budget "${prefix}stack_bound_bytes" "$bound"
    budget "${prefix}ram_bytes" "$((bound + $(arm-none-eabi-size "$elf" | awk 'NR == 2 { print $2 + $3 }')))"
}

# Every budget in the file was measured: none is dropped unnoticed.
all_budgets_measured() {
    local left
    left=$(tail -n +2 budgets.csv | cut -d, -f1 | while read -r name; do case " $measured " in *" $name "*) ;; *) echo "$name" ;; esac; done)
    t "every budget was measured" "$left" ""
}

# What the core logs with defmt on the target reads as its values print on the host.
log_reads_as_on_the_host() {
    local logger=$out/fw/thumbv7em-none-eabihf/release/log reader=$out/log/debug/valvewright-log difference found
    (
        . ./env.sh
        cd fw
        DEFMT_LOG=info cargo build --release --features log --bin log --target-dir "$out/fw" >>"$log" 2>&1
    ) || { tail -n 20 "$log"; exit 1; }
    CARGO_TARGET_DIR=$out/log cargo build --quiet --locked --manifest-path log/Cargo.toml
    qemu "$logger" >"$out/log.bin"
    "$reader" "$logger" <"$out/log.bin" >"$out/log.txt" || echo "the log could not be read to its end" >>"$out/log.txt"
    "$out/log/debug/expected" >"$out/log-host.txt"
    difference=$(diff "$out/log-host.txt" "$out/log.txt" | sed -n 1,4p) || true
    t "$(wc -l <"$out/log-host.txt") logged values read as on the host" "$difference" ""
    for name in RawFrame Outputs Tripped WorkOrder Readings I01 StationConfig Station; do
        grep -q "\\b$name\\b" "$out/log.txt" && found=named || found=missing
        t "the log names $name" "$found" named
    done
    head -c -3 "$out/log.bin" | "$reader" "$logger" >"$out/log-cut.txt" 2>&1 && found=accepted || found=$(tail -n 1 "$out/log-cut.txt")
    t "a log cut short is not taken for a whole one" "$found" "valvewright-log: the last message is cut short"
}
