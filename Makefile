# Every command of the house. `make demo` and `make test` need Python 3.11 or newer,
# git and make, and nothing else.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed
SERVE ?= 1
PORT ?= 8000
PLACE ?=
DEMO ?= var/demo$(if $(PLACE),-$(PLACE))
WORKERS ?= 2
DEMO_DATABASE = DATABASE_URL=sqlite:///$(abspath $(DEMO))/demo.sqlite3

.PHONY: help demo serve test check lint types tests bench pictures roads constraints clean
.DEFAULT_GOAL := help

help:  ## say what there is
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 22

$(STAMP): constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
	  || { echo "Waterclerk needs Python 3.11 or newer; this is $$($(PYTHON) -V). Try: make PYTHON=python3.12" >&2; exit 1; }
	@echo "Installing into $(VENV) …"
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/pip install --quiet --disable-pip-version-check --only-binary :all: --require-hashes -r constraints.txt
	@touch $@

demo: $(STAMP)  ## load an invented district, run its day, plan a week, then serve it (PLACE=oro-valley-az: by its ladder)
	@mkdir -p $(DEMO)
	@$(DEMO_DATABASE) $(BIN)/python manage.py demo --folder $(DEMO) $(if $(PLACE),--place $(PLACE))
	@if [ "$(SERVE)" != "0" ]; then $(DEMO_DATABASE) $(BIN)/python manage.py serve --port $(PORT); fi

serve: $(STAMP)  ## serve your own database on loopback
	@$(BIN)/python manage.py migrate --verbosity 0
	@$(BIN)/python manage.py serve --port $(PORT)

test: lint types tests  ## everything: style, types, floors, migrations, tests on both databases

check: lint types  ## the fast subset
	@env -u DATABASE_URL $(BIN)/python -m pytest -q -n $(WORKERS) --dist loadgroup -m "not slow and not browser and not bench" tests

lint: $(STAMP)  ## style, floors, migrations, settings
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/lint-imports --no-cache --no-logo
	@$(BIN)/python manage.py makemigrations --check --dry-run
	@$(BIN)/python manage.py check

types: $(STAMP)  ## mypy, strict
	@$(BIN)/mypy

tests: $(STAMP)  ## pytest on SQLite, then what touches the database on PostgreSQL
	@env -u DATABASE_URL $(BIN)/python -m pytest -q -n $(WORKERS) --dist loadgroup -m "not bench" tests
	@$(BIN)/python -m tests.on_postgres -q -n $(WORKERS) --dist loadgroup tests

bench: $(STAMP)  ## measure, as ratios within one run (BENCH_SIZE=1000000 for a large registry)
	@env -u DATABASE_URL $(BIN)/python -m pytest -q -n $(WORKERS) --dist loadgroup -m bench tests
	@$(BIN)/python -m tests.bench
	@$(BIN)/python -m tests.bench.rounds

pictures: $(STAMP)  ## draw the README's pictures from the demo
	@$(BIN)/python docs/pictures.py

roads: $(STAMP)  ## read a road map for plans: make roads FILE=extract.osm.pbf
	@$(BIN)/python manage.py read_roads "$(FILE)"

constraints:  ## pin anew every package by hash (needs pip-tools)
	CUSTOM_COMPILE_COMMAND="make constraints" pip-compile --quiet --strip-extras --generate-hashes \
	  --no-emit-index-url --no-emit-find-links --extra production --extra roads --extra test \
	  --output-file constraints.txt pyproject.toml

clean:  ## remove what the commands made
	rm -rf $(VENV) var staticfiles .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
