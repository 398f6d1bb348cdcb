# Source this: a compiler and a library source of the same release, because core is built for the target from source.
# The distribution's packages bring both; its compiler takes -Z flags only with RUSTC_BOOTSTRAP.
export RUSTC_BOOTSTRAP=1
unset CARGO_TARGET_DIR RUSTUP_TOOLCHAIN RUSTC RUSTFLAGS || true
lld=$(find "$(rustc --print sysroot)" "$HOME/.rustup/toolchains" -name rust-lld -type f 2>/dev/null | sed -n 1p)
export PATH="/usr/bin:$PATH:$(dirname "${lld:-/usr/bin/none}")"
