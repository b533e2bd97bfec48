"""The sheet's bench and the answer's schedule, as the contract has them; and that they cost nothing where not asked."""

import subprocess
import sys
from datetime import UTC, date, datetime, time
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import estimate
from estimating.report import as_text
from estimating.sheet import read_sheet
from tests.estimating.sheets import Json, answer, bowl, changed, errors_of, modest, places_of, without

DAY = [["08:00", "12:00"], ["13:00", "17:00"]]
BENCH: Json = {
    "start": "2027-03-01T08:00",
    "hours": {day: [list(stretch) for stretch in DAY] for day in ("mon", "tue", "wed", "thu", "fri")},
    "days_off": ["2027-03-05"],
    "mandrels": 1,
    "jigs": 1,
    "presses": 1,
    "people": 1,
}
ADHESIVE = {"set_min": 30, "press_min": 0, "cure_min": 720}


def sheet(**changes: Any) -> Json:
    return bowl(bench={**BENCH, **changes}, adhesive=ADHESIVE)


@cache
def found() -> Json:
    return answer(sheet())


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


# --- in -----------------------------------------------------------------------------------------------------------


def test_a_bench_is_read_as_it_is_written() -> None:
    bench = read_sheet(sheet(session_min=90)).bench
    assert bench is not None
    assert bench.start.isoformat() == "2027-03-01T08:00:00"
    assert bench.hours[0] == ((time(8), time(12)), (time(13), time(17)))
    assert bench.hours[5] == bench.hours[6] == ()
    assert bench.days_off == {date(2027, 3, 5)}
    assert (bench.mandrels, bench.jigs, bench.presses, bench.people, bench.session_min) == (1, 1, 1, 1, 90)


def test_what_a_bench_does_not_say_is_one_of_each_and_the_shops_ring_clamps() -> None:
    plain = bowl(bench={"start": "2027-03-01T08:00Z", "hours": {"sat": [["00:00", "24:00"]]}})
    bench = read_sheet(changed(plain, ["shop", "ring_clamps"], 3)).bench
    assert bench is not None
    assert bench.start == datetime(2027, 3, 1, 8, tzinfo=UTC)
    assert (bench.people, bench.mandrels, bench.jigs, bench.presses, bench.ring_clamps) == (1, 1, 1, 1, 3)
    assert bench.days_off == frozenset()


@pytest.mark.parametrize(
    ("path", "value", "place"),
    [
        ([], [], "bench"),
        (["start"], "tomorrow", "bench.start"),
        (["start"], "2027-03-01", "bench.start"),
        (["start"], "2027-02-30T08:00", "bench.start"),
        (["start"], "9999-12-31T08:00", "bench.start"),
        (["start"], 7, "bench.start"),
        (["hours"], {}, "bench.hours"),
        (["hours"], "always", "bench.hours"),
        (["hours", "mon"], {}, "bench.hours.mon"),
        (["hours", "moon"], [], "bench.hours.moon"),
        (["hours", "mon", 1], ["13:00"], "bench.hours.mon[1]"),
        (["hours", "mon", 1, 0], "25:00", "bench.hours.mon[1][0]"),
        (["hours", "mon", 1, 0], "٠٨:٠٠", "bench.hours.mon[1][0]"),
        (["hours", "mon", 1, 0], 13, "bench.hours.mon[1][0]"),
        (["hours", "mon", 1], ["17:00", "13:00"], "bench.hours.mon[1]"),
        (["hours", "mon", 1], ["11:00", "13:00"], "bench.hours.mon[1]"),
        (["days_off"], "2027-03-05", "bench.days_off"),
        (["days_off", 0], "5 March", "bench.days_off[0]"),
        (["people"], 0, "bench.people"),
        (["mandrels"], -1, "bench.mandrels"),
        (["jigs"], 1.5, "bench.jigs"),
        (["presses"], "one", "bench.presses"),
        (["session_min"], 5, "bench.session_min"),
        (["lathes"], 1, "bench.lathes"),
    ],
)
def test_bad_input_is_named_by_its_place(path: list[str | int], value: Any, place: str) -> None:
    assert places_of(changed(sheet(), ["bench", *path], value)) == [place]


@pytest.mark.parametrize("key", ["start", "hours"])
def test_a_bench_needs_a_start_and_hours(key: str) -> None:
    assert errors_of(without(sheet(), ["bench", key])) == [f"bench.{key}: is missing"]


def test_everything_wrong_with_a_bench_is_said_at_once() -> None:
    wrong = sheet(start="x", hours={"mon": [["8", "9"]]}, days_off=["y"], people=0)
    assert places_of(wrong) == [
        "bench.start", "bench.hours.mon[0][0]", "bench.hours.mon[0][1]", "bench.days_off[0]", "bench.people",
    ]  # fmt: skip


KEYS = st.sampled_from(["start", "hours", "mon", "days_off", "people"])
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(KEYS, inner),
    max_leaves=12,
)


@modest
@given(ANYTHING)
def test_no_bench_at_all_breaks_the_reading(value: Any) -> None:
    for place in places_of(bowl(bench=value)):
        assert place.startswith("bench")


def test_a_glue_up_that_fits_no_stretch_is_an_error_of_the_hours() -> None:
    (error,) = errors_of(sheet(hours={"mon": [["08:00", "08:20"]]}))
    assert error.startswith("bench.hours: glue-up 1 (Glue the halves of rings 1 to 4) takes 34 min")


