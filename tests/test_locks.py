"""The locks pin what is installed and name no address to fetch it from."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock", "static/package-lock.json"])
def test_a_lock_holds_no_address(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    assert "://" not in text
    assert "sha256:" in text or "sha512-" in text
