#!/bin/sh
# Installs what the proof on the target needs, from the distribution's own packages (Debian 12); does nothing when all is there.
set -eu
need=""
[ -x /usr/bin/rustc ] && [ -x /usr/bin/cargo ] && [ -d /usr/lib/rustlib/src/rust/library ] || need="rustc-web cargo-web rust-web-src"
command -v qemu-system-arm >/dev/null || need="$need qemu-system-arm"
command -v arm-none-eabi-objdump >/dev/null || need="$need binutils-arm-none-eabi"
command -v python3 >/dev/null || need="$need python3"
[ -n "$need" ] || exit 0
apt-get update -qq
# shellcheck disable=SC2086
apt-get install -y -qq --no-install-recommends $need
