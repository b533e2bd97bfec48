#!/usr/bin/env bash
# Everything that has to hold before a change is accepted. The first check that fails ends the run; its output comes last.
set -euo pipefail
cd "$(dirname "$0")/.."

python=.venv/bin/python
step() {
    printf '\n== %s\n' "$1"
    shift
    "$@"
}

step "style (ruff)" "$python" -m ruff check .
step "layout (ruff format)" "$python" -m ruff format --check .
step "types (mypy)" "$python" -m mypy
step "who imports whom (import-linter)" .venv/bin/lint-imports --no-logo
step "Django's own checks" "$python" manage.py check --fail-level WARNING
step "migrations match the models" "$python" manage.py makemigrations --check --dry-run
step "tests, examples in docstrings and the browser (pytest)" "$python" -m pytest -n "${TEST_PROCESSES:-2}" "$@"
