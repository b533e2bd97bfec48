#!/usr/bin/env bash
# Bring this checkout up to its locks: Python, .venv, system libraries, fonts. Where nothing changed it does nothing.
#   setup.sh        what `make run` needs
#   setup.sh dev    what `make test` needs as well
#
# Every step can be interrupted: it leaves its mark (a copy of the lock it followed) only once it is done,
# and a .venv that was being written when it stopped is made afresh.
set -euo pipefail
cd "$(dirname "$0")/.."
. .make/common.sh

find_python() {
    local candidate
    for candidate in ${PYTHON:-python3 python3.14 python3.13 python3.12 python3.11}; do
        if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            python=$candidate
            return 0
        fi
    done
    return 1
}

need_python() {
    find_python || {
        [ -n "${PYTHON:-}" ] && die "PYTHON=$PYTHON is not a Python 3.11 or later."
        apt_install "Turnery needs Python 3.11 or later" python3 python3-venv
        find_python || die "Turnery needs Python 3.11 or later, and this system's packages have only $(python3 -V 2>&1)."
    }
    "$python" -c 'import ensurepip, venv' 2>/dev/null || {
        apt_install "Making .venv needs Python's venv module" python3-venv
        "$python" -c 'import ensurepip, venv' 2>/dev/null ||
            die "$("$python" -V) cannot make a virtual environment: please install its venv module, or choose another with PYTHON=."
    }
}

need_venv() {
    if [ -e .venv/.sound ] && .venv/bin/python -c 'import pip' 2>/dev/null; then return 0; fi
    need_python
    say "Making .venv with $("$python" -V)"
    "$python" -m venv --clear .venv
    touch .venv/.sound
}

# follow LOCK MARK COMMAND...: run the command if the mark is not a copy of the lock, then make it one.
follow() {
    local lock=$1 mark=$2
    shift 2
    cmp -s "$lock" "$mark" && return 0
    "$@"
    cp "$lock" "$mark.new"
    mv "$mark.new" "$mark"
}

install_packages() {
    say "Installing the Python packages of $1 (a minute or two the first time)"
    rm -f .venv/.sound
    .venv/bin/python -m pip install -qq --no-input --disable-pip-version-check --progress-bar off \
        --require-hashes -r "$1"
    touch .venv/.sound
}

install_static() {
    if ! command -v node >/dev/null || ! command -v npm >/dev/null; then
        apt_install "The typefaces and the 3D library come from npm" nodejs npm
    fi
    say "Fetching the typefaces and the 3D library"
    (cd static && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error >/dev/null)
}

need_pdf_libraries() {
    local try=(.venv/bin/python -c 'import weasyprint')
    "${try[@]}" >/dev/null 2>&1 && return 0
    apt_install "The PDFs need the Pango text library" libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core
    "${try[@]}" >/dev/null || die "The PDF library still does not load; its last line above names what is missing."
}

need_browser() {
    .venv/bin/python -m playwright --version >/dev/null 2>&1 || {
        apt_install "The browser tests' driver needs a system library" libatomic1
        .venv/bin/python -m playwright --version >/dev/null || die "The browser tests' driver still does not start; the reason stands above."
    }
    # The tests take the one without windows where it is there; the timings and the eye want the other.
    [ -x /usr/bin/chromium ] || apt_install "The browser tests need Chromium" chromium chromium-headless-shell
    command -v pdftoppm >/dev/null || apt_install "The tests of the PDFs need poppler" poppler-utils
}

only_one_at_a_time
need_venv
if [ "${1:-}" = dev ]; then # this lock holds the other one's packages too
    follow requirements-dev.lock .venv/.followed-dev install_packages requirements-dev.lock
    need_browser
else
    follow requirements.lock .venv/.followed install_packages requirements.lock
fi
need_pdf_libraries
follow static/package-lock.json static/node_modules/.followed install_static
