"""Tools of the drawing board: bands split, merged, copied and mirrored, layers laid, parts resized, profiles read."""

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from hypothesis import given
from hypothesis import strategies as st

from projects.models import Design, Studio
from projects.pages import bands
from projects.pages.draft import BandText, Draft, saved
from projects.pages.edits import edit
from tests.factories import BandFactory, DesignFactory
from tests.projects.boards import HTMX, fields

# ---- bands

LEGEND = {"m": "maple", "w": "walnut", "c": "cherry"}


@st.composite
def painted(draw: Any) -> BandText:
    """A band of 2 to 9 layers with turns that repeat, and woods in a list or a chart."""
    layers = draw(st.integers(2, 9))
    offsets = draw(st.lists(st.sampled_from(["0", "0.5", "-0.5", "1", "-0.25"]), min_size=1, max_size=4))
    woods = tuple(draw(st.lists(st.sampled_from(sorted(LEGEND.values())), min_size=1, max_size=4)))
    cells = st.text("mwc", min_size=1, max_size=6)
    rows = draw(st.none() | st.lists(cells, min_size=layers, max_size=layers))
    chart = json.dumps({"legend": LEGEND, "rows": rows}) if rows else ""
    return BandText(
        name="x", layers=str(layers), thickness="8", offsets=", ".join(offsets), woods=woods, chart=chart
    )


def layers_of(rows: list[BandText]) -> list[tuple[float, tuple[str, ...]]]:
    """Every layer from the bottom up: how far it turns on the one below, and its woods round the ring."""
    found = []
    for band in rows:
        turns = [float(text) for text in band.offsets.split(", ")]
        chart = json.loads(band.chart) if band.chart else None
        for layer in range(int(band.layers)):
            row = [chart["legend"][letter] for letter in chart["rows"][layer]] if chart else band.woods
            found.append((turns[layer % len(turns)], tuple(row)))
    return found


