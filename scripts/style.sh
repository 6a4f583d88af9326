#!/bin/sh
# The checks on the source itself: formatting, clippy and documentation, each with every warning an
# error. A component that this Rust was installed without is named and left out.
set -eu

cd "$(dirname "$0")/.."
say() { printf 'style: %s\n' "$*" >&2; }

if cargo fmt --version >/dev/null 2>&1; then
    say "cargo fmt --check"
    cargo fmt --all --check
else
    say "SKIPPED: formatting is not checked, rustfmt is missing (rustup component add rustfmt)"
fi

if cargo clippy --version >/dev/null 2>&1; then
    say "cargo clippy (the first run builds every dependency, PROJ among them: some minutes)"
    cargo clippy --workspace --all-targets --release --quiet -- -D warnings
else
    say "SKIPPED: clippy is missing (rustup component add clippy)"
fi

if rustdoc --version >/dev/null 2>&1; then
    say "cargo doc"
    RUSTDOCFLAGS="${RUSTDOCFLAGS:-} -D warnings" \
        cargo doc --workspace --no-deps --release --quiet
else
    say "SKIPPED: the documentation is not built, rustdoc is missing"
fi
