#!/usr/bin/env bash
# Everything that has to hold before a change is accepted: the quick checks, all of them, then the tests.
# Arguments go to pytest: check.sh -k strips
set -euo pipefail
cd "$(dirname "$0")/.."
. .make/common.sh

# The tests start many processes: each would compile everything anew where the last may not keep what it compiled.
unset PYTHONDONTWRITEBYTECODE

python=.venv/bin/python
failed=()

# check NAME COMMAND...: its output is shown only where it fails.
check() {
    local name=$1 output
    shift
    if output=$("$@" 2>&1); then
        say "ok      $name"
    else
        printf 'FAILED  %s: %s\n%s\n\n' "$name" "$*" "$output"
        failed+=("$name")
    fi
}

check "style" "$python" -m ruff check --output-format concise .
check "layout of the code" "$python" -m ruff format --check .
check "types" "$python" -m mypy
check "who imports whom" .venv/bin/lint-imports --no-logo
check "Django's own checks" "$python" manage.py check --fail-level WARNING
check "migrations match the models" "$python" manage.py makemigrations --check --dry-run
[ ${#failed[@]} = 0 ] || die "Mend the above first (${#failed[@]} failed); the tests were not run."

say "        tests, examples in docstrings, pages in a browser"
exec "$python" -m pytest -n "${TEST_PROCESSES:-2}" --dist worksteal "$@"