@given(painted())
def test_a_band_split_in_two_is_the_same_stack(band: BandText) -> None:
    rows = [band]
    bands.split(rows, 0)
    assert [int(one.layers) for one in rows] == [(int(band.layers) + 1) // 2, int(band.layers) // 2]
    assert layers_of(rows) == layers_of([band])


@given(painted(), painted())
def test_two_bands_merged_are_the_same_stack(lower: BandText, upper: BandText) -> None:
    rows = [lower, upper]
    bands.merge(rows, 0)
    assert len(rows) == 1
    assert layers_of(rows) == layers_of([lower, upper])


@given(painted())
def test_a_band_merged_after_it_was_split_is_what_it_was(band: BandText) -> None:
    rows = [band]
    bands.split(rows, 0)
    bands.merge(rows, 0)
    assert layers_of(rows) == layers_of([band])
    assert (rows[0].layers, rows[0].thickness) == (band.layers, band.thickness)


@given(painted())
def test_a_band_mirrored_turns_the_other_way_and_twice_is_what_it_was(band: BandText) -> None:
    rows = [band]
    bands.mirror(rows, 0)
    # The looking-glass: segment k of a ring of n is seen where n - k was, turned the other way.
    mirrored = [
        (-turn or 0.0, tuple(woods[-k % len(woods)] for k in range(len(woods))))
        for turn, woods in layers_of([band])
    ]
    assert layers_of(rows) == mirrored
    bands.mirror(rows, 0)
    assert layers_of(rows) == layers_of([band])


def test_a_copy_of_a_band_lies_above_it() -> None:
    rows = [BandText(name="a"), BandText(name="b")]
    bands.copy(rows, 0)
    assert [band.name for band in rows] == ["a", "a", "b"]


ALIKE = BandText(name="low", layers="3", thickness="8", woods=("maple",))


@pytest.mark.parametrize(
    ("lower", "upper", "words"),
    [
        ({}, {"thickness": "9"}, "layer thickness"),
        ({}, {"segments": "18"}, "segments"),
        ({}, {"made": "sliced", "ring_height": "40"}, "way of making"),
        ({}, {"bored": ""}, "bore"),
        ({"match": "board"}, {}, "choice of boards"),
        ({"layers": "few"}, {}, "number of layers"),
        ({"made": "staves"}, {"made": "staves"}, "staves"),
        ({"made": "sliced"}, {"made": "sliced", "woods": ("walnut",)}, "Only cut layers"),
        ({"chart": "{"}, {}, "cannot be read"),
    ],
)
def test_bands_that_are_not_alike_are_not_merged_and_it_is_said_why(
    lower: dict[str, Any], upper: dict[str, Any], words: str
) -> None:
    from dataclasses import replace

    rows = [replace(ALIKE, **lower), replace(ALIKE, **upper)]
    before = list(rows)
    with pytest.raises(bands.Refused, match=words):
        bands.merge(rows, 0)
    assert rows == before


def test_what_cannot_be_split_or_merged_is_said_at_the_bands(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    sent = fields(saved(design, studio=studio)) | {"parts-0-bands-0-layers": "1"}
    for what, words in (("split-0", "nothing to split"), ("merge-0", "no band above")):
        answer = as_alice.post(f"/designs/{design.pk}/", {**sent, "do": f"parts-0-bands-{what}"}, **HTMX)
        assert words in " ".join(answer.context["draft"].errors["parts-0-bands"])


def test_a_new_band_is_bored_as_its_tips_need_and_plugged_with_its_wood(studio: Studio) -> None:
    draft = saved(DesignFactory(studio=studio), studio=studio)
    edit(draft, "parts-0-bands-add-1")
    new = draft.parts[0].bands[1]
    assert (new.bored, new.plug, new.chart) == ("needed", "maple", "")
    edit(draft, "parts-0-bands-add-9")
    assert len(draft.parts[0].bands) == 2


# ---- layers between two heights


def _do(browser: Browser, design: Design, what: str, **tools: Any) -> Draft:
    sent = fields(saved(design, studio=design.studio))
    sent |= {f"parts-0-{key}": text for key, text in tools.items() if isinstance(text, str)}
    files = {f"parts-0-{key}": file for key, file in tools.items() if not isinstance(file, str)}
    answer = browser.post(f"/designs/{design.pk}/", {**sent, **files, "do": f"parts-0-{what}"}, **HTMX)
    assert answer.status_code == 200
    draft: Draft = answer.context["draft"]
    return draft


LAY = {"lay_from": "30", "lay_to": "60", "lay_thickness": "5", "lay_segments": "24", "lay_wood": "walnut"}


def test_layers_are_laid_between_two_heights_and_fill_them(as_alice: Browser, studio: Studio) -> None:
    """Ten layers of 9.93 with nine lines of 0.08: the middles of the 4th to the 6th stand between 30 and 60 mm."""
    design = DesignFactory(studio=studio)
    draft = _do(as_alice, design, "lay", **LAY)
    assert draft.errors == {}
    below, new, above = draft.parts[0].bands
    assert (below.layers, new.layers, above.layers) == ("3", "6", "4")
    assert (new.segments, new.woods, new.bored, new.plug) == ("24", ("walnut",), "needed", "walnut")
    # Three layers and two lines made 29.95 mm of room: six layers and five lines fill it.
    assert 6 * float(new.thickness) + 5 * 0.08 == pytest.approx(29.95, abs=0.01)
    assert below.offsets == above.offsets == "0.5"


def test_laying_over_the_whole_height_leaves_nothing_of_before(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio, shaped__allowance_bottom=3, shaped__allowance_top=2)
    draft = _do(as_alice, design, "lay", **LAY | {"lay_from": "0", "lay_to": "100"})
    (band,) = draft.parts[0].bands
    count = int(band.layers)
    assert count * float(band.thickness) + (count - 1) * 0.08 == pytest.approx(105, abs=0.05)
    assert draft.errors == {}


@pytest.mark.parametrize(
    ("wrong", "field", "words"),
    [
        ({"lay_from": ""}, "lay_from", "empty"),
        ({"lay_to": "20"}, "lay_to", "above"),
        ({"lay_thickness": "0"}, "lay_thickness", "more than 0"),
        ({"lay_segments": "many"}, "lay_segments", "whole number"),
        ({"lay_wood": ""}, "lay_wood", "at least one wood"),
        ({"bands-0-layers": "x"}, "bands", "number of layers"),
        ({"bands-0-thickness": "x"}, "bands-0-thickness", "not a length"),
    ],
)
def test_layers_are_not_laid_by_what_cannot_be_read(
    as_alice: Browser, studio: Studio, wrong: dict[str, str], field: str, words: str
) -> None:
    draft = _do(as_alice, DesignFactory(studio=studio), "lay", **LAY | wrong)
    assert words in " ".join(draft.errors[f"parts-0-{field}"])
    assert len(draft.parts[0].bands) == 1
    assert draft.parts[0].tools["lay_thickness"] == (LAY | wrong)["lay_thickness"]


# ---- another size

SIZE = {"size_height": "200", "size_diameter": "180", "size_wall": "keep", "size_layers": "thickness"}


def test_a_part_takes_another_size_with_as_many_layers_as_it_takes(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    draft = _do(as_alice, design, "resize", **SIZE)
    part = draft.parts[0]
    assert [(point.height, point.diameter) for point in part.outer] == [("0", "180"), ("200", "180")]
    assert (part.texts["wall"], part.texts["floor"]) == ("8", "10")
    # 20 layers of 9.93 and 19 lines make 200.12.
    assert [(band.layers, band.thickness) for band in part.bands] == [("20", "9.93")]
    assert draft.errors == {}


def test_a_wall_scales_where_that_is_asked_and_layers_grow(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    draft = _do(as_alice, design, "resize", **SIZE | {"size_wall": "scale", "size_layers": "count"})
    part = draft.parts[0]
    assert (part.texts["wall"], part.texts["floor"]) == ("12", "20")  # 8 by 180/120, 10 by 200/100
    (band,) = part.bands
    assert band.layers == "10"
    assert 10 * float(band.thickness) + 9 * 0.08 == pytest.approx(200, abs=0.1)
    assert draft.errors == {}


def test_an_inside_of_its_own_keeps_its_distance_or_scales(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    form: Any = design.parts.get().form
    form.inside, form.inner = "curve", [[10, 0], [50, 50], [100, 52]]
    form.save()
    kept = _do(as_alice, design, "resize", **SIZE).parts[0]
    # The outside is 90 mm from the axis: 10 and 8 mm of wood stay; the floor stays 10 mm thick.
    assert (kept.inner[0].height, kept.inner[0].diameter) == ("10", "0")
    assert [point.diameter for point in kept.inner][1:] == ["160", "164"]
    assert kept.inner[-1].height == "200"
    scaled = _do(as_alice, design, "resize", **SIZE | {"size_wall": "scale"}).parts[0]
    assert [(p.height, p.diameter) for p in scaled.inner] == [("20", "0"), ("100", "150"), ("200", "156")]


def test_a_chart_grows_with_its_band(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    rows = ["mw", "wm", "mm", "ww", "mw", "wm", "mm", "ww", "mw", "wm"]
    chart = {"legend": {"m": "maple", "w": "walnut"}, "rows": rows}
    design.parts.get().bands.update(chart=chart)
    (band,) = _do(as_alice, design, "resize", **SIZE).parts[0].bands
    assert json.loads(band.chart)["rows"] == rows * 2


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"size_height": "", "size_diameter": ""}, "size_height"),
        ({"size_height": "tall"}, "size_height"),
        ({"size_diameter": "0"}, "size_diameter"),
        ({"size_height": "60000"}, "size_height"),  # more layers than a design may have
        ({"bands-0-layers": ""}, "bands"),
    ],
)
def test_a_size_that_cannot_be_is_refused_and_changes_nothing(
    as_alice: Browser, studio: Studio, wrong: dict[str, str], field: str
) -> None:
    draft = _do(as_alice, DesignFactory(studio=studio), "resize", **SIZE | wrong)
    assert draft.errors[f"parts-0-{field}"]
    assert [point.height for point in draft.parts[0].outer] == ["0", "100"]


# ---- a profile from a file, and back


def test_a_profile_written_and_read_back_is_the_same_curve(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio, title="Pot & <jar>")
    part = design.parts.get()
    part.form.outer, part.form.curve = [[0, 40], [30, 60, "corner"], [100, 45]], "smooth"
    part.form.save()
    for kind in ("svg", "dxf", "csv"):
        answer = as_alice.get(f"/designs/{design.pk}/parts/1/profile.{kind}")
        assert answer.status_code == 200
        assert answer["Content-Disposition"].endswith(f'.{kind}"')
        file = SimpleUploadedFile(f"pot.{kind}", answer.content)
        draft = _do(as_alice, DesignFactory(studio=studio), "profile", profile=file)
        assert "parts-0-profile" not in draft.errors, kind
        read = draft.parts[0]
        assert read.texts["curve"] == "smooth"
        heights = [float(point.height) for point in read.outer]
        assert (heights[0], heights[-1]) == pytest.approx((0, 100), abs=0.05)
        corner = next(point for point in read.outer if abs(float(point.height) - 30) < 0.1)
        assert float(corner.diameter) == pytest.approx(120, abs=0.1)
        assert corner.corner


@pytest.mark.parametrize(
    ("name", "content"),
    [("pot.svg", b"<svg"), ("pot.svg", b"not a drawing"), ("pot.csv", b""), ("pot.png", b"\x89PNG\0\0")],
)
def test_a_file_that_is_no_profile_is_refused_at_the_file(
    as_alice: Browser, studio: Studio, name: str, content: bytes
) -> None:
    draft = _do(as_alice, DesignFactory(studio=studio), "profile", profile=SimpleUploadedFile(name, content))
    assert draft.errors["parts-0-profile"][0].endswith(".")
    assert [point.height for point in draft.parts[0].outer] == ["0", "100"]


def test_no_file_and_a_huge_one_are_refused(as_alice: Browser, studio: Studio) -> None:
    draft = _do(as_alice, DesignFactory(studio=studio), "profile")
    assert "Choose a file" in draft.errors["parts-0-profile"][0]
    huge = SimpleUploadedFile("pot.csv", b"0,1\n" * 400_000)
    draft = _do(as_alice, DesignFactory(studio=studio), "profile", profile=huge)
    assert "larger than" in draft.errors["parts-0-profile"][0]


def test_a_profile_of_no_part_or_no_kind_is_not_there(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    for path in ("0/profile.svg", "2/profile.svg", "1/profile.exe"):
        assert as_alice.get(f"/designs/{design.pk}/parts/{path}").status_code == 404


def test_tools_for_a_part_that_is_not_there_change_nothing(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    BandFactory(part=design.parts.get(), position=2)
    sent = fields(saved(design, studio=studio))
    for what in ("parts-7-lay", "parts-999-resize", "parts-1-profile", "parts-3-bands-add-0"):
        answer = as_alice.post(f"/designs/{design.pk}/", {**sent, "do": what}, **HTMX)
        assert (answer.status_code, len(answer.context["draft"].parts)) == (200, 1)
