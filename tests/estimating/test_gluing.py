"""Gluing weather: readings and rest, each mark with what just earns a finding and what just does not."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.wood.gluing import (
    OLD,
    Finding,
    Reading,
    gluing_findings,
    moisture_findings,
    rest_findings,
)
from estimating.wood.species import published_species
from tests.estimating.sheets import bowl, modest
from tests.estimating.test_weather import estimated

WOODS = published_species()
TODAY = date(2026, 3, 9)


def read(*readings: Reading, emc_client: float | None = None, on: date | None = None) -> dict[str, Finding]:
    used = {reading.wood for reading in readings}
    found = moisture_findings(readings, used=used, woods=WOODS, emc_client=emc_client, on=on)
    return {finding.code: finding for finding in found}


def two(first: float, second: float) -> tuple[Reading, Reading]:
    return Reading("maple", "ring 2", first), Reading("walnut", "board 7", second)


@pytest.mark.parametrize(
    ("second", "severity"),
    [(9.0, None), (8.0, None), (7.0, None), (9.1, "warning"), (6.9, "warning"), (10.0, "warning"), (10.1, "danger")],
)  # fmt: skip
def test_all_wood_of_a_piece_lies_within_one_per_cent(second: float, severity: str | None) -> None:
    found = read(*two(8.0, second)).get("moisture_apart")
    assert (found.severity if found else None) == severity


def test_what_is_told_names_the_wettest_and_the_driest() -> None:
    found = read(*two(7.4, 9.1), Reading("cherry", "ring 4", 8.0))["moisture_apart"]
    assert found.message.startswith("Black walnut, board 7 has 9.1 %, Sugar maple, ring 2 7.4 %: 1.7 % apart")
    assert set(found.woods) == {"maple", "walnut"}


def test_the_last_reading_of_a_thing_holds_whatever_order_they_come_in() -> None:
    damp = Reading("maple", "ring 2", 12.0, TODAY - timedelta(5))
    dry = Reading("maple", "ring 2", 8.0, TODAY)
    other = Reading("walnut", "ring 1", 8.2, TODAY)
    assert "moisture_apart" not in read(damp, dry, other)
    assert "moisture_apart" not in read(dry, damp, other)
    assert "moisture_apart" in read(damp, other)


@pytest.mark.parametrize(
    ("moisture", "told"), [(8.0, False), (6.0, False), (10.0, False), (10.1, True), (5.9, True)]
)
def test_wood_lies_near_what_the_client_s_room_will_bring(moisture: float, told: bool) -> None:
    found = read(Reading("maple", "ring 2", moisture), emc_client=8.0)
    assert ("moisture_not_the_room" in found) == told
    assert "moisture_not_the_room" not in read(Reading("maple", "ring 2", moisture))  # no room is known


def test_readings_that_name_no_board_are_of_several_and_none_replaces_another() -> None:
    two_boards = (Reading("maple", "", 7.0, TODAY), Reading("maple", "", 9.5, TODAY))
    assert read(*two_boards)["moisture_apart"].severity == "danger"
    # Read again another day, both are as they are then; a board that is named is one board.
    later = [Reading("maple", "", 8.0, TODAY + timedelta(1)), Reading("maple", "", 8.5, TODAY + timedelta(1))]
    assert "moisture_apart" not in read(*two_boards, *later)
    assert "moisture_apart" not in read(*later, *two_boards)
    named = (Reading("maple", "board 1", 7.0, TODAY), Reading("maple", "board 1", 9.5, TODAY))
    assert "moisture_apart" not in read(*named)


def test_which_way_the_wood_is_off_is_told() -> None:
    assert "drier than the 11.0 %" in read(*two(8.0, 8.5), emc_client=11.0)["moisture_not_the_room"].message
    assert "wetter than the 5.0 %" in read(*two(8.0, 8.5), emc_client=5.0)["moisture_not_the_room"].message


def test_woods_that_nobody_read_are_named_and_woods_of_other_pieces_left_out() -> None:
    readings = (*two(8.0, 8.0), Reading("ash", "board 1", 14.0))
    found = moisture_findings(readings, used=["maple", "walnut", "cherry"], woods=WOODS)
    assert [(finding.code, finding.woods) for finding in found] == [("no_reading", ("cherry",))]


@pytest.mark.parametrize(("days", "told"), [(0, False), (OLD, False), (OLD + 1, True)])
def test_old_readings_are_told(days: int, told: bool) -> None:
    reading = Reading("maple", "ring 2", 8.0, TODAY - timedelta(days))
    assert ("reading_old" in read(reading, on=TODAY)) == told
    assert "reading_old" not in read(reading)


@pytest.mark.parametrize(
    ("rested", "asked", "told"),
    [(None, 7, False), (7, 7, False), (6.5, 7, True), (0, 0, False), (0, 1, True)],
)
def test_milled_wood_rests_as_long_as_the_shop_s_rule_asks(
    rested: float | None, asked: float, told: bool
) -> None:
    found = rest_findings(rested_days=rested, acclimatise_days=asked)
    assert bool(found) == told
    if told:
        assert f"Wait {asked - (rested or 0):g} more" in found[0].message


readings = st.lists(
    st.builds(
        Reading, st.sampled_from(["maple", "walnut"]), st.sampled_from(["a", "b", "c"]), st.floats(4, 20)
    ),
    max_size=6,
)


@modest
@given(readings, st.floats(-0.9, 0.9))
def test_all_readings_shifted_alike_are_no_further_apart(given_ones: list[Reading], shift: float) -> None:
    shifted = [Reading(r.wood, r.what, r.moisture + shift) for r in given_ones]
    before, after = (
        {f.code for f in moisture_findings(some, used=["maple", "walnut"], woods=WOODS)}
        for some in (given_ones, shifted)
    )
    spread = {}
    for reading in given_ones:
        spread[reading.wood, reading.what] = reading.moisture
    apart = max(spread.values(), default=0) - min(spread.values(), default=0)
    if abs(apart - 1) > 1e-6:
        assert before == after
        assert ("moisture_apart" in before) == (apart > 1)


def test_everything_is_told_at_once_moisture_first() -> None:
    found = estimated(bowl())
    codes = [
        finding.code
        for finding in gluing_findings(
            found.shapes,
            woods=WOODS,
            laminates={},
            readings=two(7.0, 9.5),
            rested_days=2,
            acclimatise_days=7,
            emc_client=6.0,
        )
    ]
    assert codes == [
        "moisture_apart", "moisture_not_the_room", "no_reading", "not_rested", "dark_dust", "colour_fades",
    ]  # fmt: skip


@pytest.mark.parametrize("moisture", [0, -2, 60.1, float("nan"), float("inf")])
def test_what_is_no_reading_of_wood_is_refused(moisture: float) -> None:
    with pytest.raises(InvalidInput, match=r"readings\[1\].moisture: must be more than 0 and at most 60 %"):
        read(*two(8.0, moisture))


@pytest.mark.parametrize(("rested", "asked", "place"), [(-1, 7, "rested_days"), (1, -7, "acclimatise_days")])
def test_no_wood_rests_for_less_than_no_days(rested: float, asked: float, place: str) -> None:
    with pytest.raises(InvalidInput, match=f"{place}: must be 0 days or more"):
        rest_findings(rested_days=rested, acclimatise_days=asked)
