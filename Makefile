# make demo   an invented farm's season from logs to report, in ./checkstrip-demo
# make test   every test, and the checks on the source
# make test-distributed   a season on Apache Spark with a worker killed; fetches PySpark (500 MB), needs Java 17
# make bench  benchmarks
# make lint   the checks on the source alone

# cmake installed by scripts/prepare.sh, where the system has none.
export PATH := $(CURDIR)/target/tools/bin:$(PATH)

.PHONY: demo test test-distributed bench lint prepare oracles page

demo: prepare
	@[ -x target/release/checkstrip ] || \
	echo "building checkstrip for the first time: up to half an hour on two cores" >&2
	cargo run --release -q --bin checkstrip -- demo --out checkstrip-demo

test: lint oracles page
	@if [ -x .venv/bin/python ]; then CHECKSTRIP_PYTHON="$(CURDIR)/.venv/bin/python"; \
	export CHECKSTRIP_PYTHON; fi; \
	for browser in chromium chromium-browser; do \
	if [ -z "$$CHECKSTRIP_CHROMIUM" ] && command -v $$browser >/dev/null 2>&1; \
	then CHECKSTRIP_CHROMIUM="$$(command -v $$browser)"; export CHECKSTRIP_CHROMIUM; fi; done; \
	set -x; cargo test --workspace --release

test-distributed: oracles
	@if [ -x .venv/bin/python ]; then CHECKSTRIP_PYTHON="$(CURDIR)/.venv/bin/python"; \
	export CHECKSTRIP_PYTHON; fi; CHECKSTRIP_SPARK=yes; export CHECKSTRIP_SPARK; \
	set -x; cargo test --workspace --release --test distributed -- --test-threads 1

bench: prepare
	cargo bench --workspace --profile release

lint: prepare
	@scripts/style.sh

prepare:
	@scripts/prepare.sh

oracles: prepare
	@scripts/python-oracles.sh
	@scripts/gdal-oracle.sh

page:
	@scripts/page.sh
