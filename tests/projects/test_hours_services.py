"""The hours log: nothing worked twice, nothing impossible, and what an entry was before is kept."""

import datetime
from decimal import Decimal
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from projects.models import Commission, HoursChange, HoursEntry, Member, Studio
from projects.services import hours
from tests.factories import BenchStepFactory, CommissionFactory, MemberFactory, RateFactory

pytestmark = pytest.mark.django_db

MINUTE = datetime.timedelta(minutes=1)
DAY = datetime.timedelta(days=1)
# A day in the past with no change of the clocks anywhere near.
MIDNIGHT = datetime.datetime(2026, 2, 10, tzinfo=datetime.UTC)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A bowl, in a studio that crosscuts and sands."""
    for operation in ("crosscut segments", "sand"):
        RateFactory(studio=studio, operation=operation)
    return CommissionFactory(studio=studio, title="Bowl")


def _at(clock: str, day: datetime.datetime = MIDNIGHT) -> datetime.datetime:
    hour, minute = clock.split(":")
    return day + datetime.timedelta(hours=int(hour), minutes=int(minute))


def _log(job: Commission, member: Member, begins: str, ends: str, **more: Any) -> HoursEntry:
    times = {"started_at": _at(begins), "ended_at": _at(ends)}
    return hours.hours_log(
        **{"commission": job, "member": member, "operation": "crosscut segments", **times, **more}
    )


def _minutes(job: Commission, member: Member, minutes: float, day: datetime.date) -> HoursEntry:
    return hours.hours_log(
        commission=job, member=member, operation="sand", minutes=Decimal(minutes), worked_on=day
    )


def _refused(doing: Any, place: str) -> str:
    with pytest.raises(ValidationError) as refusal:
        doing()
    assert list(refusal.value.message_dict) == [place]
    return " ".join(refusal.value.messages)


@pytest.mark.parametrize(
    ("begins", "ends"), [("9:30", "10:30"), ("8:30", "9:01"), ("8:00", "11:00"), ("9:00", "10:00")]
)
def test_what_overlaps_is_refused_and_names_the_other(
    job: Commission, bob: Any, begins: str, ends: str
) -> None:
    _log(job, bob.member, "9:00", "10:00")
    told = _refused(lambda: _log(job, bob.member, begins, ends, operation="sand"), "started_at")
    assert told == "This overlaps with “crosscut segments” for Bowl, 10 February 2026, 9:00 to 10:00."
    assert HoursEntry.objects.count() == 1


def test_what_only_touches_or_is_another_members_is_logged(job: Commission, bob: Any, alice: Any) -> None:
    _log(job, bob.member, "9:00", "10:00")
    _log(job, bob.member, "10:00", "10:30")
    _log(job, bob.member, "8:00", "9:00")
    _log(job, alice.member, "9:00", "10:00")
    assert [row.minutes for row in HoursEntry.objects.order_by("pk")] == [60, 30, 60, 60]


def test_an_entry_typed_in_the_minute_in_which_a_clock_stopped_begins_where_that_did(
    job: Commission, bob: Any
) -> None:
    ended = _at("9:45") + datetime.timedelta(seconds=12)
    _log(job, bob.member, "9:00", "9:45", ended_at=ended)
    later = _log(job, bob.member, "9:45", "10:45")
    assert (later.started_at, later.minutes) == (ended, Decimal("59.8"))


def test_what_overlaps_with_a_clock_that_runs_is_refused(job: Commission, bob: Any) -> None:
    now = timezone.now()
    running = hours.hours_start(
        commission=job, member=bob.member, operation="sand", started_at=now - 60 * MINUTE
    )
    times = {"started_at": now - 30 * MINUTE, "ended_at": now - 10 * MINUTE}
    told = _refused(lambda: _log(job, bob.member, "0:00", "0:00", **times), "started_at")
    assert "“sand” for Bowl" in told
    assert "running since" in told
    assert hours.hours_stop(entry=running).minutes == pytest.approx(60, abs=1)


def test_what_overlaps_with_a_step_that_runs_at_the_bench_is_refused(job: Commission, bob: Any) -> None:
    now = timezone.now()
    began = {"state": "running", "started_at": now - 60 * MINUTE, "started_by": bob.member}
    BenchStepFactory(commission=job, name="Rip strips", **began)
    told = _refused(
        lambda: hours.hours_start(commission=job, member=bob.member, operation="sand"), "started_at"
    )
    assert "“Rip strips” for Bowl" in told
    hours.hours_log(commission=job, member=bob.member, operation="sand", minutes=20)


@pytest.mark.parametrize(
    ("values", "place", "told"),
    [
        ({"started_at": _at("9:00"), "ended_at": _at("8:59")}, "ended_at", "must not end before it starts"),
        ({"started_at": _at("0:00"), "ended_at": _at("16:01")}, "ended_at", "At most 16 hours at one go"),
        ({"minutes": 961}, "minutes", "At most 16 hours at one go"),
        ({"started_at": _at("9:00"), "ended_at": _at("10:00"), "minutes": 50}, "minutes", "is 1 h 0 min"),
        ({"minutes": 5, "worked_on": timezone.localdate() + 2 * DAY}, "worked_on", "lies in the future"),
        ({"started_at": timezone.now() + 2 * DAY}, "started_at", "lies in the future"),
        (
            {"started_at": timezone.now() - MINUTE, "ended_at": timezone.now() + 2 * DAY / 24},
            "ended_at",
            "lies in the future",
        ),
    ],
)
def test_what_cannot_have_been_worked_is_refused(
    job: Commission, bob: Any, values: dict[str, Any], place: str, told: str
) -> None:
    entry = {"commission": job, "member": bob.member, "operation": "sand"}
    assert told in _refused(lambda: hours.hours_log(**entry | values), place)
    assert not HoursEntry.objects.exists()


def test_sixteen_hours_at_one_go_are_the_most_that_is_logged(job: Commission, bob: Any) -> None:
    assert _log(job, bob.member, "0:00", "16:00").minutes == 960


def test_a_day_has_no_more_than_24_hours_together_and_the_longest_other_is_named(
    job: Commission, bob: Any
) -> None:
    day = MIDNIGHT.date()
    _log(job, bob.member, "2:00", "16:00")
    _minutes(job, bob.member, 590, day)
    told = _refused(lambda: _minutes(job, bob.member, 12, day), "minutes")
    assert "10 February 2026 would have 24 h 2 min of work, with “crosscut segments” for Bowl" in told
    _minutes(job, bob.member, 10, day)
    _minutes(job, bob.member, 12, day + DAY)


def test_work_past_midnight_counts_on_either_day(job: Commission, bob: Any) -> None:
    """Ten hours of a night, six of them after midnight, leave eighteen of that day."""
    _log(job, bob.member, "20:00", "30:00")
    tomorrow = MIDNIGHT.date() + DAY
    _minutes(job, bob.member, 900, tomorrow)
    _minutes(job, bob.member, 180, tomorrow)
    _refused(lambda: _minutes(job, bob.member, 5, tomorrow), "minutes")
    _minutes(job, bob.member, 900, MIDNIGHT.date())


def test_a_day_on_which_the_clocks_go_forward_has_23_hours(job: Commission, bob: Any) -> None:
    bench = job.studio.bench
    bench.time_zone = "Europe/Berlin"
    bench.save()
    spring = datetime.date(2026, 3, 29)
    midnight = datetime.datetime(2026, 3, 29, tzinfo=ZoneInfo("Europe/Berlin"))
    assert (midnight + DAY).astimezone(datetime.UTC) - midnight.astimezone(datetime.UTC) == DAY * 23 / 24
    _minutes(job, bob.member, 900, spring)
    _minutes(job, bob.member, 480, spring)
    _refused(lambda: _minutes(job, bob.member, 5, spring), "minutes")


def test_a_clock_that_was_forgotten_is_stopped_by_saying_when_it_ended(job: Commission, bob: Any) -> None:
    began = timezone.now() - DAY
    running = hours.hours_start(commission=job, member=bob.member, operation="sand", started_at=began)
    _refused(lambda: hours.hours_stop(entry=running), "ended_at")
    assert HoursEntry.objects.get().is_running
    mended = hours.hours_update(entry=running, started_at=began, ended_at=began + 90 * MINUTE)
    assert mended.minutes == 90


def test_what_an_entry_was_is_kept_when_it_is_changed_and_when_it_is_taken_out(
    job: Commission, bob: Any, alice: Any
) -> None:
    entry = _log(job, bob.member, "9:00", "10:00", quantity=Decimal(12))
    hours.hours_update(entry=entry, by=alice.member, quantity=Decimal(12), note="")
    assert not HoursChange.objects.exists(), "nothing was changed"
    hours.hours_update(entry=entry, by=alice.member, quantity=Decimal(24), ended_at=_at("10:30"))
    hours.hours_delete(entry=entry, by=bob.member)
    gone, mended = HoursChange.objects.all()
    assert (mended.what, mended.by, mended.member) == ("changed", alice.member, bob.member)
    assert (mended.before["quantity"], mended.before["minutes"]) == ("12", "60")
    assert (gone.what, gone.by, gone.entry_number) == ("taken_out", bob.member, entry.pk)
    assert (gone.before["quantity"], gone.before["minutes"], gone.before["title"]) == ("24", "90", "Bowl")
    assert not HoursEntry.objects.exists()
    for late in (hours.hours_update, hours.hours_delete):
        with pytest.raises(ValidationError, match="has been taken out"):
            late(entry=entry, by=bob.member)


def test_history_is_only_added_to(job: Commission, bob: Any) -> None:
    hours.hours_delete(entry=_log(job, bob.member, "9:00", "10:00"), by=bob.member)
    change = HoursChange.objects.get()
    for doing in (change.save, change.delete, HoursChange.objects.all().delete):
        with pytest.raises(ValidationError, match="only added to"):
            doing()
    assert HoursChange.objects.count() == 1


def test_an_entry_moved_onto_another_is_refused_and_stays(job: Commission, bob: Any) -> None:
    _log(job, bob.member, "9:00", "10:00")
    entry = _log(job, bob.member, "11:00", "12:00")
    moved = {"started_at": _at("9:30"), "ended_at": _at("10:30")}
    _refused(lambda: hours.hours_update(entry=entry, **moved), "started_at")
    entry.refresh_from_db()
    assert entry.started_at == _at("11:00")
    assert not HoursChange.objects.exists()


# ---- any accepted set has no overlap

_WHEN = st.integers(0, 40).map(lambda step: step * 15)
_LENGTH = st.integers(1, 12).map(lambda step: step * 10)
_DOINGS = st.lists(st.tuples(st.sampled_from(["log", "move", "many"]), _WHEN, _LENGTH), max_size=12)


@hypothesis_settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(doings=_DOINGS)
def test_any_accepted_timed_entries_have_no_overlap_and_only_what_overlaps_is_refused(
    job: Commission, bob: Any, doings: list[tuple[str, int, int]]
) -> None:
    """Against a second reckoning that marks every minute as taken or free."""
    HoursEntry.objects.all().delete()
    taken: dict[int, set[int]] = {}
    for what, start, length in doings:
        times = {"started_at": MIDNIGHT + start * MINUTE, "ended_at": MIDNIGHT + (start + length) * MINUTE}
        mine = set(range(start, start + length))
        entry = HoursEntry.objects.order_by("pk").last() if what == "move" else None
        others = set().union(*(spent for pk, spent in taken.items() if entry is None or pk != entry.pk))
        new = {
            "commission": job,
            "member": bob.member,
            "operation": "sand",
            "worked_on": MIDNIGHT.date(),
            **times,
        }
        try:
            if entry is not None:
                done = hours.hours_update(entry=entry, **times)
            elif what == "many":
                brought = hours.hours_bring_in(studio=job.studio, rows=[new], save=True)
                if brought.refused:
                    raise brought.refused[0]
                (done,) = brought.entries
            else:
                done = hours.hours_log(**new)
        except ValidationError:
            assert mine & others
        else:
            assert not mine & others
            taken[done.pk] = mine
    rows = list(HoursEntry.objects.order_by("started_at"))
    assert {row.pk for row in rows} == taken.keys()
    for one, two in pairwise(rows):
        assert one.ended_at <= two.started_at


def test_many_are_brought_in_together_or_not_at_all(job: Commission, bob: Any, charlie: Any) -> None:
    row = {"commission": job, "member": bob.member, "operation": "sand", "worked_on": MIDNIGHT.date()}
    rows = [
        {**row, "started_at": _at("9:00"), "ended_at": _at("10:00")},
        {**row, "started_at": _at("9:59"), "ended_at": _at("11:00")},
        {**row, "minutes": Decimal(30), "operation": "whittling"},
        {**row, "minutes": Decimal(30), "member": MemberFactory(studio=charlie.member.studio)},
    ]
    found = hours.hours_bring_in(studio=job.studio, rows=rows, save=True)
    assert list(found.refused) == [1, 2, 3]
    assert "overlaps with “sand” for Bowl" in " ".join(found.refused[1].messages)
    assert not HoursEntry.objects.exists()
    assert not hours.hours_bring_in(studio=job.studio, rows=rows[:1], save=False).refused
    assert not HoursEntry.objects.exists()
    hours.hours_bring_in(studio=job.studio, rows=rows[:1], save=True)
    assert HoursEntry.objects.get().minutes == 60
