"""Scaling: nothing changes at factor 1, back is where it began, volumes go by the cube, and parts fit as they did."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.errors import InvalidInput, InvalidSheet
from estimating.estimate import estimate
from estimating.options import resized
from estimating.piece import Band, Part, Sheet, ShopSettings
from estimating.shape.build import build_shapes
from estimating.shape.forms import build_form
from estimating.shape.scaling import LARGEST, SMALLEST, Scaled, Size, kept_wall, scale_piece, turned_on
from estimating.shape.seats import fits_of
from estimating.shape.slicing import ring_height
from estimating.sheet import read_sheet
from tests.estimating.kinds import ZIGZAG, built, cut, disc, in_parts, kinds, part, staves, veneer
from tests.estimating.sheets import Json, modest, sheets

WALLS = st.sampled_from(["scale", "keep"])
FACTORS = st.floats(0.6, 1.6)
NO_SIZE = Size()


def read(data: Json) -> Sheet:
    return read_sheet(data)


def scaled(sheet: Sheet, size: Size, **more: Any) -> Scaled:
    return scale_piece(sheet.parts, size=size, shop=sheet.shop, laminates=sheet.laminates, **more)


def lengths(piece: Scaled) -> list[float]:
    """Every length and turn of a piece, in one order."""
    found: list[float] = []
    for one in piece.parts:
        inside = one.form.inside
        found += [value for point in (*one.form.outer, *inside.inner) for value in point]
        found += [inside.wall, inside.floor, *one.close_at, one.sits.flange if one.sits else 0.0]
        for band in one.bands:
            found += [band.thickness, band.layers, band.ring_height or 0.0, *band.offsets]
            found.append(band.bore if isinstance(band.bore, float) else 0.0)
    return [*found, *(width for one in piece.laminates.values() for _, width in one.strips)]


def box(*, sliced: bool = False, close: bool = False) -> Sheet:
    """A box with a lid whose flange is 8 mm deep and 0.3 mm loose each side in an opening of 104."""
    inside = {"kind": "curve", "inner": [[10, 0], [10.5, 52], [60, 52]]}
    form = {"outer": [[0, 60], [60, 60]], "curve": "straight", "inside": inside}
    thin = {"made": "sliced", "ring_height": 40} if sliced else {}
    body = built(*[cut(layers=1, thickness=12), cut(layers=12, thickness=4, **thin)], form=form)
    top = {
        "outer": [[0, 51.7], [8, 51.7], [8.1, 60], [20, 50]],
        "curve": "straight",
        "inside": {"kind": "solid"},
    }
    lid = built(cut(layers=2, thickness=10), form=top)
    data = in_parts(
        part("body", body, **({"close_at": [32.0]} if close else {})),
        part("lid", lid, sits={"in": "body", "flange": 8, "clearance": 0.3}),
    )
    return read(data)


# --- what always holds --------------------------------------------------------------------------------------------


@modest
@given(
    st.one_of(sheets(), kinds()),
    WALLS,
    st.sampled_from(["count", "thickness"]),
    st.sampled_from(["steps", "degrees"]),
)
def test_at_factor_1_nothing_changes(data: Json, wall: Any, layers: Any, turn: Any) -> None:
    """Exactly for the size that is none; and for one a hair off it to within that hair."""
    sheet = read(data)
    same = scaled(sheet, Size(wall=wall, layers=layers, turn=turn))
    assert same.parts == sheet.parts
    assert same.notes == ()
    hair = 1 + 1e-9
    near = scaled(sheet, Size(hair, hair, wall, layers, turn))
    assert lengths(near) == pytest.approx(lengths(same), rel=1e-6, abs=1e-6)


@modest
@given(st.one_of(sheets(), kinds()), FACTORS, FACTORS, WALLS)
def test_there_and_back_is_where_it_began(data: Json, height: float, radius: float, wall: Any) -> None:
    """Layers kept in number. A wall that is kept may leave no hollow, and layers no thickness: those are refused."""
    sheet = read(data)
    try:
        there = scaled(sheet, Size(height, radius, wall))
        back = scale_piece(
            there.parts, size=Size(1 / height, 1 / radius, wall), shop=sheet.shop, laminates=there.laminates
        )
    except (InvalidInput, InvalidSheet):
        assume(False)
        raise
    # What would be less than nothing was cut off at the axis, and cannot come back.
    assume(all(wide > 0 for one in there.parts for _, wide in one.form.inside.inner[1:]))
    assert lengths(back) == pytest.approx(lengths(scaled(sheet, NO_SIZE)), rel=1e-9, abs=1e-9)


@modest
@given(st.one_of(sheets(), kinds()), FACTORS, FACTORS)
def test_volumes_go_by_the_height_and_the_square_of_the_radius(
    data: Json, height: float, radius: float
) -> None:
    """Cavalieri; with both factors f it is f cubed. For an inside of its own curve or none: an even wall, which is
    measured square to the outside, stretches otherwise, and is asked with both alike.
    """
    sheet = read(data)
    for one in sheet.parts:
        factor = radius if one.form.inside.kind == "wall" else height
        made = scale_piece(
            [one], size=Size(factor, radius), shop=sheet.shop, laminates=sheet.laminates
        ).parts[0]
        volume = build_form(one.form).volume
        assert build_form(made.form).volume == pytest.approx(volume * factor * radius**2, rel=1e-7)


@modest
@given(sheets(), FACTORS)
def test_a_stack_overruns_its_form_as_it_did(data: Json, factor: float) -> None:
    """Layers by thickness less the height: the same at any size, so that allowances and glue lines still fit."""
    sheet = read(data)

    def over(one: Part) -> float:
        outer = one.form.outer
        return sum(band.layers * band.thickness for band in one.bands) - outer[-1][0] + outer[0][0]

    for was, now in zip(sheet.parts, scaled(sheet, Size(factor, factor)).parts, strict=True):
        assert over(now) == pytest.approx(over(was), abs=1e-9)


@modest
@given(kinds(), FACTORS, st.sampled_from(["count", "thickness"]))
def test_what_is_scaled_has_a_shape(data: Json, factor: float, layers: Any) -> None:
    """Of every kind of layer: nothing is made that the arithmetic then refuses, thick rings and strips with them."""
    sheet = read(data)
    try:
        made = scaled(sheet, Size(factor, factor, layers=layers))
    except InvalidInput as refusal:
        assert refusal.place == "layers"  # noqa: PT017 - which one it is matters, not that it is raised
        return
    build_shapes(made.parts, shop=sheet.shop, laminates=made.laminates)


# --- the wall -----------------------------------------------------------------------------------------------------


def test_a_kept_wall_is_as_thick_as_it_was_at_another_size() -> None:
    """A cone of radius 20 to 40 in 100 mm with 4 mm of wood across the axis and a floor of 10; twice as large."""
    sheet = read(
        built(
            cut(layers=10),
            form={"outer": [[0, 20], [100, 40]], "inside": {"kind": "curve", "inner": [[10, 18], [100, 36]]}},
        )
    )
    (made,) = scaled(sheet, Size(2, 2, "keep")).parts
    assert made.form.inside.inner == (pytest.approx((10, 38)), pytest.approx((200, 76)))
    (large,) = scaled(sheet, Size(2, 2)).parts
    assert large.form.inside.inner == (pytest.approx((20, 36)), pytest.approx((200, 72)))


def test_an_even_wall_is_kept_or_scaled_each_way_by_its_own_factor() -> None:
    sheet = read(built(cut(layers=6)))
    (kept,), (other,) = (scaled(sheet, Size(1.5, 2, wall)).parts for wall in ("keep", "scale"))
    assert (kept.form.inside.wall, kept.form.inside.floor) == (8, 12)
    assert (other.form.inside.wall, other.form.inside.floor) == (16, 18)


def test_a_form_that_does_not_stand_on_0_keeps_its_floor() -> None:
    form = {"outer": [[10, 20], [110, 20]], "inside": {"kind": "curve", "inner": [[20, 15], [110, 15]]}}
    one = read(built(cut(layers=10), form=form)).parts[0]
    after = replace(one.form, outer=((20.0, 40.0), (220.0, 40.0)))
    assert kept_wall(one.form, after) == (pytest.approx((30, 35)), pytest.approx((220, 35)))


# --- layers -------------------------------------------------------------------------------------------------------


def thick_ring(data: Sheet, made: Scaled, number: int = 0) -> list[tuple[float, int]]:
    """Height of the thick ring of a band and the layers it gives, as it was and as it is."""
    bands = (data.parts[0].bands[number], made.parts[0].bands[number])
    return [(band.ring_height or 0.0, ring_height(band, shop=data.shop, place="").most) for band in bands]


def test_a_thick_ring_gives_as_many_layers_of_the_new_thickness() -> None:
    """12 layers of 4 mm, each with 1.2 of kerf and 0.5 of sanding: (40 - 0.5 - 8) / 5.7 is 5.53, so 5 come out of one.
    At 1.5 times the size a layer is 6 mm and takes 7.7: 8.5 + 5.526 x 7.7 = 51.05 mm.
    """
    sheet = read(built(cut(layers=12, thickness=4, made="sliced", ring_height=40)))
    made = scaled(sheet, Size(1.5, 1.5), thickest=100)
    (_, was), (height, now) = thick_ring(sheet, made)
    assert (was, now) == (5, 5)
    assert height == pytest.approx(8.5 + 31.5 / 5.7 * 7.7)
    assert made.notes == (f"thick rings of band 1: 40 mm high, now {height:.5g} mm, for 5 layers as before",)


def test_a_thick_ring_is_no_thicker_than_a_board() -> None:
    sheet = read(built(cut(layers=12, thickness=4, made="sliced", ring_height=40)))
    made = scaled(sheet, Size(1.5, 1.5), thickest=45)
    (_, was), (height, now) = thick_ring(sheet, made)
    assert (was, now) == (5, 4)
    assert height == pytest.approx(8.5 + 4 * 7.7)
    assert "5 layers came out of one, 4 do now, since no board is thicker" in made.notes[0]


def test_with_thickness_kept_a_thick_ring_stays_and_a_chart_goes_on() -> None:
    rows = {"legend": {"a": "maple", "b": "walnut"}, "rows": ["ab", "ba", "aa"]}
    sheet = read(
        built(
            cut(layers=12, thickness=4, made="sliced", ring_height=40),
            cut(layers=3, thickness=10, chart=rows),
        )
    )
    (one,) = scaled(sheet, Size(2, 2, layers="thickness")).parts
    assert [(band.layers, band.thickness) for band in one.bands] == [(24, 4), (6, 10)]
    assert one.bands[0].ring_height == 40
    assert one.bands[1].chart == sheet.parts[0].bands[1].chart * 2


def test_layers_are_not_made_thinner_than_truing_takes() -> None:
    sheet = read(built(cut(layers=20, thickness=3, name="body")))
    with pytest.raises(
        InvalidInput, match=r"layers: of band 1 \(body\) would be 0.75 mm thick, no more than the 1 mm"
    ):
        scaled(sheet, Size(0.25, 0.25))
    assert scaled(sheet, Size(0.25, 0.25, layers="thickness")).parts[0].bands[0].layers == 5


def test_staves_and_discs_grow_and_veneer_does_not() -> None:
    sheet = read(built(disc(), veneer(), staves(), cut(layers=3)))
    for layers in ("count", "thickness"):
        bands = scaled(sheet, Size(2, 2, layers=layers)).parts[0].bands
        assert bands[1].thickness == 0.6
        assert bands[0].thickness == pytest.approx(24, rel=0.02)
        assert bands[2].thickness == pytest.approx(120, rel=0.02)
        assert [band.layers for band in bands[:3]] == [1, 1, 1]


def test_bores_grow_but_for_those_of_the_mandrel() -> None:
    """The mandrel wants 12.7 and 0.2 mm."""
    bores = [12.9, 13.4, 13.5, 20, "auto"]
    sheet = read(built(*[cut(layers=2, bore=bore, plug="cherry") for bore in bores]))
    made = scaled(sheet, Size(1, 1.5))
    assert [band.bore for band in made.parts[0].bands] == [12.9, 13.4, 20.25, 30, "auto"]
    assert [note for note in made.notes if "for the mandrel" in note] == [
        "bore of band 1: 12.9 mm as it was, for the mandrel",
        "bore of band 2: 13.4 mm as it was, for the mandrel",
    ]


def spiral(offsets: tuple[float, ...], layers: int = 10) -> Band:
    return Band("", layers, 10, 12, ("maple",), offsets=offsets)


def test_a_spiral_keeps_its_steps_or_its_degrees() -> None:
    """10 layers turned by 0.3 of 12 segments go round by 90 degrees; 20 layers do with 0.15."""
    sheet = read(built(cut(layers=10, offset=0.3)))
    kept = scaled(sheet, Size(2, 2, layers="thickness"))
    turned = scaled(sheet, Size(2, 2, layers="thickness", turn="degrees"))
    assert kept.parts[0].bands[0].offsets == (0.3,)
    assert turned.parts[0].bands[0].offsets == (pytest.approx(0.15),)
    assert turned.notes == ("turn of band 1: 9 degrees a layer, now 4.5; 90 degrees in all, as before",)
    assert scaled(sheet, Size(2, 2, turn="degrees")).parts[0].bands[0].offsets == (0.3,)


@pytest.mark.parametrize("bond", [(0.5,), (0.0,), (0.5, -0.5), (0.0, 0.5)])
def test_a_bond_stays_as_it_is(bond: tuple[float, ...]) -> None:
    assert turned_on(spiral(bond), 20, "degrees") == bond


@modest
@given(st.integers(1, 60), st.integers(1, 60), st.floats(-3, 3).filter(lambda turn: abs(2 * turn % 1) > 1e-3))
def test_degrees_kept_are_kept_whatever_the_number_of_layers(was: int, now: int, offset: float) -> None:
    (each,) = turned_on(spiral((offset,), was), now, "degrees")
    assert each * now == pytest.approx(offset * was)


# --- laminates ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("angle", [0, 45, 90])
@pytest.mark.parametrize("size", [Size(0.8, 0.8), Size(1.6, 1.6), Size(2.0, 1.0), Size(0.7, 1.3)])
def test_strips_span_their_segments_as_they_did(angle: int, size: Size) -> None:
    """A panel that only just spans its segments does so at the new size; one 1 % narrower would not."""
    kind = {"kind": "zigzag"} if angle == 45 else {"kind": "stripes"}
    strips = [{"wood": "maple", "width": 40}, {"wood": "walnut", "width": 40}]
    laminate = {**kind, "angle": angle, "strips": strips}
    form = {"outer": [[0, 60], [56, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 14}}
    sheet = read(built(cut(layers=4, thickness=14, woods=["zig"]), form=form, laminates={"zig": laminate}))
    tight = replace(sheet, laminates={"zig": just_enough(sheet)})
    made = scaled(tight, size)
    build_shapes(made.parts, shop=sheet.shop, laminates=made.laminates)
    narrow = {
        "zig": replace(
            made.laminates["zig"],
            strips=tuple((wood, width * 0.99) for wood, width in made.laminates["zig"].strips),
        )
    }
    with pytest.raises(InvalidSheet, match=r"laminates\.zig\.strips"):
        build_shapes(made.parts, shop=sheet.shop, laminates=narrow)


def just_enough(sheet: Sheet) -> Any:
    """The laminate with its panel as wide as its widest segment needs, reckoned here: L sin a + h cos a."""
    laminate = sheet.laminates["zig"]
    rings = build_shapes(sheet.parts, shop=sheet.shop, laminates=sheet.laminates)[0].rings
    needed = max(
        ring.outer_edge * math.sin(laminate.angle) + ring.height * math.cos(laminate.angle) for ring in rings
    )
    by = needed / laminate.panel_width
    return replace(laminate, strips=tuple((wood, width * by) for wood, width in laminate.strips))


def test_a_piece_of_laminates_can_be_made_larger() -> None:
    """Before strips grew with their segments, this was refused: the panel was too narrow."""
    sheet = read(built(cut(layers=4, thickness=14, woods=["zig"]), laminates={"zig": ZIGZAG}))
    larger, notes = resized(sheet, Size(1.5, 1.5))
    assert estimate(larger).layers == 4
    assert any(note.endswith("% wider") and "laminated segment zig" in note for note in notes)


# --- parts that fit -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wall", ["scale", "keep"])
@pytest.mark.parametrize("size", [(1.25, 1.25), (0.8, 0.8), (1.0, 1.4), (1.5, 1.0)])
def test_a_lid_sits_as_loosely_in_its_rim(size: tuple[float, float], wall: Any) -> None:
    """The air round a flange is for the hand and the season, not a part of the form: 0.3 mm at any size."""
    sheet = box()
    made = scaled(sheet, Size(*size, wall))
    (was,), (now,) = (fits_of(build_shapes(parts, shop=sheet.shop)) for parts in (sheet.parts, made.parts))
    assert was.gap == pytest.approx(0.3)
    assert now.gap == pytest.approx(0.3, abs=1e-9)
    opening = 104 * size[1] if wall == "scale" else 120 * size[1] - 16
    assert now.opening_diameter == pytest.approx(opening)
    assert made.parts[1].sits is not None
    assert made.parts[1].sits.flange == pytest.approx(8 * size[0])
    assert "flange of the lid: as loose in its rim as it was" in made.notes


def test_a_flange_that_is_not_drawn_as_one_is_left_as_it_is_scaled() -> None:
    """The flange ends between two points, and moving either would change the lid's own form."""
    whole = box()
    lid = whole.parts[1]
    sheet = replace(whole, parts=(whole.parts[0], replace(lid, sits=replace(lid.sits, flange=5.0))))  # type: ignore[type-var]
    made = scaled(sheet, Size(1.25, 1.25))
    assert made.parts[1].form.outer[0][1] == 51.7 * 1.25


