"""Which backups stay: by the last of each day, week and month; what goes is said first, and nothing else is touched."""

import datetime
import io
import os
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from projects.backup import folders, server
from projects.backup.keeping import Rule, going, rule_of

NOON = datetime.datetime(2026, 3, 2, 12, tzinfo=datetime.UTC)  # a Monday
DAY = datetime.timedelta(days=1)


def _kept(made: list[datetime.datetime], rule: Rule) -> list[datetime.datetime]:
    gone = set(going(made, rule))
    return [moment for moment in sorted(made) if moment not in gone]


def test_the_last_of_each_day_stays_and_days_without_one_do_not_count() -> None:
    made = [NOON, NOON + DAY / 4, NOON + DAY, NOON + 5 * DAY]
    assert _kept(made, Rule(daily=2)) == [NOON + DAY, NOON + 5 * DAY]
    assert _kept(made, Rule(daily=3)) == [NOON + DAY / 4, NOON + DAY, NOON + 5 * DAY]


def test_the_last_of_each_week_is_the_one_before_monday() -> None:
    made = [NOON + number * DAY for number in range(21)]
    sundays = [NOON + number * DAY for number in (6, 13, 20)]
    assert [moment.isoweekday() for moment in sundays] == [7, 7, 7]
    assert _kept(made, Rule(weekly=3)) == sundays


def test_two_years_of_nights_leave_the_last_of_each_month_of_the_year() -> None:
    """As it goes in use, one more a night and the rule at once: what went early is missed by no later night."""
    rule = Rule(daily=7, weekly=5, monthly=12)
    kept: list[datetime.datetime] = []
    for number in range(730):
        kept = _kept([*kept, NOON + number * DAY], rule)
    today = NOON + 729 * DAY
    assert today == datetime.datetime(2028, 2, 29, 12, tzinfo=datetime.UTC)
    days = [today - number * DAY for number in range(7)]
    sundays = [today - number * DAY for number in (2, 9, 16, 23)]
    assert {moment.isoweekday() for moment in sundays} == {7}
    days_one = [(2027 + month // 12, month % 12 + 1) for month in range(3, 14)]
    firsts = [datetime.datetime(year, month, 1, 12, tzinfo=datetime.UTC) for year, month in days_one]
    assert set(kept) == {*days, *sundays, *(first - DAY for first in firsts)}


moments = st.lists(st.integers(0, 60 * 24 * 1000), max_size=40, unique=True).map(
    lambda minutes: [NOON + datetime.timedelta(minutes=one) for one in minutes]
)
rules = st.builds(Rule, *(st.integers(0, 6) for _ in range(3)))


@given(moments, rules)
def test_the_newest_always_stays_and_never_more_than_the_rule_counts(
    made: list[datetime.datetime], rule: Rule
) -> None:
    kept = _kept(made, rule)
    assert kept[-1:] == sorted(made)[-1:]
    assert len(kept) <= max(1, rule.daily + rule.weekly + rule.monthly)
    assert going(kept, rule) == []
    assert len({moment.date() for moment in kept}) >= min(rule.daily, len({moment.date() for moment in made}))


@pytest.mark.parametrize(
    "text",
    ["", "daily", "daily=", "daily=-1", "daily=x", "hourly=3", "daily=1,daily=2", "daily=10001", "daily=٣"],
)
def test_what_is_no_rule_is_refused(text: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="--keep: "):
        call_command("backup", str(tmp_path), keep=text)
    assert not list(tmp_path.iterdir())


def test_a_rule_is_read_as_it_is_typed() -> None:
    assert rule_of("daily=7,weekly=5,monthly=12") == Rule(7, 5, 12)
    assert rule_of("monthly = 1") == Rule(monthly=1)


def _backup(folder: Path, moment: datetime.datetime) -> Path:
    place = folder / folders.name_of(moment)
    (place / "media").mkdir(parents=True)
    (place / "backup.json").write_text("{}")
    return place


def _said(*arguments: Any, **options: Any) -> list[str]:
    out = io.StringIO()
    call_command(*map(str, arguments), stdout=out, **options)
    return out.getvalue().splitlines()


@pytest.mark.django_db(transaction=True)
def test_old_ones_go_once_the_new_one_is_whole_as_the_dry_run_said(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    old = [_backup(tmp_path / "kept", NOON + number * DAY) for number in range(4)]
    others = [tmp_path / "kept" / name for name in ("notes.txt", "turnery-20260101T000000Z", "turnery-old")]
    others[0].write_text("mine")
    others[1].mkdir()  # without a backup.json it is none
    others[2].mkdir()
    (tmp_path / "kept" / "turnery-20260102T000000Z").symlink_to(old[3])
    would = _said("backup", tmp_path / "kept", keep="daily=2", dry_run=True)
    assert [line.removeprefix("Would go: ") for line in would[1:]] == [str(place) for place in old[:3]]
    assert all(place.exists() for place in old)
    done = _said("backup", tmp_path / "kept", keep="daily=2")
    assert [line.removeprefix("Gone: ") for line in done[1:]] == [str(place) for place in old[:3]]
    there = {backup.folder for backup in folders.backups_in(tmp_path / "kept")}
    assert len(there) == 2
    assert old[3] in there
    assert all(place.exists() for place in others)


@pytest.mark.django_db(transaction=True)
def test_none_goes_where_the_new_one_could_not_be_made(
    settings: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    old = [_backup(tmp_path / "kept", NOON + number * DAY) for number in range(3)]

    def full(*args: Any, **options: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(folders.shutil, "copyfileobj", full)
    (tmp_path / "media").mkdir()
    (tmp_path / "media" / "one.jpg").write_bytes(b"x")
    with pytest.raises(CommandError, match="No space left on device"):
        _said("backup", tmp_path / "kept", keep="daily=1")
    assert sorted((tmp_path / "kept").iterdir()) == old


def test_what_was_broken_off_is_cleared_away_after_a_day(tmp_path: Path) -> None:
    draft, going_away = (
        tmp_path / f".{folders.name_of(NOON)}.part",
        tmp_path / f".{folders.name_of(NOON)}.going",
    )
    other = tmp_path / ".mine.part"
    for place in (draft, going_away, other):
        place.mkdir()
        os.utime(place, (NOON.timestamp(), NOON.timestamp()))
    folders.clear_stale(tmp_path, now=NOON + DAY / 2)
    assert draft.exists()
    folders.clear_stale(tmp_path, now=NOON + 2 * DAY)
    assert list(tmp_path.iterdir()) == [other]


def test_without_a_backup_nothing_goes(tmp_path: Path) -> None:
    assert server.goes(tmp_path / "nowhere", Rule(daily=1)) == []
