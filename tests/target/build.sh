#!/bin/bash
# Builds the firmware that `valvewright run --board` and `valvewright replay` look for, into target/firmware.
# Run setup.sh once before.
set -euo pipefail
cd "$(dirname "$0")"
house=$(cd ../.. && pwd)
out=${VALVEWRIGHT_FIRMWARE_DIR:-$house/target/firmware}
mkdir -p "$out"
. ./env.sh
cd board
images=$out/build/thumbv7em-none-eabihf/release
cargo build --quiet --release --bin loop_semihosting --features explain --target-dir "$out/build"
cp "$images/loop_semihosting" "$out/explain"
cargo build --quiet --release --bins --target-dir "$out/build"
cp "$images/loop_semihosting" "$images/loop_uart" "$out/"
arm-none-eabi-size "$out/loop_semihosting" "$out/loop_uart" "$out/explain"
