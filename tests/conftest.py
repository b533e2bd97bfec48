"""The people of every test: alice owns a studio, bob works in it, charlie owns another."""

import gc
import hashlib
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.test import Client as Browser
from django.test import override_settings
from hypothesis import settings as hypothesis_settings
from whitenoise.middleware import WhiteNoiseMiddleware

from projects.models import IssuedPaper, Quote, Studio
from projects.services import papers, quotes
from tests.factories import MemberFactory, StudioFactory, UserFactory
from tests.kept_database import WHOLE, kept_database, put_back, put_into_memory

Migrate = Callable[[str], Any]

# A run on a busy machine must not fail for being slow, nor find a failure that the next run does not.
hypothesis_settings.register_profile("suite", deadline=None, derandomize=True)
hypothesis_settings.load_profile("suite")


def pytest_collection_finish() -> None:
    """What has been loaded stays to the end of the run: looking it all through for garbage took a tenth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


@pytest.fixture(scope="session", autouse=True)
def _cheap_passwords() -> Iterator[None]:
    # The real hasher is slow on purpose, which would be most of the time of a test that logs in.
    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        yield


@pytest.fixture(scope="session")
def django_db_setup(request: pytest.FixtureRequest, django_db_blocker: Any) -> None:
    """The migrated test database."""
    put_into_memory()
    migrates = not request.config.getoption("nomigrations")
    with django_db_blocker.unblock(), kept_database(migrates=migrates):
        request.getfixturevalue("django_db_setup")


@pytest.fixture(scope="session", autouse=True)
def _static_files_found_once() -> Iterator[None]:
    """A server looks for its static files as it starts, and so does each client of a test: a quarter second each."""
    look = WhiteNoiseMiddleware.add_files_from_finders
    found: dict[str, Any] = {}

    def look_once(server: WhiteNoiseMiddleware) -> None:
        if not found:
            look(server)
            found.update(server.files)
        server.files.update(found)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(WhiteNoiseMiddleware, "add_files_from_finders", look_once)
        yield


@pytest.fixture
def migrate(transactional_db: None) -> Iterator[Migrate]:
    """Migrates the records to a state and gives the models of it; at the end all is as the code has it.

    It begins at the first state that is asked for, with no record: to go back there takes half a minute, which
    `test_migrations_back.py` does once for all.
    """
    begun = False

    def to(name: str) -> Any:
        nonlocal begun
        executor = MigrationExecutor(connection)
        if begun or not put_back(name):
            executor.migrate([("projects", name)])
        begun = True
        return executor.loader.project_state([("projects", name)]).apps

    yield to
    if not put_back(WHOLE):
        executor = MigrationExecutor(connection)
        executor.migrate(executor.loader.graph.leaf_nodes())


@pytest.fixture
def cheap_paper(monkeypatch: Any) -> None:
    """Quotes print a line in place of a laid-out page, which takes a second, where no one looks at the paper."""

    def print_line(quote: Quote) -> None:
        for copy in ("trade", "client"):
            line = f"%PDF- {copy} copy of {quote.reference}, {quote.title}".encode()
            setattr(quote, f"{copy}_pdf", line)
            setattr(quote, f"{copy}_sha256", hashlib.sha256(line).hexdigest())

    monkeypatch.setattr(quotes, "_print", print_line)


@pytest.fixture
def line_paper(monkeypatch: Any) -> None:
    """Likewise for the papers beside a quote."""

    def print_line(paper: IssuedPaper) -> None:
        paper.pdf = f"%PDF- {paper.number}".encode()
        paper.sha256 = hashlib.sha256(paper.pdf).hexdigest()

    monkeypatch.setattr(papers, "_print", print_line)


@pytest.fixture
def studio(db: None) -> Studio:
    """Alice's and Bob's studio."""
    return StudioFactory(name="Fern Gully Turning")


@pytest.fixture
def other_studio(db: None) -> Studio:
    """Charlie's studio."""
    return StudioFactory(name="Salt Marsh Bowls")


@pytest.fixture
def alice(studio: Studio) -> User:
    """Owner of the studio."""
    return MemberFactory(studio=studio, role="owner", user=UserFactory(username="alice")).user


@pytest.fixture
def bob(studio: Studio) -> User:
    """Works in Alice's studio."""
    return MemberFactory(studio=studio, user=UserFactory(username="bob")).user


@pytest.fixture
def charlie(other_studio: Studio) -> User:
    """Owner of the other studio: an outsider to the first."""
    return MemberFactory(studio=other_studio, role="owner", user=UserFactory(username="charlie")).user


def _logged_in(user: User) -> Browser:
    browser = Browser()
    browser.force_login(user)
    return browser


@pytest.fixture
def as_alice(alice: User) -> Browser:
    """A browser in which Alice is logged in."""
    return _logged_in(alice)


@pytest.fixture
def as_bob(bob: User) -> Browser:
    """A browser in which Bob is logged in."""
    return _logged_in(bob)


@pytest.fixture
def as_charlie(charlie: User) -> Browser:
    """A browser in which Charlie is logged in."""
    return _logged_in(charlie)
