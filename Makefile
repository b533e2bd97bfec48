# Two commands carry everything: `make run` serves Turnery on this machine, `make test` checks it.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
MAKEFLAGS += --no-print-directory

PORT ?= 8000
PYTHON_FILES ?= .
export PORT

help: ## list these targets
	@sed -nE 's/^([a-z-]+):.*## (.*)$$/  make \1|\2/p' Makefile | column -t -s '|'

setup: ## install what `make run` needs
	@.make/setup.sh

setup-dev: ## install what `make test` needs as well
	@.make/setup.sh dev

run: setup ## serve on 127.0.0.1:8000 with the demo studio (PORT=8001 for another port)
	@.make/serve.sh

test: setup-dev ## everything that must hold: style, types, imports, migrations, tests, browser
	@.make/check.sh $(ARGS)

test-postgres: setup-dev ## the tests on a throw-away PostgreSQL
	@.make/postgres.sh $(ARGS)

bench: setup-dev ## the timings
	@for bench in tests/bench/bench_*.py; do PYTHONPATH=. .venv/bin/python "$$bench"; done

format: setup-dev ## lay the code out and mend what can be mended mechanically
	@.venv/bin/python -m ruff check --fix-only --quiet $(PYTHON_FILES)
	@.venv/bin/python -m ruff format $(PYTHON_FILES)

lock: ## write the locks after a change of pyproject.toml or static/package.json (ARGS=--upgrade for the newest)
	@.make/lock.sh $(ARGS)

.PHONY: help setup setup-dev run test test-postgres bench format lock
