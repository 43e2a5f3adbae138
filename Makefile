# Two verbs do everything on a fresh Debian 12 with git, make, python3 and python3-venv: `make run` and `make test`.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
DEMO ?= demo-day

.PHONY: run test check prove bench docs tables clean

run: $(VENV)/.installed
	@$(BIN)/isohume demo $(DEMO)

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

$(VENV)/.installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/.tested: $(VENV)/.installed
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .[test]
	@touch $@

clean:
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache
