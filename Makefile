# neckwise: everything runs inside .venv, which the first call makes.
#   make demo     write the demo's variants to out/demo and print what changed
#   make test     all tests
#   make check    lint, format, types, layers
#   make bench    speed, beside lxml and music21
#   make corpus   read and write every MusicXML file that music21 ships
#   make clean    remove what the other targets made

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/installed.stamp
TYPED := $(wildcard variants cli tests benchmarks)

.PHONY: all venv demo test check format bench corpus clean
.DEFAULT_GOAL := venv

venv: $(STAMP)

# The stamp is as new as the last complete install, so a second call starts at once.
$(STAMP): pyproject.toml constraints.txt
	@command -v $(PYTHON) >/dev/null 2>&1 || \
	  { echo "neckwise needs Python 3.11 or newer, and '$(PYTHON)' was not found; name one: make PYTHON=python3.11" >&2; exit 2; }
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "neckwise needs Python 3.11 or newer, and $(PYTHON) is $$($(PYTHON) -V 2>&1); name another: make PYTHON=python3.12" >&2; exit 2; }
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	@touch $@

demo: $(STAMP)
	@$(BIN)/python samples/demo.py

test: $(STAMP)
	$(BIN)/python -m pytest -n 2

check: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy --strict $(TYPED)
	$(BIN)/lint-imports

format: $(STAMP)
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

bench: $(STAMP)
	$(BIN)/python -m benchmarks.speed

corpus: $(STAMP)
	$(BIN)/python -m benchmarks.corpus

clean:
	rm -rf $(VENV) build dist out .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
