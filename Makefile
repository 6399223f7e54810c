# Thin targets; every one makes what it needs. PYTHON chooses the interpreter (3.11 or newer).
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
PORT ?= 8000
# One more than there are processors: many tests wait for a browser, a server or a killed writer.
WORKERS ?= $(shell $(PYTHON) -c "import os; print(min(os.cpu_count() or 1, 8) + 1)")
# Python compiles what it first needs, and keeps it, whatever a machine says: the tests start hundreds of processes.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo test system check wheel compiled tests thorough benchmarks dot chromium provider fonts clean

demo: $(VENV)/installed dot
	$(BIN)/newel demo --port $(PORT)

# What takes one core each goes side by side; the tests end last, and their closing line stands last.
test:
	@$(MAKE) --no-print-directory --jobs=2 $(VENV)/installed-test system
	@$(MAKE) --no-print-directory --jobs=2 provider compiled
	@$(MAKE) --no-print-directory --jobs=3 --output-sync=target check wheel tests

system: dot chromium fonts
# One after the other: only one may install at a time.
chromium: dot
fonts: chromium

# Once, beside what waits for the net; else every worker of the tests compiles the same at the same time.
compiled: $(VENV)/installed-test
	@$(BIN)/python -m pytest --collect-only -q >/dev/null 2>&1 || true  # the tests tell what is wrong

tests: $(VENV)/installed-test
	$(BIN)/python -m pytest -n $(WORKERS) --dist worksteal -q

# All examples of every property: three times as many as above.
thorough: $(VENV)/installed-test
	NEWEL_EXAMPLES=1 $(BIN)/python -m pytest -n $(WORKERS) --dist worksteal -q

check: $(VENV)/installed-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

wheel: $(VENV)/installed-test
	sh tests/house/wheel.sh $(BIN)/python

benchmarks: $(VENV)/installed-test
	$(BIN)/python -m tests.benchmarks

$(VENV)/installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --no-compile .
	touch $@

$(VENV)/installed-test: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --no-compile --editable '.[test]'
	touch $@

# Graphviz draws the pictures. Without it everything else still works.
dot:
	@command -v dot >/dev/null 2>&1 || sh tests/house/apt.sh graphviz \
	  || echo "The program dot (Graphviz) is missing and could not be installed here: pictures answer 503, all else works. Install the package graphviz to have them."

# Only the tests of the pages need a browser; they are skipped, with this reason, where there is none. The shell has no
# windows of its own to draw: half the work.
chromium:
	@command -v chromium-headless-shell >/dev/null 2>&1 || sh tests/house/apt.sh chromium-headless-shell \
	  || command -v chromium >/dev/null 2>&1 || sh tests/house/apt.sh chromium \
	  || echo "Chromium is missing and could not be installed here: the tests that look at pages are skipped."

# Only the tests of signing in at a provider need one; they are skipped, with this reason, where there is none.
provider: $(VENV)/installed-test
	@{ command -v npm >/dev/null 2>&1 || sh tests/house/apt.sh nodejs npm; } && { test -d $(VENV)/node/node_modules/oidc-provider \
	  || npm install --silent --no-audit --no-fund --no-save --prefix $(VENV)/node oidc-provider@9; } \
	  || echo "Node or the npm package oidc-provider is missing and could not be installed here: signing in at a provider is not tested."

# Pictures are measured with three sets of fonts; a set that is not there is skipped.
fonts:
	@{ fc-list | grep -q LiberationSans-Bold && fc-list | grep -q DejaVuSansMono-Bold; } >/dev/null 2>&1 \
	  || sh tests/house/apt.sh fonts-dejavu-core fonts-liberation \
	  || echo "DejaVu or Liberation fonts are missing and could not be installed here: pictures are not measured with them."

clean:
	rm -rf $(VENV) build dist *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
