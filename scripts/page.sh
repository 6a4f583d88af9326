#!/bin/sh
# Checks the page of `checkstrip draw` (crates/web/page): its types and geometry, that the committed bundle
# (crates/web/assets) is what its sources build, and that there is a Chromium for the tests that try
# the page. Fails when types or bundle are wrong. Where Node, the network or Chromium is missing it
# says so, and what is left out, without failing.
set -eu

cd "$(dirname "$0")/.."
page=crates/web/page
assets=crates/web/assets
# The packages in node_modules are those of this lockfile.
done_mark=$page/node_modules/package-lock.done

say() { printf 'page: %s\n' "$*" >&2; }
skip() {
    say "SKIPPED: $*"
    exit 0
}
have() { command -v "$1" >/dev/null 2>&1; }

have node && have npm ||
    skip "the page is not checked, Node 20 or newer with npm is missing (https://nodejs.org)"
major=$(node --version | sed 's/^v\([0-9]*\).*/\1/')
[ "$major" -ge 20 ] ||
    skip "the page is not checked, Node $(node --version) is too old: it takes 20 or newer"

if ! cmp -s "$page/package-lock.json" "$done_mark"; then
    say "npm ci in $page (once; needs the network)"
    log=$(mktemp)
    if ! (cd "$page" && npm ci --no-audit --no-fund >"$log" 2>&1); then
        tail -n 3 "$log" >&2
        rm -f "$log"
        skip "the page is not checked, its packages could not be fetched"
    fi
    rm -f "$log"
    cp "$page/package-lock.json" "$done_mark"
fi

say "types, geometry and bundle"
(cd "$page" && npm run --silent check && node --test --test-reporter=dot tests/plane.test.mjs >&2)
built=$(mktemp -d)
trap 'rm -rf "$built"' EXIT
(cd "$page" && node build.mjs "$built")
if ! diff -rq "$built" "$assets" >&2; then
    say "error: $assets is not what $page builds"
    say "hint: run npm run build in $page, and commit what changes"
    exit 1
fi

# The browser. The Makefile looks for it under the same names.
have chromium || have chromium-browser || [ -n "${CHECKSTRIP_CHROMIUM:-}" ] && exit 0
as_root=none
if [ "$(id -u)" -eq 0 ]; then
    as_root=
elif have sudo && sudo -n true 2>/dev/null; then
    as_root="sudo -n"
fi
if have apt-get && [ "$as_root" != none ]; then
    say "running: ${as_root:+$as_root }apt-get install -y chromium"
    export DEBIAN_FRONTEND=noninteractive
    $as_root apt-get update -qq >&2 || say "the package list could not be fetched, going on"
    # A bare machine may have half-installed packages in the way: one repair, one more try.
    $as_root apt-get install -y -qq chromium >&2 ||
        { $as_root apt-get --fix-broken install -y -qq >&2 && $as_root apt-get install -y -qq chromium >&2; } ||
        say "apt-get could not install chromium"
fi
have chromium || have chromium-browser ||
    skip "the page is not tried in a browser, Chromium is missing. Debian: sudo apt-get install chromium; elsewhere set CHECKSTRIP_CHROMIUM to its program"
