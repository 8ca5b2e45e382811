# Heatwright: every verb a developer or the checks need.  `make` alone lists them.
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.stamp
PYTHON ?= $(shell for p in python3 python3.13 python3.12 python3.11; do \
	$$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && { command -v $$p; break; }; done)
WORKERS ?= 2

.PHONY: help setup demo screens test test-browser test-long check docs bench lock clean

help: ## list the verbs
	@awk -F ':.*## ' '/^[a-z-]+:.*## /{printf "  make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

setup: $(STAMP) ## build .venv from the lock (again only when the lock or pyproject.toml changed)

$(STAMP): locks/requirements-dev.txt pyproject.toml
	@test -n "$(PYTHON)" || { echo "no Python 3.11 or newer found on PATH; set PYTHON=/path/to/python3" >&2; exit 1; }
	test -x $(BIN)/python || "$(PYTHON)" -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r locks/requirements-dev.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	touch $@

demo: setup ## two shipped plants on a winter day; reports under demo/
	$(BIN)/heatwright demo

test: setup ## every test but the long ones
	$(BIN)/python -m pytest -m "not long" -n $(WORKERS) --dist loadfile

test-browser: setup ## the workbench in a real browser; needs a Chromium on PATH
	@command -v chromium chromium-browser chrome | head -1 | grep -q . || \
		{ echo "no Chromium on PATH; on Debian: apt-get install chromium" >&2; exit 1; }
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r locks/requirements-browser.txt
	$(BIN)/python -m pytest -m long tests/browser

screens: setup ## write docs/img/screens: every screen of the workbench, by day and by night
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r locks/requirements-browser.txt
	$(BIN)/python -m tools.screens

test-long: setup ## the slow campaigns
	$(BIN)/python -m pytest -m long --ignore tests/browser

check: setup ## style, types, import law, house rules, documentation
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	PYTHONPATH=. $(BIN)/lint-imports
	$(BIN)/python -m tools.reference --check
	$(BIN)/python -m pytest tests/house tests/docs -m "not long and not slow"

docs: setup ## write docs/reference and the pages of numbers afresh from the code
	$(BIN)/python -m tools.reference
	$(BIN)/python -m tools.cold_page
	$(BIN)/python -m tools.shipped_page
	$(BIN)/python -m tools.sense_page
	$(BIN)/python -m tools.claims_page
	$(BIN)/python -m tools.made_heat_page
	$(BIN)/python -m tools.modes_page
	$(BIN)/python -m tools.needs_page
	$(BIN)/python -m tools.prices_page
	$(BIN)/python -m tools.sensors_page
	$(BIN)/python -m tools.thirty_days_page
	$(BIN)/python -m tools.foresight_page
	$(BIN)/python -m tools.story_pages
	$(BIN)/python -m tools.guide_pictures

bench: setup ## measure speed; benchmarks/README.md says how to read it
	$(BIN)/python benchmarks/run.py

lock: ## resolve the locks afresh (needs uv)
	tools/lock.sh

clean: ## remove what the verbs made; .venv stays
	rm -rf demo build dist benchmarks/out .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
	find src tests tools benchmarks -name __pycache__ -type d -prune -exec rm -rf {} +
