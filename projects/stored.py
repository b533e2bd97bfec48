"""Photos as they are put on the disk: written beside their place, and there by their name only once they are whole."""

import os
import secrets
from contextlib import suppress
from pathlib import PurePosixPath
from typing import Any

from django.core.files.storage import FileSystemStorage


class WholeFiles(FileSystemStorage):
    """The usual storage, but that a full disk leaves nothing, and a backup meets no file half written."""

    def _save(self, name: str, content: Any) -> str:
        draft = str(PurePosixPath(name).with_name(f".{secrets.token_hex(16)}.part"))
        try:
            super()._save(draft, content)  # type: ignore[misc]  # Django's, which its stubs leave out
            self._to_the_disk(draft)
            return self._named(draft, name)
        finally:
            with suppress(OSError):
                self.delete(draft)

    def _to_the_disk(self, name: str) -> None:
        handle = os.open(self.path(name), os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def _named(self, draft: str, name: str) -> str:
        """Give it its name, or the next that is free: a link refuses one that is taken; not every disk knows links."""
        while True:
            try:
                os.link(self.path(draft), self.path(name))
                return name
            except FileExistsError:
                name = self.get_available_name(name)
            except OSError:
                os.rename(self.path(draft), self.path(name))
                return name
