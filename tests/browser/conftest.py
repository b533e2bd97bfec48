"""A browser that is logged in to a studio, and ears for what goes wrong behind the page."""

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import BrowserContext, ConsoleMessage, Page

from projects.models import Commission, Design, Studio
from projects.pages.starting import Size, start_design
from projects.services.commissions import commission_create
from projects.services.studios import client_create, studio_create

# Playwright runs its loop in this thread, which Django takes for an async caller.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
# The one without windows takes a third of the time of the other, which draws frames and menus that nobody sees.
WINDOWLESS = Path("/usr/lib/chromium/chromium-headless-shell")
CHROMIUM = str(WINDOWLESS) if WINDOWLESS.exists() else "/usr/bin/chromium"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test of this folder needs the browser."""
    for item in items:
        if "tests/browser/" in item.path.as_posix():
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Debian's Chromium, as root and without a graphics card."""
    return {
        **browser_type_launch_args,
        "executable_path": CHROMIUM,
        "args": ["--no-sandbox", "--disable-gpu"],
    }


@dataclass
class Heard:
    """What the page complained of, and what it asked other hosts for."""

    errors: list[str] = field(default_factory=list)
    elsewhere: list[str] = field(default_factory=list)


def _is_complaint(said: ConsoleMessage) -> bool:
    # htmx writes down each question that a newer one has replaced, which is as it should be.
    replaced = said.text.startswith(("htmx:afterRequest", "htmx:sendAbort"))
    return said.type == "error" and not replaced


@pytest.fixture
def heard(page: Page, live_server: Any) -> Iterator[Heard]:
    """Listens to the page; at the end nothing may have gone wrong unnoticed."""
    found = Heard()
    page.on("pageerror", lambda error: found.errors.append(str(error)))
    page.on("console", lambda said: found.errors.append(said.text) if _is_complaint(said) else None)
    page.on(
        "request",
        lambda asked: (
            None
            if asked.url.startswith((live_server.url, "data:", "blob:"))
            else found.elsewhere.append(asked.url)
        ),
    )
    yield found
    assert found.errors == []
    assert found.elsewhere == []


@pytest.fixture
def workshop(transactional_db: None) -> Studio:
    """A studio as it is set up, with its owner `alice`."""
    owner = User.objects.create_user("alice", password="plane-and-gouge")
    return studio_create(name="Fern Gully Turning", owner=owner)


@pytest.fixture
def job(workshop: Studio) -> Commission:
    """A gallery's commission with a bowl drawn for it."""
    gallery = client_create(studio=workshop, kind="gallery", name="Harbour Row")
    design: Design = start_design(
        studio=workshop, title="Bowl", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )
    return commission_create(studio=workshop, client=gallery, title="Harbour bowl", design=design)


@pytest.fixture
def as_alice(context: BrowserContext, live_server: Any, workshop: Studio) -> BrowserContext:
    """Alice's browser."""
    client = Client()
    client.force_login(User.objects.get(username="alice"))
    context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    context.set_default_timeout(10_000)
    return context
