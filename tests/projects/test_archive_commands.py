"""`manage.py archive` and `restore_archive`; and a studio that moves between SQLite and PostgreSQL and back."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import connection

from projects.models import Studio
from tests.factories import MemberFactory, StudioFactory
from tests.projects.archived import kept, members_of, told
from tests.projects.test_command_estimate import ROOT

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _folder(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"


def _called(*arguments: Any, **options: Any) -> list[str]:
    out = io.StringIO()
    call_command(*map(str, arguments), stdout=out, **options)
    return out.getvalue().splitlines()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The full studio's archive."""
    file = tmp_path / "studio.zip"
    file.write_bytes(kept().content)
    return file


def test_a_studio_goes_out_by_its_name_and_comes_in_with_its_log_ins_told(tmp_path: Path) -> None:
    member = MemberFactory(studio=StudioFactory(name="Salt Marsh Bowls"), user__username="grace")
    file = tmp_path / "bowls.zip"
    (said,) = _called("archive", "Salt Marsh Bowls", file)
    assert said.startswith(f"Salt Marsh Bowls is in {file}: ")
    assert file.stat().st_mode & 0o777 == 0o600
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["bowls.zip"]
    lines = _called("restore_archive", file, rename_log_ins=True)
    assert lines[0].startswith("Salt Marsh Bowls was put in: ")
    assert lines[1] == f"Log-in {member.user.username}-2 (was grace)"
    assert lines[2] == "They have no passwords: set each with `manage.py changepassword NAME`."
    assert Studio.objects.filter(name="Salt Marsh Bowls").count() == 2


def test_a_dry_run_says_what_it_would_do(file: Path) -> None:
    lines = _called("restore_archive", file, dry_run=True)
    assert lines[0].startswith("Fern Gully Turning can be put in: ")
    assert lines[-1] == "Nothing was changed."
    assert not Studio.objects.exists()


def test_what_is_refused_is_said_and_that_nothing_was_changed(file: Path, tmp_path: Path) -> None:
    MemberFactory(user__username="ada")
    with pytest.raises(CommandError, match=r"there is a log-in ada here already\. Nothing was changed\."):
        _called("restore_archive", file)
    assert User.objects.count() == 1
    with pytest.raises(CommandError, match="No such file"):
        _called("restore_archive", tmp_path / "nothing.zip")
    with pytest.raises(CommandError, match=r"There is no studio Oak\."):
        _called("archive", "Oak", tmp_path / "oak.zip")


def test_a_file_that_is_there_is_not_written_over(file: Path) -> None:
    studio = StudioFactory()
    with pytest.raises(CommandError, match="is there already"):
        _called("archive", studio.pk, file)
    assert file.read_bytes() == kept().content
    with pytest.raises(CommandError, match="No such file or directory"):
        _called("archive", studio.pk, file.parent / "no folder" / "x.zip")


def test_two_of_one_name_are_told_apart_by_their_numbers(tmp_path: Path) -> None:
    one, two = StudioFactory(name="Twin"), StudioFactory(name="Twin")
    with pytest.raises(CommandError, match=f"Give the number of one: {one.pk}, {two.pk}"):
        _called("archive", "Twin", tmp_path / "x.zip")
    assert _called("archive", str(two.pk), tmp_path / "x.zip")


def test_a_studio_moves_to_sqlite_and_back_with_every_row_as_it_was(file: Path, tmp_path: Path) -> None:
    """From the database of this run, PostgreSQL in `make test-postgres`, through a SQLite file of its own and back."""
    moved = tmp_path / "moved.zip"
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{tmp_path}/other.sqlite3",
        "TURNERY_VAR": str(tmp_path / "var"),
        "TURNERY_MEDIA": str(tmp_path / "other media"),
    }
    if connection.vendor == "sqlite":
        pytest.skip("SQLite to SQLite is held by the other tests; run make test-postgres for this one")
    for command in (
        ("migrate",),
        ("restore_archive", str(file)),
        ("archive", "Fern Gully Turning", str(moved)),
    ):
        run = [sys.executable, str(ROOT / "manage.py"), *command]
        done = subprocess.run(run, env=environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    before, after = members_of(kept().file), members_of(io.BytesIO(moved.read_bytes()))
    assert set(before) == set(after)
    for name in before:
        if name.endswith(".jsonl") and name != "rows/clientlink.jsonl":
            rows = [[json.loads(line) for line in members[name].splitlines()] for members in (before, after)]
            assert rows[0] == rows[1], name
        elif name.startswith("files/"):
            assert before[name] == after[name], name
    _called("restore_archive", moved)
    assert told(Studio.objects.get()) == kept().told
