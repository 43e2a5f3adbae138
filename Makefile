# Two verbs do everything on a fresh Debian 12 with git, make, python3 and python3-venv: `make run` and `make test`.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
# The demonstration plant's data folder, and more options of `isohume serve`, such as RUN_FLAGS="--port 9000".
DATA ?= demo-plant
RUN_FLAGS ?=

.PHONY: run test check prove bench docs tables clean

run: $(VENV)/.installed
	@$(BIN)/isohume serve --demo --data $(DATA) $(RUN_FLAGS)

test: $(VENV)/.tested check
	$(BIN)/python -m pytest -n auto

check: $(VENV)/.tested
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache

prove: $(VENV)/.tested
	$(BIN)/python -m proofs

bench: $(VENV)/.tested
	$(BIN)/python -m benchmarks

docs: $(VENV)/.tested
	$(BIN)/python builders/reference_docs.py
	$(BIN)/python builders/roles_page.py

$(VENV)/.installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .[parquet]
	@touch $@

$(VENV)/.tested: $(VENV)/.installed
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .[test]
	@touch $@

clean:
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache
