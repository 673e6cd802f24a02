# Both commands do all of their own set-up: python3, make, git and the package registries are enough.
UV_VERSION := 0.13.9
UV := .uv/bin/uv
export UV_PYTHON_DOWNLOADS := never
export UV_LINK_MODE := copy
# One more than there are cores: the worker with the browser mostly waits for it.
WORKERS := $(shell echo $$(( $$(getconf _NPROCESSORS_ONLN) + 1 )))

.PHONY: demo test office test-times mutants fuzz words units schema bench reference setup spark browser postgresql clean

demo: setup
	$(UV) run --frozen woold demo --out demo-out

test: setup spark browser postgresql
	OPENBLAS_NUM_THREADS=1 WOOLD_ALL_TESTS=1 $(UV) run --frozen pytest -n $(WORKERS) --dist loadgroup

# The same, with the slowest fifty tests and the time of each file at its end.
test-times: setup spark browser postgresql
	OPENBLAS_NUM_THREADS=1 WOOLD_ALL_TESTS=1 PYTHONPATH=tools $(UV) run --frozen pytest -n $(WORKERS) --dist loadgroup -p times_of_tests

# Changes 300 signs, numbers and conditions of the program, one at a time: nine in ten must fail a
# test, and docs/mutants.md says why the others may live. Takes about an hour on one core; ended, it
# goes on where it was (`rm -r .mutants` starts anew).
mutants: setup
	$(UV) sync --frozen --quiet --inexact --all-extras --group mutants
	$(UV) run --frozen --no-sync python tools/mutants.py

# Mutated inputs over every reader; a handful of minutes. The tests take two thousand of them.
fuzz: setup
	PYTHONPATH=tests $(UV) run --frozen python tests/fuzz_readers.py 100000 1

# Sheets through a real office program and back.
office: setup
	@command -v soffice >/dev/null || (apt-get update -qq && apt-get install -y -qq --no-install-recommends libreoffice-calc-nogui)
	$(UV) run --frozen pytest tests/office_round_trip.py

# Every text that can be said, for whoever translates it.
words: setup
	$(UV) run --frozen python tools/words_catalogue.py

# Computes the two-dimensional draws that the width law rests on anew: about two minutes.
reference: setup
	$(UV) run --frozen python -m reference

# Factors of the units that people often write, so that pint is not loaded for them.
units: setup
	$(UV) run --frozen python tools/unit_factors.py

# Schemas of settings files, for editors.
schema: setup
	$(UV) run --frozen python tools/schemas.py

bench: setup postgresql
	$(UV) run --frozen pytest benchmarks --benchmark-columns=min,median,rounds

# Bytecode is written here, once: a command that has to compile its modules takes twice as long.
setup: $(UV)
	$(UV) sync --frozen --quiet --all-extras --compile-bytecode
	@test -f src/woold/web/static/app.css || $(UV) sync --frozen --quiet --all-extras --reinstall-package woold
	@.venv/bin/python -m compileall -q src/woold

# Spark shows that the fleet's query is not bound to one engine; it needs Java.
spark: setup
	command -v java >/dev/null || (apt-get update -qq && apt-get install -y -qq default-jre-headless)
	$(UV) sync --frozen --quiet --all-extras --group spark

# The tests that drive a browser use Debian's: most of them the one without a window of its own.
browser:
	@test -x /usr/bin/chromium -a -x /usr/bin/chromium-headless-shell || (apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium chromium-headless-shell)

# The tests that hold the store against PostgreSQL start a server of their own.
postgresql:
	@command -v initdb >/dev/null || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || (apt-get update -qq && apt-get install -y -qq --no-install-recommends postgresql)

# Debian keeps venv in a package of its own; install it where it is missing and we may.
$(UV):
	python3 -m venv .uv || (apt-get update -qq && apt-get install -y -qq python3-venv && python3 -m venv --clear .uv)
	.uv/bin/python -m pip install --quiet "uv==$(UV_VERSION)"
	@touch $(UV)

clean:
	rm -rf .venv .uv demo-out src/woold/web/static frontend/node_modules .pytest_cache .mypy_cache .ruff_cache .hypothesis
