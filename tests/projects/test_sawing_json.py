"""A sawing plan frozen and thawed is the same plan; what cannot be read is refused in words."""

import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.piece import Board, Laminate, ShopSettings, UsualBoard
from estimating.sawing import SawingJob, plan_sawing
from estimating.shape.laminates import cut_list
from estimating.wood.needs import LaminateCuts, Needs
from estimating.wood.strips import StripNeed
from projects.sawing_json import FrozenPlan, UnreadablePlan, freeze, thaw

mm = st.integers(15, 60).map(float)
needs = st.builds(
    lambda wood, width, height, miter, edge, counts, cut: StripNeed(
        wood,
        width,
        height / 3,
        miter if cut == "segment" else 0.0,
        edge,
        edge - (10 if cut == "segment" else 0),
        tuple(enumerate(counts, start=1)),
        cut,
    ),
    st.sampled_from(["maple", "walnut"]),
    mm,
    mm,
    st.floats(0.05, 0.5),
    st.floats(30, 120),
    st.lists(st.integers(1, 14), min_size=1, max_size=3),
    st.sampled_from(["segment", "disc"]),
)
boards = st.builds(
    Board,
    wood=st.sampled_from(["maple", "walnut"]),
    length=st.integers(500, 2400).map(float),
    width=st.integers(90, 250).map(float),
    thickness=st.sampled_from([22.0, 27.0]),
    count=st.integers(1, 3),
    price=st.integers(0, 9000).map(lambda cents: Decimal(cents) / 100),
    defects=st.sampled_from([(), ((100.0, 180.0),), ((0.0, 50.0, 0.0, 40.0), (300.0, 340.0))]),
    surface=st.sampled_from(["rough", "surfaced"]),
    ref=st.integers(1, 999).map(str),
)


def _plan(needed: list[list[StripNeed]], lying: list[Board], effort: int = 0) -> FrozenPlan:
    jobs = [SawingJob(f"job <{at}>", Needs(tuple(of), ())) for at, of in enumerate(needed)]
    shop = ShopSettings()
    price = {"maple": Decimal("0.000004"), "walnut": Decimal("0.000007")}
    sawn = plan_sawing(jobs, boards=lying, usual=UsualBoard(), price_per_mm3=price, shop=shop, effort=effort)
    return FrozenPlan(sawn, tuple(range(5, 5 + len(jobs))), shop)


@given(
    st.lists(st.lists(needs, min_size=1, max_size=3), min_size=1, max_size=3), st.lists(boards, max_size=4)
)
@settings(max_examples=60)
def test_a_thawed_plan_equals_the_one_that_was_frozen(needed: Any, lying: Any) -> None:
    frozen = _plan(needed, lying)
    assert thaw(json.loads(json.dumps(freeze(frozen), allow_nan=False))) == frozen


def test_what_is_cut_for_laminated_segments_is_kept_too() -> None:
    zigzag = Laminate("zigzag", 0.5, (("maple", 10.0), ("walnut", 10.0), ("maple", 10.0)))
    size = {"length": 40.0, "inner_length": 30.0, "height": 10.0, "width": 25.0}
    cuts = cut_list(zigzag, segments=12, kerf=2.0, hold=50.0, longest=900.0, **size)
    frozen = _plan([[StripNeed("maple", 30.0, 12.0, 0.2, 60.0, 50.0, ((1, 12),))]], [])
    (job,) = frozen.plan.jobs
    laminated = replace(job, needs=Needs(job.needs.strips, (LaminateCuts(1, "zigzag", cuts),)))
    frozen = replace(frozen, plan=replace(frozen.plan, jobs=(laminated,)))
    assert len(cuts.woods) == 2
    assert thaw(json.loads(json.dumps(freeze(frozen), allow_nan=False))) == frozen


def _frozen() -> dict[str, Any]:
    need = StripNeed("maple", 30.0, 12.0, 0.2, 60.0, 50.0, ((1, 12),))
    lying = [Board("maple", 900.0, 150.0, 27.0, 1, Decimal("19.50"), ref="7")]
    return json.loads(json.dumps(freeze(_plan([[need]], lying))))


def test_version_1_has_these_names() -> None:
    # Plans in databases are written so: a name that goes needs a new version, and a way to read the old one.
    data = _frozen()
    assert (data["version"], set(data)) == (1, {"version", "commissions", "shop", "plan"})
    plan = data["plan"]
    assert set(plan) == {"jobs", "needs", "first_ring", "cutting"}
    assert set(plan["cutting"]) >= {"boards", "cost", "bound", "proven", "short"}
    (board,) = plan["cutting"]["boards"]
    names = "wood length width thickness price buy strips offcuts charged_whole ref surface defects plates"
    assert set(board) >= set(names.split())
    names = "lane start width height length segments rings rip_width lies across section plate"
    assert set(board["strips"][0]) >= set(names.split())
    names = "length width thickness start across plate"
    assert set(board["offcuts"][0]) >= set(names.split())
    assert (board["price"], board["strips"][0]["rings"]) == ("19.50", [1])


def test_a_field_that_a_later_program_added_is_read_as_its_default() -> None:
    data = _frozen()
    del data["plan"]["cutting"]["boards"][0]["plates"]
    assert thaw(data).plan.cutting.boards[0].plates == 1


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data.update(version=2),
        lambda data: data["plan"].pop("cutting"),
        lambda data: data["plan"]["cutting"].update(cost="4"),
        lambda data: data["plan"]["cutting"]["boards"][0].update(price="dear"),
        lambda data: data["plan"]["cutting"]["boards"][0]["strips"][0].update(lies="askew"),
        lambda data: data["plan"]["cutting"]["boards"][0].update(strips=3),
    ],
)
def test_what_is_no_plan_is_refused_in_words(spoil: Any) -> None:
    data = _frozen()
    spoil(data)
    with pytest.raises(UnreadablePlan, match="Plan again"):
        thaw(data)
    with pytest.raises(UnreadablePlan):
        thaw([])
