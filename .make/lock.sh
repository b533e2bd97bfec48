#!/usr/bin/env bash
# Pin everything that is installed, with checksums and for every platform, and with no registry's address.
#   lock.sh              keeps the versions already pinned
#   lock.sh --upgrade    takes the newest that pyproject.toml allows
set -euo pipefail
cd "$(dirname "$0")/.."
[ -x .venv/bin/python ] || { echo "make lock works in the environment that \`make setup-dev\` makes; run that first." >&2; exit 1; }

compile() {
    local lock=$1
    shift
    .venv/bin/python -m uv --quiet pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes \
        --custom-compile-command "make lock" --output-file "$lock" "$@" >/dev/null
}

compile requirements.lock "$@"
# What both hold must be the same version in both.
compile requirements-dev.lock --group dev --constraint requirements.lock "$@"
(cd static && npm install --package-lock-only --ignore-scripts --no-audit --no-fund --loglevel=error >/dev/null)
# Where to send money is no part of a pin, and would be an address in the lock.
.venv/bin/python - static/package-lock.json <<'PYTHON'
import json
import pathlib
import sys

lock = pathlib.Path(sys.argv[1])
pins = json.loads(lock.read_text(encoding="utf-8"))
for package in pins["packages"].values():
    package.pop("funding", None)
lock.write_text(json.dumps(pins, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
PYTHON