def test_a_hollow_form_is_joined_at_the_same_glue_line() -> None:
    """Height 32 is the line on a foot of 12 mm and five layers of 4: between layers 6 and 7 of 13."""
    sheet = box(close=True)
    for size in (Size(1.25, 1.25), Size(0.5, 1), Size(2, 2, layers="thickness")):
        made = scaled(sheet, size)
        was, now = (build_shapes(parts, shop=sheet.shop)[0] for parts in (sheet.parts, made.parts))
        share = [shape.closings[0] / len(shape.stack) for shape in (was, now)]
        assert share[1] == pytest.approx(share[0], abs=1.01 / len(now.stack))
        if size.layers == "count":
            assert was.closings == now.closings
        assert any(note.startswith("joined of the body at 32 mm, now at") for note in made.notes)


# --- refusals -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wrong", [0.0, -1.0, SMALLEST / 1.01, LARGEST * 1.01, math.nan, math.inf])
def test_what_is_no_size_is_refused(wrong: float) -> None:
    for place, size in (("height_factor", Size(wrong, 1)), ("radius_factor", Size(1, wrong))):
        with pytest.raises(InvalidInput, match=f"{place}: must be from 0.25 to 4"):
            scaled(box(), size)


def test_a_ready_form_is_changed_by_its_measures() -> None:
    form = {"kind": "cylinder", "height": 40, "diameter": 100}
    with pytest.raises(InvalidInput, match="size: is given by the measures of a ready form"):
        scaled(read(built(cut(layers=4), form=form)), Size(2, 2))


def test_a_height_that_layers_cannot_meet_is_refused_at_the_layers() -> None:
    sheet = read(built(*[cut(layers=1, thickness=20)] * 3))
    with pytest.raises(
        InvalidInput,
        match="layers: do not fit: a stack of 15 mm cannot be met with layers of their present thickness",
    ):
        scaled(sheet, Size(0.25, 1, layers="thickness"))


def test_no_shop_setting_is_needed_to_scale() -> None:
    sheet = box(sliced=True)
    assert scale_piece(sheet.parts, size=Size(1.1, 1.1), shop=ShopSettings()).parts
