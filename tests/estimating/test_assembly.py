"""The glue-ups of a piece: rings in halves, what holds them, stacks from the foot or the rim, each joint once."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.glue.assembly import GlueUp, opening, plan_assembly
from estimating.glue.joints import joint_areas
from estimating.glue.mixing import end_area, face_area
from estimating.sheet import read_sheet
from tests.estimating.kinds import ZIGZAG, built, cut, disc, in_parts, kinds, part, staves
from tests.estimating.sheets import SHOP, Json, answer, bowl, errors_of, modest, without


def tube(*, layers: int = 10, shop: Json | None = None, **changes: Any) -> Json:
    """Rings of 12 segments, 10 thick, open all the way but for the lowest."""
    height = 10 * layers
    form = {"outer": [[0, 60], [height, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 8}}
    return built(cut(layers=layers), form=form, **changes) | {"shop": {**SHOP, **(shop or {})}}


def planned(sheet: Json) -> tuple[GlueUp, ...]:
    return estimate(read_sheet(sheet)).glue_ups


def of_kind(sheet: Json, kind: str) -> list[GlueUp]:
    return [glue_up for glue_up in planned(sheet) if glue_up.kind == kind]


# --- rings --------------------------------------------------------------------------------------------------------


def test_a_ring_is_glued_in_halves_and_closed_by_the_two_joints_that_are_left() -> None:
    halves, whole = planned(built(cut(segments=12, thickness=14)))
    assert (halves.kind, halves.rings, halves.end_shares) == ("half_ring", (1,), (10 / 12,))
    assert (whole.kind, whole.rings, whole.end_shares, whole.after) == ("ring", (1,), (2 / 12,), (1,))
    assert halves.held == whole.held == "ring_clamp"


@pytest.mark.parametrize(("segments", "halved"), [(4, False), (5, False), (6, True), (7, False), (18, True)])
def test_odd_rings_and_those_of_few_segments_are_closed_at_once(segments: int, halved: bool) -> None:
    sheet = built(cut(segments=segments, thickness=14))
    assert [g.kind for g in planned(sheet)] == (["half_ring", "ring"] if halved else ["ring"])
    assert planned(sheet | {"shop": {**SHOP, "ring_joining": "whole"}})[0].end_shares == (1.0,)


@pytest.mark.parametrize(
    ("shop", "rings"),
    [
        # 0.7 x 30 min, 0.3 a joint: 70 joints, seven rings of the ten joints that their halves have
        ({"ring_clamps": 12}, [7, 3]),
        ({"ring_clamps": 4}, [4, 4, 2]),
        ({"ring_clamps": 1}, [1] * 10),
        # ten degrees warmer: 35 joints
        ({"ring_clamps": 12, "temperature_c": 31}, [3, 3, 3, 1]),
    ],
)
def test_no_more_rings_at_once_than_clamps_and_time_allow(shop: Json, rings: list[int]) -> None:
    sheet = tube(shop=shop)
    assert [len(g.rings) for g in of_kind(sheet, "half_ring")] == rings
    assert max(len(g.rings) for g in of_kind(sheet, "ring")) <= shop["ring_clamps"]


def test_a_ring_waits_for_its_halves_and_they_for_their_panels() -> None:
    sheet = built(cut(thickness=14, woods=["zig", "maple", "walnut"]), laminates={"zig": ZIGZAG})
    assert [(g.kind, g.after) for g in planned(sheet)] == [("panel", ()), ("half_ring", (1,)), ("ring", (2,))]


def test_only_halves_are_trued_and_none_where_the_shop_closes_rings_whole() -> None:
    def trued(sheet: Json) -> float:
        rows = {row["name"]: row["quantity"] for row in answer(sheet)["labour"]["operations"]}
        return rows.get("true half rings and join", 0)

    sheet = built(disc(), cut(layers=2), cut(segments=15), cut(layers=2, gap=0.2), staves(), quantity=3)
    assert trued(sheet) == 3 * 3
    assert trued(sheet | {"shop": {**SHOP, "ring_joining": "whole"}}) == 0


# --- stacks ---------------------------------------------------------------------------------------------------------


def test_a_mandrel_goes_where_every_layer_lets_it_through_and_a_pin_jig_elsewhere() -> None:
    """The lowest layer is solid in the middle: the run with it in it stands in a jig, the one above on the mandrel."""
    lower, upper = of_kind(tube(layers=14), "stack")
    assert (lower.layers[0], lower.held, upper.held) == (1, "pin_jig", "mandrel")
    assert {g.held for g in of_kind(tube(layers=14, shop={"mandrel_diameter": 0}), "stack")} == {"pin_jig"}


@pytest.mark.parametrize(("clearance", "held"), [(0.2, "mandrel"), (0.3, "mandrel"), (0.31, "pin_jig")])
def test_a_bore_as_wide_as_the_mandrel_and_its_clearance_will_do(clearance: float, held: str) -> None:
    sheet = built(disc(layers=2, bore=13.0), form={"outer": [[0, 40], [24, 40]]})
    sheet["shop"] = {**SHOP, "mandrel_diameter": 12.7, "mandrel_clearance": clearance}
    assert [g.held for g in of_kind(sheet, "stack")] == [held]


def test_the_opening_of_segments_is_across_their_inner_flats() -> None:
    (shape,) = estimate(read_sheet(bowl())).shapes
    ring = replace(shape.rings[-1], inner_radius=40.0, segments=6)
    assert opening(ring) == pytest.approx(2 * 40 * 3**0.5 / 2)


def test_a_stack_built_from_the_rim_begins_at_the_top_and_is_joined_downwards() -> None:
    def order(**changes: Any) -> list[tuple[str, tuple[int, ...], tuple[int, ...], bool]]:
        glue_ups = planned(tube(layers=14, shop={"layers_per_glue_up": 7}, **changes))
        first = glue_ups[0].number + sum(g.kind in ("half_ring", "ring") for g in glue_ups) - 1
        return [
            (g.kind, g.layers, tuple(j - first for j in g.joins), g.from_rim)
            for g in glue_ups
            if g.kind in ("stack", "join")
        ]

    low, high = tuple(range(1, 8)), tuple(range(8, 15))
    assert order() == [
        ("stack", low, (), False),
        ("stack", high, (), False),
        ("join", (7, 8), (1, 2), False),
    ]
    assert order(build_from="rim") == [
        ("stack", high, (), True),
        ("stack", low, (), True),
        ("join", (7, 8), (1, 2), True),
    ]


def test_the_upper_bowl_of_a_closed_form_stands_rim_down_and_the_closing_joint_upright() -> None:
    glue_ups = [g for g in planned(tube(layers=8, close_at=[40])) if g.layers]
    assert [(g.kind, g.layers, g.from_rim) for g in glue_ups] == [
        ("stack", (1, 2, 3, 4), False),
        ("stack", (5, 6, 7, 8), True),
        ("join", (4, 5), False),
    ]


def test_a_single_layer_joined_to_a_stack_waits_for_its_own_ring() -> None:
    glue_ups = planned(tube(layers=5, close_at=[40]))
    join = glue_ups[-1]
    assert join.layers == (4, 5)
    ring = next(g.number for g in glue_ups if g.kind == "ring" and 5 in g.rings)
    assert ring in join.after
    assert join.joins == (next(g.number for g in glue_ups if g.kind == "stack"),)


def test_a_part_of_one_layer_set_on_another_waits_for_its_ring() -> None:
    body, knob = tube(layers=3), built(cut(), form={"outer": [[0, 30], [10, 30]]})
    glue_ups = planned(in_parts(part("body", body), part("knob", knob, sits={"on": "body"})))
    ring = next(g.number for g in glue_ups if g.kind == "ring" and 4 in g.rings)
    assert glue_ups[-1].layers == (3, 4)
    assert ring in glue_ups[-1].after


def test_a_stack_begins_at_one_of_its_ends() -> None:
    (error,) = errors_of(bowl(build_from="middle"))
    assert error.startswith("build_from: ")
    errors = errors_of(in_parts(part("body", bowl())) | {"build_from": "rim"})
    assert errors[0].startswith("build_from: stands in each of the parts")


# --- whatever the piece ---------------------------------------------------------------------------------------------


def check_each_joint_once(found: Estimate) -> None:
    """Every end joint, face, plug and block is glued in one glue-up and no other: shares and areas add up."""
    shares: dict[int, float] = {}
    for glue_up in found.glue_ups:
        for ring, share in zip(glue_up.rings, glue_up.end_shares, strict=False):
            shares[ring] = shares.get(ring, 0.0) + share
    assert shares == {ring.number: pytest.approx(1.0) for ring in found.rings if ring.end_joints}
    areas = joint_areas(found.shapes)
    ends = sum(end_area(glue_up, areas) for glue_up in found.glue_ups)
    faces = sum(face_area(glue_up, areas) for glue_up in found.glue_ups)
    assert ends == pytest.approx(float(areas.ends.sum()), rel=1e-12)
    assert faces == pytest.approx(areas.all_faces, rel=1e-12)


@modest
@given(kinds(), st.sampled_from(["halves", "whole"]), st.integers(1, 6), st.sampled_from(["foot", "rim"]))
def test_however_it_is_put_together_every_joint_is_glued_once_and_in_time(
    sheet: Json, joining: str, clamps: int, build_from: str
) -> None:
    sheet = sheet | {"build_from": build_from}
    sheet["shop"] = {**sheet["shop"], "ring_joining": joining, "ring_clamps": clamps}
    found = estimate(read_sheet(sheet))
    check_each_joint_once(found)
    layers = range(1, found.layers + 1)
    joints = [pair for g in found.glue_ups if g.kind != "plug" for pair in pairwise(g.layers)]
    assert sorted(joints) == list(pairwise(layers))
    for number, glue_up in enumerate(found.glue_ups, 1):
        assert glue_up.number == number
        assert all(before < number for before in glue_up.after)
        assert set(glue_up.joins) <= set(glue_up.after)
        assert len(glue_up.rings) <= clamps or glue_up.kind == "panel"
        wanted = {ring for ring, g in _closed_in(found).items() if _touches(found, glue_up, ring)}
        assert wanted <= _all_before(found.glue_ups, glue_up)


def _closed_in(found: Estimate) -> dict[int, int]:
    return {ring: g.number for g in found.glue_ups if g.kind == "ring" for ring in g.rings}


def _touches(found: Estimate, glue_up: GlueUp, ring: int) -> bool:
    return any(layer in found.rings[ring - 1].layers for layer in glue_up.layers)


def _all_before(glue_ups: tuple[GlueUp, ...], glue_up: GlueUp) -> set[int]:
    """Rings closed in any glue-up that this one waits for, however far back."""
    waiting, seen = list(glue_up.after), set()
    while waiting:
        number = waiting.pop()
        if number not in seen:
            seen.add(number)
            waiting += glue_ups[number - 1].after
    return {
        ring for number in seen if glue_ups[number - 1].kind == "ring" for ring in glue_ups[number - 1].rings
    }


def test_a_waste_block_and_a_plug_wait_for_the_part() -> None:
    sheet = without(built(cut(thickness=14, bore=20, plug="walnut"), cut(layers=3)), ["allowance", "bottom"])
    glue_ups = planned(sheet | {"holding": {"by": "waste_block", "depth": 25}})
    stack = next(g.number for g in glue_ups if g.kind == "stack")
    assert [(g.kind, g.after) for g in glue_ups[-2:]] == [("plug", (stack,)), ("waste_block", (stack,))]
    assert plan_assembly([], shop=read_sheet(sheet).shop, label=read_sheet(sheet).label) == ()
