"""A piece made again in another size: stretched, its wall kept, thick rings, lids, spirals and laminates with it."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.shape.seats import fits_of
from estimating.shape.slicing import ring_height
from projects.again import Again, Asked, start_of_design, worked_out
from projects.estimates import estimate_design, parts_of
from projects.models import Design, Studio
from projects.services.again import again_make
from projects.services.designs import design_create
from tests.factories import DesignFactory

pytestmark = pytest.mark.django_db
LAMINATE = {
    "kind": "stripes",
    "angle": 90,
    "strips": [{"wood": "walnut", "width": 20}, {"wood": "maple", "width": 20}],
}


def made(design: Design, **asked: Any) -> Again:
    return worked_out(start_of_design(design), Asked(**asked))


def box(studio: Studio) -> Design:
    """A sliced, spiralling body and a lid that is 0.3 mm loose in its rim; the rim's ring is laminated."""
    body = {
        "outer": [[0, 60], [62, 60]],
        "curve": "straight",
        "inside": "curve",
        "inner": [[10, 0], [10.5, 52], [62, 52]],
    }
    top = {"outer": [[0, 51.7], [8, 51.7], [8.1, 60], [20, 50]], "curve": "straight", "inside": "solid"}
    whole = {"allowance_outside": 0, "allowance_inside": 0, "allowance_top": 0, "allowance_bottom": 0}
    ring = {"segments": 12, "woods": ["maple"]}
    bands = [
        {**ring, "layers": 1, "thickness": 12, "made": "cut"},
        {**ring, "layers": 10, "thickness": 3.93, "made": "sliced", "ring_height": 40, "offsets": [0.3]},
        {**ring, "layers": 1, "thickness": 9.9, "woods": ["stripe"]},
    ]
    lid = [{**ring, "layers": 2, "thickness": 9.96}]
    parts = [
        {"name": "body", "form": body, "bands": bands, "close_at": [31.8], **whole},
        {
            "name": "lid",
            "form": top,
            "bands": lid,
            "sits": "in",
            "sits_at": 1,
            "flange": 8,
            "clearance": 0.3,
            **whole,
        },
    ]
    return design_create(studio=studio, title="Box", parts=parts, laminates={"stripe": LAMINATE})


def test_a_height_and_a_diameter_stretch_it(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    again = made(design, height=150.0, diameter=90.0)
    assert (again.after.height, again.after.largest_diameter) == (pytest.approx(150), pytest.approx(90))
    form = again.parts[0].form
    assert (form.outer, form.wall, form.floor) == ([[0, 45], [150, 45]], 6, 15)
    assert again.differs[0] == (
        "stretched: 150 % of the height, 75 % across (height 100, now 150 mm; largest diameter 120, now 90 mm)"
    )
    kept = made(design, height=150.0, diameter=90.0, wall="keep").parts[0].form
    assert (kept.wall, kept.floor) == (8, 10)


@pytest.mark.parametrize("wall", ["scale", "keep"])
def test_a_box_keeps_its_fit_its_slices_and_its_joint(studio: Studio, wall: Any) -> None:
    again = made(box(studio), factor=1.25, wall=wall)
    (was,), (now,) = fits_of(again.before.shapes), fits_of(again.after.shapes)
    assert was.gap == pytest.approx(0.3)
    assert now.gap == pytest.approx(0.3, abs=0.0015)  # three lengths of it are rounded to a micron
    rings = [
        ring_height(one.sheet.parts[0].bands[1], shop=one.sheet.shop, place="").most
        for one in (again.before, again.after)
    ]
    assert rings[0] == rings[1]
    assert again.before.shapes[0].closings == again.after.shapes[0].closings
    told = " / ".join(again.differs)
    for words in (
        "thick rings of band 2 of the body: 40 mm high, now",
        f"for {rings[0]} layers as before",
        "joined of the body at 31.8 mm, now at",
        "flange of the lid: as loose in its rim as it was",
        "strips of the laminated segment stripe: ",
        " % wider",
    ):
        assert words in told


def test_what_followed_is_said_in_the_shops_unit(studio: Studio) -> None:
    studio.length_unit = "in"
    studio.save()
    told = " / ".join(made(box(studio), factor=2).differs)
    assert "thick rings of band 2 of the body: 1.575 in high, now" in told
    assert " mm" not in told


def test_records_hold_every_kind_to_the_micron_there_and_back(studio: Studio) -> None:
    """No layer is lost to rounding, and twice the rounding is all that is left of there and back."""
    design = box(studio)
    first = estimate_design(design)[1]
    layers = [band.layers for one in parts_of(design) for band in one.bands]

    @settings(max_examples=12, deadline=None, derandomize=True)
    @given(factor=st.floats(0.7, 1.4), wall=st.sampled_from(["scale", "keep"]))
    def comes_back(factor: float, wall: Any) -> None:
        there = made(design, factor=factor, wall=wall)
        start = start_of_design(design)
        again = type(start)(there.design, there.parts, None, "")
        back = worked_out(again, Asked(factor=1 / factor, wall=wall))
        assert back.after.layers == first.layers
        for was, now in zip(parts_of(design), back.parts, strict=True):
            assert [value for point in now.form.outer for value in point] == pytest.approx(
                [value for point in was.form.outer for value in point], abs=0.004
            )
            for before, after in zip(was.bands, now.bands, strict=True):
                assert float(after.thickness) == pytest.approx(float(before.thickness), abs=0.002)
                if before.ring_height is not None:
                    assert float(after.ring_height) == pytest.approx(float(before.ring_height), abs=0.02)
        assert [band.layers for one in back.parts for band in one.bands] == layers

    comes_back()


def test_a_spiral_keeps_its_degrees_where_that_is_asked(studio: Studio) -> None:
    design = box(studio)
    start = start_of_design(design)
    assert start.has_spiral
    assert not start_of_design(DesignFactory(studio=studio)).has_spiral
    steps, degrees = (made(design, factor=2, keep="thickness", turn=turn) for turn in ("steps", "degrees"))
    assert steps.parts[0].bands[1].offsets == [0.3]
    band = degrees.parts[0].bands[1]
    assert band.layers > 10
    assert band.offsets == [pytest.approx(3 / band.layers, abs=1e-6)]
    assert "90 degrees in all, as before" in " / ".join(degrees.differs)


def test_a_box_made_again_is_saved_as_it_was_shown(studio: Studio) -> None:
    design = box(studio)
    asked = Asked(factor=1.25, wall="keep", woods={"walnut": "maple"})
    shown = worked_out(start_of_design(design), asked)
    saved = again_make(start=start_of_design(design), asked=asked, title="Larger", seen=shown.mark).design
    body = parts_of(saved)[0]
    assert body.part.close_at == shown.parts[0].part.close_at != [31.8]
    assert body.bands[1].ring_height > Decimal(40)
    strips = saved.laminates["stripe"]["strips"]
    assert [strip["wood"] for strip in strips] == ["maple", "maple"]
    assert strips[0]["width"] > 20
    assert estimate_design(saved)[1].height == pytest.approx(shown.after.height)
