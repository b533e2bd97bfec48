"""How `make run` serves the site: on this machine only, and saying where once it answers."""

import os
from typing import Any

bind = f"127.0.0.1:{os.environ.get('PORT', '8000')}"
workers = 2
# A browser opens connections ahead of use, and an idle one would hold a whole single-threaded worker.
threads = 4
preload_app = True
loglevel = "warning"


def when_ready(server: Any) -> None:
    """Say where the site is, only now that it can be reached."""
    print(f"Turnery is at http://{bind}/ (Ctrl-C stops it)", flush=True)
