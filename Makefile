# make run    set everything up, answer the demo question, write the printed sheet, open the app on
#             the made-up day until ctrl-C (APP=no, or CI set: all but the app)
# make test   set everything up and run every check
# make bench  measure; tables go to docs/bench
# make docs   build the documentation into docs/_build

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
# Libraries thread by themselves; the tests run side by side instead.
export OMP_NUM_THREADS ?= 1
export MPLBACKEND ?= Agg
WORKERS ?= 2

.PHONY: run test setup core pages lint types layers front pytest bench docs lock clean

$(VENV)/ready: pyproject.toml constraints.txt
	$(PYTHON) -c 'import sys; sys.exit("towscope needs Python 3.11 or later") if sys.version_info < (3, 11) else None'
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	touch $@

# Compiled kernels are kept beside their sources, but a kernel does not know that another one it
# calls has changed: when any changes, all are thrown away.
KERNELS := $(shell find src -name '*.py' | xargs grep -l 'towing.jit' 2>/dev/null) src/towscope/towing/jit.py
$(VENV)/kernels: $(KERNELS)
	find src -name '*.nb[ic]' -delete
	mkdir -p $(VENV) && touch $@

# The app's pages, built by the Node that comes with the development tools; anew where their
# sources changed. The schema is made in passing and is a source and a result at once: left out.
FRONT := $(shell find frontend -path frontend/node_modules -prune -o -type f -print 2>/dev/null | grep -v '\.test\.ts\|/lib/schema.d.ts\|/lib/units.json\|/lib/words.json\|/public/core.wasm\|/public/draws.bin\|/public/tackle.json\|/lib/core/entries.ts\|/\.')
# Its cache lies here, since a home may be one that cannot be written to.
NODE := PATH="$(CURDIR)/$(BIN):$$PATH" npm --prefix frontend --cache "$(CURDIR)/$(VENV)/npm"

frontend/node_modules/ready: frontend/package-lock.json | $(VENV)/ready
	$(NODE) ci --no-fund --no-audit
	touch $@

# The portable core for app and short commands: the kernels written out in C and compiled; anew
# where a kernel changed.
CORE := frontend/public/core.wasm
$(CORE): $(VENV)/ready $(KERNELS) src/towscope/arrays.py src/towscope/constants.py src/towscope/water.py src/towscope/towing/portable.py $(wildcard tools/core/*.py)
	$(BIN)/python tools/core/make.py
	touch $@

# What the app answers from beside it: the stock's tackle, and the figures of the draws.
CARRIED := frontend/public/tackle.json
$(CARRIED): $(CORE) tools/core/phone_files.py $(wildcard src/towscope/tackle/*) src/towscope/answers/tackle_data.py src/towscope/web/rigging/parts.py
	$(BIN)/python tools/core/phone_files.py
	touch $@

core: $(CORE) $(CARRIED)

src/towscope/web/pages/index.html: frontend/node_modules/ready $(CORE) $(CARRIED) $(FRONT) src/towscope/words/words.json
	$(NODE) run --silent build
	touch $@

pages: src/towscope/web/pages/index.html

setup: $(VENV)/ready $(VENV)/kernels core pages

run: setup
	@mkdir -p out
	$(BIN)/towscope letout demo --depth "28 ft" --speed "2 mph"
	$(BIN)/towscope table demo --depth "28 ft" --speed "2 mph"
	$(BIN)/towscope table demo -o out/sheet.pdf
	@if [ -n "$$CI" ] || [ "$(APP)" = no ]; then \
	  echo 'The app: towscope serve --demo'; \
	else \
	  $(BIN)/towscope serve --demo; \
	fi

# What reads the sources goes side by side; the tests use all cores by themselves.
test: setup
	@$(MAKE) --no-print-directory -j2 lint types layers front
	@$(MAKE) --no-print-directory pytest

lint: setup
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: setup
	$(BIN)/mypy

layers: setup
	$(BIN)/lint-imports --no-cache

front: setup
	$(NODE) run --silent check

pytest: setup
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadfile --durations 15

bench: setup
	@for script in bench/*.py; do echo "== $$script"; $(BIN)/python $$script || exit 1; done

docs: setup
	$(BIN)/sphinx-build -q -W -b html docs docs/_build/html

# Pin what is installed, by name and version alone.
lock: setup
	$(BIN)/python -m pip list --format freeze --exclude-editable --exclude towscope | grep -vi '^\(pip\|setuptools\|wheel\)==' > constraints.txt

clean:
	rm -rf $(VENV) frontend/node_modules $(CORE) $(CARRIED) frontend/public/draws.bin src/towscope/towing/core.wasm src/towscope/web/pages out docs/_build build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find src tests -name __pycache__ -prune -exec rm -rf {} +
