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
# image NAME AS FEATURES: each set of features is built by itself, so that no image carries what another needs.
image() {
    cargo build --quiet --locked --release --bin "$1" --features "$3" --target-dir "$out/build"
    cp "$images/$1" "$out/$2"
}
image loop_semihosting explain explain
DEFMT_LOG=info image station station_log log
DEFMT_LOG=info image values values log
image loop_semihosting loop_semihosting ""
image loop_uart loop_uart ""
image store store ""
image station station no-panics
arm-none-eabi-size "$out/loop_semihosting" "$out/loop_uart" "$out/station"