def test_a_bench_without_a_jig_is_refused_where_a_stack_needs_one() -> None:
    assert places_of(sheet(jigs=0)) == ["bench.jigs"]
    bored = changed(sheet(jigs=0), ["form", "inside"], {"kind": "wall", "wall": 6, "floor": 0})
    assert places_of(bored) == []  # through its middle goes the mandrel


# --- out ----------------------------------------------------------------------------------------------------------


def test_the_schedule_has_the_contracts_keys() -> None:
    schedule = found()["schedule"]
    assert set(schedule) >= {"start", "finish", "bound", "proven", "tasks"}
    for number, task in enumerate(schedule["tasks"], start=1):
        assert set(task) >= {"number", "name", "glue_up", "kind", "start", "end", "uses", "after"}
        assert task["number"] == number
        assert moment(task["start"]) <= moment(task["end"])
        assert all(
            moment(schedule["tasks"][before - 1]["end"]) <= moment(task["start"]) for before in task["after"]
        )
        assert set(task["uses"]) <= {"mandrel", "jig", "press", "ring_clamp"}
    assert schedule["start"] == "2027-03-01T08:00:00"
    assert schedule["proven"]
    assert schedule["finish"] == schedule["bound"] == max(task["end"] for task in schedule["tasks"])
    assert schedule["likely"] >= schedule["finish"]


def test_hands_on_tasks_lie_in_bench_hours_and_cures_run_through_the_night() -> None:
    tasks = found()["schedule"]["tasks"]
    for task in tasks:
        start, end = moment(task["start"]), moment(task["end"])
        if task["kind"] == "hands_on":
            assert any(
                time.fromisoformat(a) <= start.time() and end.time() <= time.fromisoformat(b) for a, b in DAY
            )
            assert start.date() == end.date() != date(2027, 3, 5)
            assert start.weekday() < 5
    assert any(moment(t["start"]).date() < moment(t["end"]).date() for t in tasks if t["kind"] == "cure")


def test_each_glue_up_is_coated_sets_and_cures_without_a_gap() -> None:
    tasks = found()["schedule"]["tasks"]
    for glue_up in found()["glue_ups"]:
        hands, *rest = [task for task in tasks if task["glue_up"] == glue_up["number"]]
        assert [hands["kind"], *(task["kind"] for task in rest)] == ["hands_on", "set", "cure"]
        assert (moment(hands["end"]) - moment(hands["start"])).seconds / 60 == pytest.approx(
            glue_up["hands_on"], abs=1
        )
        for one, other in zip([hands, *rest], rest, strict=False):
            assert one["end"] == other["start"]
        assert [(moment(t["end"]) - moment(t["start"])).seconds / 60 for t in rest] == [30, 720]
        assert rest[0]["uses"] == hands["uses"]


def test_hands_on_minutes_of_glue_ups_are_worked_out_without_a_bench_too() -> None:
    """The closed form of the answer and the steps of the calendar are two ways to one figure."""
    plain = answer(without(sheet(), ["bench"]))
    assert "schedule" not in plain
    assert plain["glue_ups"] == found()["glue_ups"]
    tasks = {t["glue_up"]: t for t in reversed(found()["schedule"]["tasks"]) if t["kind"] == "hands_on"}
    for glue_up in plain["glue_ups"]:
        assert glue_up["hands_on"] == pytest.approx(tasks[glue_up["number"]]["minutes"], rel=1e-9)
        assert (glue_up["set"], glue_up["press"], glue_up["cure"]) == (30, 0, 720)


def test_glue_ups_hands_on_minutes_add_up_to_their_operations() -> None:
    """Of three pieces: mixing, gluing rings, truing halves, coating and clamping, and nothing else."""
    three = answer(bowl(quantity=3))
    names = {
        "mix adhesive", "glue ring", "true half rings and join", "coat, stack and align layers",
        "clamp, clean squeeze-out, check",
    }  # fmt: skip
    whole = sum(o["mean"] for o in three["labour"]["operations"] if o["name"] in names)
    assert 3 * sum(one["hands_on"] for one in three["glue_ups"]) == pytest.approx(whole, rel=1e-9)


def test_times_keep_the_zone_of_the_start() -> None:
    schedule = answer(sheet(start="2027-03-01T08:00+02:00"))["schedule"]
    assert {moment(task["start"]).utcoffset() for task in schedule["tasks"]} == {
        moment("2027-03-01T08:00+02:00").utcoffset()
    }


def test_the_report_gives_the_dates_first() -> None:
    lines = as_text(estimate(read_sheet(sheet()))).splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("CALENDAR: done "))
    finish = moment(found()["schedule"]["finish"])
    assert f"{finish:%Y-%m-%d %H:%M} at the earliest (no plan is done earlier)" in lines[at]
    assert len([line for line in lines[at + 1 :] if " to " in line and line[4:8] == "2027"]) == len(
        found()["schedule"]["tasks"]
    )
    assert "CALENDAR" not in as_text(estimate(read_sheet(bowl())))


def test_an_estimate_without_a_bench_loads_no_scheduler() -> None:
    code = (
        "from tests.estimating.sheets import answer, bowl\nanswer(bowl())\nimport sys\n"
        "print([name for name in sys.modules if 'ortools' in name or name.startswith('estimating.scheduling')])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
