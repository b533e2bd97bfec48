#!/usr/bin/env bash
# Everything that has to hold before a change is accepted: the quick checks, all of them, then the tests.
# The checks run side by side. Types take the better part of a minute in a new checkout: the tests do not wait for them.
# Arguments go to pytest: check.sh -k strips
set -euo pipefail
cd "$(dirname "$0")/.."
. .make/common.sh

# The tests start many processes: each would compile everything anew where the last may not keep what it compiled.
unset PYTHONDONTWRITEBYTECODE

python=.venv/bin/python
failed=0
said=$(mktemp -d)
names=()
declare -A pids commands
trap 'kill "${pids[@]}" 2>/dev/null || true; rm -rf "$said"' EXIT
trap 'exit 130' INT TERM

# begin NAME COMMAND...: a check beside what follows.
begin() {
    local name=$1
    shift
    "$@" >"$said/$name" 2>&1 &
    names+=("$name")
    pids[$name]=$!
    commands[$name]="$*"
}

# conclude NAME: waits for a check; its output is shown only where it fails.
conclude() {
    if wait "${pids[$1]}"; then
        say "ok      $1"
    else
        printf 'FAILED  %s: %s\n%s\n\n' "$1" "${commands[$1]}" "$(cat "$said/$1")"
        failed=$((failed + 1))
    fi
    unset "pids[$1]"
}

is_running() { kill -0 "${pids[$1]}" 2>/dev/null; }

begin "types" "$python" -m mypy
begin "style" "$python" -m ruff check --output-format concise .
begin "layout of the code" "$python" -m ruff format --check .
begin "who imports whom" .venv/bin/lint-imports --no-logo
begin "Django's own checks" "$python" manage.py check --fail-level WARNING
begin "migrations match the models" "$python" manage.py makemigrations --check --dry-run
for name in "${names[@]:1}"; do conclude "$name"; done
[ "$failed" = 0 ] || ! is_running "types" || wait "${pids[types]}" || true # what has to be mended is said at once
is_running "types" || conclude "types"
[ "$failed" = 0 ] || die "Mend the above first ($failed failed); the tests were not run."

say "        tests, examples in docstrings, pages in a browser"
outcome=0
"$python" -m pytest -n "${TEST_PROCESSES:-2}" --dist worksteal "$@" || outcome=$?
[ -z "${pids[types]:-}" ] || conclude "types"
[ "$failed" = 0 ] || outcome=1
exit "$outcome"
