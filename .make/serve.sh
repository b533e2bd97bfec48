#!/usr/bin/env bash
# Bring the database up to date, load the demo once, and serve on 127.0.0.1:$PORT until interrupted.
# Nothing here writes over what the studio has entered: the demo and its quote are made only where they are missing.
set -euo pipefail
cd "$(dirname "$0")/.."
. .make/common.sh

export PORT=${PORT:-8000}
python=.venv/bin/python
var=${TURNERY_VAR:-var}
mkdir -p "$var/static" # whitenoise warns where its folder is missing, even if it is not used
# One mark a database: it holds what load_demo said, the log-in among it.
demo_mark="$var/demo-log-in-$(printf %s "${DATABASE_URL:-embedded}" | cksum | cut -d ' ' -f 1).txt"

need_port() {
    if ! [[ $PORT =~ ^[1-9][0-9]{0,4}$ ]] || ((PORT > 65535)); then
        die "PORT=$PORT is no port: choose a number from 1 to 65535."
    fi
    "$python" - "$PORT" <<'PYTHON' || die "Port $PORT of this machine cannot be had (another program may be using it): choose another, as in 'make run PORT=8001'."
import socket
import sys

with socket.socket() as door:
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind(("127.0.0.1", int(sys.argv[1])))
    except OSError:
        sys.exit(1)
PYTHON
}

load_demo_once() {
    [ -e "$demo_mark" ] && return 0
    "$python" manage.py load_demo >"$demo_mark.new"
    mv "$demo_mark.new" "$demo_mark"
}

write_demo_quote_once() {
    [ "$var/demo-quote.pdf" -nt "$demo_mark" ] && return 0 # an older one is of a demo that was taken away
    "$python" manage.py write_quote "$var/demo-quote.pdf" ||
        say "The demo quote could not be written; the reason stands above. Everything else goes on." >&2
}

need_port
# A database that was taken away takes its demo's mark with it.
[ -n "${DATABASE_URL:-}" ] || [ -e "$var/turnery.sqlite3" ] || rm -f "$demo_mark"
"$python" manage.py migrate --no-input --verbosity 0
load_demo_once
write_demo_quote_once
cat "$demo_mark"
exec "$python" -m gunicorn --config .make/gunicorn.conf.py turnery.wsgi
