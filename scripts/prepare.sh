#!/bin/sh
# Makes sure that everything checkstrip is built with is on this machine. Called by the Makefile
# before anything is built; says nothing when nothing is missing. What is missing it installs with
# the machine's own package manager where it may (root, or sudo without a password), saying so; where
# it may not, it prints the one line to run and exits 1.
#
# PROJ, which checkstrip links statically, is built from source: that takes a C and a C++ compiler,
# CMake 3.16 or newer, and the sqlite3 command, with which PROJ makes its database.
set -eu

cd "$(dirname "$0")/.."
tools="$PWD/target/tools"
# Where cmake from PyPI goes; the Makefile puts it on the path too.
PATH="$tools/bin:$PATH"

say() { printf 'prepare: %s\n' "$*" >&2; }
have() { command -v "$1" >/dev/null 2>&1; }

have_cmake() {
    have cmake || return 1
    version=$(cmake --version 2>/dev/null | sed -n '1s/[^0-9]*\([0-9]*\)\.\([0-9]*\).*/\1 \2/p')
    major=${version% *}
    minor=${version#* }
    [ -n "$version" ] && { [ "$major" -gt 3 ] || { [ "$major" -eq 3 ] && [ "$minor" -ge 16 ]; }; }
}

# The names of what is missing: c c++ cmake sqlite3.
look() {
    missing=
    have "${CC:-cc}" || have gcc || have clang || missing="$missing c"
    have "${CXX:-c++}" || have g++ || have clang++ || missing="$missing c++"
    have_cmake || missing="$missing cmake"
    have sqlite3 || missing="$missing sqlite3"
}

# Rust is the one thing that no package manager is asked for: a distribution's is often too old.
if ! have cargo; then
    say "Rust is missing. Install it with this line, open a new shell and run make again:"
    say "  curl --proto '=https' --tlsv1.2 -sSf https://sh.rustup.rs | sh"
    exit 1
fi

look
[ -z "$missing" ] && exit 0
say "missing for building PROJ:$missing"

# The package manager and its words for what is missing.
packages=
manager=
for candidate in apt-get dnf pacman brew; do
    have "$candidate" && manager=$candidate && break
done
for thing in $missing; do
    case "$manager:$thing" in
        apt-get:c | apt-get:c++) packages="$packages build-essential" ;;
        dnf:c) packages="$packages gcc" ;;
        dnf:c++) packages="$packages gcc-c++" ;;
        dnf:sqlite3 | pacman:sqlite3 | brew:sqlite3) packages="$packages sqlite" ;;
        pacman:c | pacman:c++) packages="$packages gcc" ;;
        # Apple's compilers come with the command line tools, not with brew.
        brew:c | brew:c++) ;;
        *) packages="$packages $thing" ;;
    esac
done
packages=$(printf '%s\n' $packages | sort -u | paste -s -d ' ' -)
case "$manager" in
    apt-get) install="apt-get install -y --no-install-recommends $packages" ;;
    dnf) install="dnf install -y $packages" ;;
    pacman) install="pacman -S --needed --noconfirm $packages" ;;
    brew) install="brew install $packages" ;;
    *) install= ;;
esac
[ -n "$packages" ] || install=

# How commands are run with the rights to install, or nothing when there are none.
as_root=none
if [ "$manager" = brew ] || [ "$(id -u)" -eq 0 ]; then
    as_root=
elif have sudo && sudo -n true 2>/dev/null; then
    as_root="sudo -n"
fi

if [ -n "$install" ] && [ "$as_root" != none ]; then
    say "running: ${as_root:+$as_root }$install"
    # A package list that is out of date is the usual reason for a failure, and fetching it needs
    # the network: try to, and let the install itself say what is wrong.
    if [ "$manager" = apt-get ]; then
        export DEBIAN_FRONTEND=noninteractive
        $as_root apt-get update -qq >&2 || say "the package list could not be fetched, going on"
    fi
    $as_root $install >&2 || say "$manager could not install: $packages"
    look
fi

# CMake is on PyPI as well, and needs no rights there.
case " $missing " in
    *" cmake "*)
        for python in python3 python; do
            have "$python" || continue
            say "running: $python -m venv $tools, and pip install cmake in it"
            if "$python" -m venv "$tools" >&2 && "$tools/bin/pip" install -q cmake >&2; then
                look
            else
                say "cmake could not be installed with pip"
            fi
            break
        done
        ;;
esac

[ -z "$missing" ] && { say "everything is here now"; exit 0; }
say "still missing:$missing. Install it and run make again:"
case "$manager" in
    brew) say "  ${install:+$install; }xcode-select --install" ;;
    "") say "  a C and a C++ compiler, CMake 3.16 or newer and the sqlite3 command" ;;
    apt-get) say "  sudo apt-get update && sudo $install" ;;
    *) say "  sudo $install" ;;
esac
exit 1
