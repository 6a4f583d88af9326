#!/bin/sh
# Makes sure that GDAL's ogr2ogr is here, with which some tests exchange files both ways. It never
# fails: where GDAL cannot be installed the tests that need it say that they are skipped, and so does
# this script. Says nothing when it is here.
set -eu

say() { printf 'oracles: %s\n' "$*" >&2; }
have() { command -v "$1" >/dev/null 2>&1; }
skip() {
    say "$*"
    say "SKIPPED: files exchanged with GDAL; each of those tests says so itself. Everything else is tested."
    exit 0
}

have ogr2ogr && exit 0

# How commands are run with the rights to install.
if have brew; then
    install="brew install gdal"
elif [ "$(id -u)" -eq 0 ]; then
    as_root=
elif have sudo && sudo -n true 2>/dev/null; then
    as_root="sudo -n"
else
    skip "ogr2ogr is not here, and nothing may be installed (Debian and Ubuntu: apt-get install gdal-bin)"
fi
if [ -z "${install:-}" ]; then
    if have apt-get; then
        export DEBIAN_FRONTEND=noninteractive
        $as_root apt-get update -qq >&2 || say "the package list could not be fetched, going on"
        install="$as_root apt-get install -y --no-install-recommends gdal-bin"
    elif have dnf; then
        install="$as_root dnf install -y gdal"
    elif have pacman; then
        install="$as_root pacman -S --needed --noconfirm gdal"
    else
        skip "ogr2ogr is not here, nor a package manager that is known"
    fi
fi
say "running: $install"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
$install >"$log" 2>&1 || { tail -n 3 "$log" >&2; skip "gdal could not be installed"; }
have ogr2ogr || skip "ogr2ogr is still not here"
