# The two commands of the README, and nothing that they do not need.
#   make demo   sets up a virtual environment, runs the main job on the demo, says where the results are
#   make test   sets up a virtual environment, then lint, types, layer contract, tests and docs check
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin
PIP = $(BIN)/python -m pip install --quiet --disable-pip-version-check
OUT ?= out/saltmarsh
WORKERS ?= 2

.PHONY: demo test lint types layers check format clean

demo: $(VENV)/.runtime
	$(BIN)/dressform demo $(OUT)

test: lint types layers check

lint: $(VENV)/.dev
	$(BIN)/ruff check src tests benchmarks
	$(BIN)/ruff format --check src tests benchmarks

types: $(VENV)/.dev
	$(BIN)/mypy

layers: $(VENV)/.dev
	$(BIN)/lint-imports

check: $(VENV)/.dev
	$(BIN)/pytest -n $(WORKERS)

format: $(VENV)/.dev
	$(BIN)/ruff check --fix src tests benchmarks
	$(BIN)/ruff format src tests benchmarks

$(VENV)/.runtime: pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "dressform needs Python 3.11 or newer: set PYTHON=...")'
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e .
	touch $@

$(VENV)/.dev: $(VENV)/.runtime
	$(PIP) -e '.[dev]'
	touch $@

clean:
	rm -rf $(VENV) out build dist src/*.egg-info
