# The two commands that everybody needs, and nothing that they do not need.
#   make demo   sets up a virtual environment, does the whole job with four garments of the demo, says where the results are
#   make test   sets up a virtual environment, then lint, types, layer contract, the documents as a site, and tests
# Beside them:
#   make tutorials  runs every command of the tutorials and compares what it prints; takes ten minutes
#   make environment  sets up the virtual environment of `make test`, and runs nothing
#   make docs   the documents as a site in build/site; a link or an anchor that leads nowhere is an error
#   make lowest tests on the lowest versions of everything that pyproject.toml declares, in an environment of its own
#   make lock   writes constraints/lock.txt anew: the versions that a fresh environment gets today
#   make fuzz   damages files of every kind for MINUTES minutes, in WORKERS processes
#   make campaign  kills, interrupts and starves the program, and attacks what it has certified; takes long: set WORKERS
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin
PIP = $(BIN)/python -m pip install --quiet --disable-pip-version-check
OUT ?= out/saltmarsh
WORKERS ?= 2

LOWEST ?= build/lowest
MINUTES ?= 10
# What leans on the libraries whose versions differ most: compiled kernels, sparse graphs, exact predicates, files,
# pictures, the command line and the page's socket.
LOWEST_TESTS = tests/mesh/test_topology.py tests/mesh/test_intersect.py tests/mesh/test_inside.py \
  tests/mesh/test_laplacian.py tests/body/test_measure_limbs.py tests/body/test_shapes.py tests/fit \
  tests/formats/gltf/test_read.py tests/formats/test_surfaces.py tests/formats/test_collada.py \
  tests/formats/test_case_file.py tests/formats/test_npy.py tests/report/pictures/test_picture.py tests/cli/test_app.py \
  tests/cli/commands/test_measure_command.py tests/cli/test_commands_document.py \
  tests/report/html/test_templates.py tests/web/test_attacks.py

.PHONY: demo environment test lint types layers check docs tutorials format clean lowest lock fuzz campaign sdist

demo: $(VENV)/.runtime
	$(BIN)/dressform demo $(OUT)

environment: $(VENV)/.all

# What needs one processor each goes side by side; the tests take all of them.
test: $(VENV)/.all
	$(MAKE) --jobs 2 lint types layers docs
	$(MAKE) check

lint: $(VENV)/.dev
	$(BIN)/ruff check src tests benchmarks
	$(BIN)/ruff format --check src tests benchmarks

types: $(VENV)/.dev
	$(BIN)/mypy

layers: $(VENV)/.dev
	$(BIN)/lint-imports

check: $(VENV)/.dev
	$(BIN)/pytest -n $(WORKERS)

docs: $(VENV)/.docs
	$(BIN)/sphinx-build --quiet --fail-on-warning --nitpicky --keep-going --conf-dir docs/site . build/site
	@echo "build/site/docs/index.html"

tutorials: $(VENV)/.runtime
	$(BIN)/python docs/tutorials/run.py

lowest: $(LOWEST)/.test
	$(LOWEST)/bin/python -m pytest -n $(WORKERS) -o addopts="-q --import-mode=importlib --strict-markers" $(LOWEST_TESTS)

lock:
	rm -rf build/lock
	$(PYTHON) -m venv build/lock
	build/lock/bin/python -m pip install --quiet --disable-pip-version-check -e '.[dev,collada,usd,draco,docs]'
	{ echo "# What 'make lock' found on Python $$(build/lock/bin/python -V | cut -d' ' -f2): pip install -c constraints/lock.txt"; \
	  build/lock/bin/python -m pip freeze --exclude-editable; } > constraints/lock.txt

fuzz: $(VENV)/.dev
	PYTHONPATH=tests $(BIN)/python -m fuzz.run --minutes $(MINUTES) --workers $(WORKERS)

campaign: $(VENV)/.dev
	PYTHONPATH=tests $(BIN)/python -m faults_injected.campaign --workers $(WORKERS)
	PYTHONPATH=tests $(BIN)/python -m adversary.attack --tubes 10 --workers $(WORKERS)

sdist: $(VENV)/.dev
	$(BIN)/python -m build --sdist --outdir dist .

format: $(VENV)/.dev
	$(BIN)/ruff check --fix src tests benchmarks
	$(BIN)/ruff format src tests benchmarks

$(VENV)/.made:
	$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "dressform needs Python 3.11 or newer: set PYTHON=...")'
	$(PYTHON) -m venv $(VENV)
	touch $@

$(VENV)/.runtime: pyproject.toml | $(VENV)/.made
	$(PIP) -e .
	touch $@

$(VENV)/.dev: $(VENV)/.runtime
	$(PIP) -e '.[dev]'
	touch $@

$(VENV)/.docs: $(VENV)/.runtime
	$(PIP) -e '.[docs]'
	touch $@

# The three of them in one go.
$(VENV)/.all: pyproject.toml | $(VENV)/.made
	$(PIP) -e '.[dev,docs]'
	touch $(VENV)/.runtime
	touch $(VENV)/.dev $(VENV)/.docs $@

$(LOWEST)/.test: pyproject.toml constraints/lowest.txt
	$(PYTHON) -m venv $(LOWEST)
	$(LOWEST)/bin/python -m pip install --quiet --disable-pip-version-check -e '.[test]' -c constraints/lowest.txt
	touch $@

clean:
	rm -rf $(VENV) out build dist src/*.egg-info
