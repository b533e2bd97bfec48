"""What a paper may read while it is printed: what it carries in itself, and files under static/."""

import io
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from urllib.request import url2pathname

from django.conf import settings
from fontTools.ttLib import TTFont
from weasyprint.urls import URLFetcher, URLFetcherResponse

STATIC: Path = settings.BASE_DIR / "static"


class Refused(ValueError):
    """A paper asked for something it may not read."""


class PaperFetcher(URLFetcher):
    """Reads data: addresses and files under one folder; never the network, never by redirect."""

    def __init__(self, folder: Path = STATIC) -> None:
        super().__init__(allowed_protocols=("data", "file"), allow_redirects=False)
        self._folder = folder.resolve()

    def fetch(self, url: str, headers: Any = None) -> Any:
        """What stands at the address. Errors: Refused for any other address."""
        parts = urlsplit(url)
        if parts.scheme == "data":
            return super().fetch(url, headers)
        if parts.scheme != "file" or parts.netloc:
            raise Refused(f"a paper may not read {url[:80]}")
        # Resolved first, so that neither .. nor a link leads out of the folder; and read by its resolved name.
        path = Path(url2pathname(parts.path)).resolve()
        if not path.is_relative_to(self._folder) or not path.is_file():
            raise Refused(f"a paper may not read {url[:80]}")
        if path.suffix == ".woff2":
            return URLFetcherResponse(path.as_uri(), _unpacked(path, path.stat().st_mtime_ns))
        return super().fetch(path.as_uri(), headers)


@lru_cache(maxsize=16)
def _unpacked(font: Path, _changed: int) -> bytes:
    """The font without its compression, which takes longer to undo than the page takes to lay out.

    Its own date is kept: stamped anew, it would make each print of a paper another file.
    """
    out = io.BytesIO()
    with TTFont(font, recalcTimestamp=False) as unpacked:
        unpacked.flavor = None
        unpacked.save(out)
    return out.getvalue()
