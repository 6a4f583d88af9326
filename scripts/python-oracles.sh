#!/bin/sh
# Makes the Python environment .venv with the outside references that some tests compare checkstrip
# with (tests/requirements.txt, pinned). It never fails: without Python or the network the tests that
# need one say that they are skipped, and so does this script. Says nothing when .venv is up to date.
set -eu

cd "$(dirname "$0")/.."
wanted=tests/requirements.txt
done_mark=.venv/requirements.done

say() { printf 'oracles: %s\n' "$*" >&2; }
skip() {
    say "$*"
    say "SKIPPED: the comparisons with pyproj, geopandas, shapely, scipy, statsmodels, pyarrow and isoxml,"
    say "and the season in a bucket of moto;"
    say "each of those tests says so itself. Everything else is tested."
    exit 0
}

[ -f "$done_mark" ] && cmp -s "$wanted" "$done_mark" && exit 0

python=
for candidate in python3 python; do
    command -v "$candidate" >/dev/null 2>&1 && python=$candidate && break
done
[ -n "$python" ] || skip "Python is not here"

say "making .venv with the versions in $wanted (once; some minutes, needs PyPI)"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
rm -rf .venv
"$python" -m venv .venv >"$log" 2>&1 ||
    skip "$python cannot make an environment (Debian and Ubuntu: apt-get install python3-venv)"
if ! .venv/bin/python -m pip install -q --disable-pip-version-check --only-binary :all: \
    -r "$wanted" >"$log" 2>&1; then
    tail -n 3 "$log" >&2
    rm -rf .venv
    skip "the packages could not be installed: no network, or none of these versions for this Python"
fi
cp "$wanted" "$done_mark"
say ".venv is ready"
