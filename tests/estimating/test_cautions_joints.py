"""Cautions of segments against each other: each beside the nearest sheet that does not earn it."""

import pytest

from tests.estimating.sheets import Json, bowl, changed
from tests.estimating.test_cautions import cautions
from tests.estimating.test_cautions_contact import lattice


def side(**changes: object) -> Json:
    """The small bowl with its side of three layers made otherwise."""
    sheet = bowl()
    sheet["bands"][1] |= {"woods": ["maple"]} | changes
    return sheet


def test_joints_within_a_tenth_of_a_segment_of_those_below_are_in_line() -> None:
    assert not cautions(side(offset=0.1), "joints_in_line")
    (found,) = cautions(side(offset=0.09), "joints_in_line")
    assert (found["severity"], found["where"]) == ("note", "bands[1]")
    assert found["message"].startswith("Layers 2 to 4 have their joints in line")
    assert cautions(side(offset=0.95), "joints_in_line")  # nearly a whole segment on
    assert cautions(side(offset=-3), "joints_in_line")


def test_only_the_layers_that_are_in_line_are_named() -> None:
    (found,) = cautions(side(offset=[0.5, 0, 0.5]), "joints_in_line")
    assert found["message"].startswith("Layer 3 has its joints in line")


def test_rings_of_other_counts_open_layers_and_discs_have_no_joints_in_line() -> None:
    (found,) = cautions(side(offset=0, segments=13), "joints_in_line")
    assert found["message"].startswith("Layers 3 to 4 have")  # layer 2 stands on 12
    other = side(offset=0)
    other["bands"][1] |= {"layers": 1, "segments": 18}
    other["bands"].append(other["bands"][1] | {"layers": 2, "segments": 12, "offset": [0, 0.5]})
    assert not cautions(other, "joints_in_line")
    assert not cautions(side(offset=0, gap=0.1), "joints_in_line")


@pytest.mark.parametrize(("segments", "odd"), [(11, True), (12, False), (13, True)])
def test_an_odd_ring_cannot_be_closed_in_halves(segments: int, odd: bool) -> None:
    found = cautions(side(segments=segments), "odd_half_rings")
    assert [c["where"] for c in found] == ["bands[1]"] * odd
    if found:
        assert f"Ring 2 to 4 has {segments} segments" in found[0]["message"]
    assert not cautions(side(segments=segments, gap=0.1), "odd_half_rings")


def test_two_woods_that_alternate_round_an_odd_count_meet_alike_once() -> None:
    row = ["maple", "cherry"] * 4 + ["maple"]
    (found,) = cautions(side(segments=9, woods=row), "odd_pattern")
    assert (found["severity"], found["where"]) == ("warning", "bands[1]")
    assert found["message"].startswith("Layer 2 alternates two woods round an odd count of 9 segments")
    assert not cautions(side(segments=9, woods=[*row[:-1], "walnut"]), "odd_pattern")
    assert not cautions(side(segments=9, woods=[*row[:-2], "maple", "maple"]), "odd_pattern")
    assert not cautions(side(segments=10, woods=["maple", "cherry"]), "odd_pattern")
    mirrored = ["maple", "cherry", "walnut", "cherry", "maple"]  # of three woods: drawn so, not alternating
    assert not cautions(side(segments=5, woods=mirrored), "odd_pattern")


def test_the_rows_of_a_chart_are_looked_at_one_by_one() -> None:
    sheet = side(segments=5)
    del sheet["bands"][1]["woods"]
    sheet["bands"][1]["chart"] = {
        "legend": {"m": "maple", "c": "cherry"},
        "rows": ["mmccm", "mcmcm", "mcccm"],
    }
    (found,) = cautions(sheet, "odd_pattern")
    assert found["message"].startswith("Layer 3 alternates")


@pytest.mark.parametrize("kind", ["zigzag", "diamond"])
def test_mirrored_laminates_round_an_odd_count_meet_alike_once(kind: str) -> None:
    strips = [{"wood": "maple", "width": 25}, {"wood": "walnut", "width": 25}]
    zigzag = {"zig": {"kind": kind, "angle": 45, "strips": strips}}

    def found(sheet: Json, laminates: Json = zigzag) -> list[Json]:
        return cautions(sheet | {"laminates": laminates}, "odd_laminate")

    odd = side(segments=9, woods=["zig"])
    assert [c["where"] for c in found(odd)] == ["bands[1]"]
    assert not found(side(segments=10, woods=["zig"]))
    assert not found(side(segments=9, woods=["zig"] * 8 + ["maple"]))  # a plain segment parts the two
    assert not found(odd, {"zig": zigzag["zig"] | {"kind": "stripes"}})


def test_open_segments_want_so_many_mm_on_each_of_the_two_they_bridge() -> None:
    """On a circle of 55 the pitch is 28.798 mm; 5 mm each side are left by a gap of 0.5 - 5 / 28.798 = 0.3264."""
    assert not cautions(lattice(gap=0.326), "open_contact")
    (found,) = cautions(lattice(gap=0.327), "open_contact")
    assert (found["severity"], found["where"]) == ("warning", "bands[1]")
    assert found["message"].startswith("Segments of layer 3 to 4 stand on too little")
    assert "5.0 mm each side" in found["message"]
    assert not cautions(changed(lattice(gap=0.327), ["shop", "open_contact"], 4.9), "open_contact")


def test_open_segments_that_stand_on_nothing_are_said_to() -> None:
    (found,) = cautions(lattice(gap=0.6), "open_contact")
    assert "some of layer 3 on none at all" in found["message"]


def test_open_segments_glued_over_less_than_a_quarter_of_their_length_hang_on_little() -> None:
    """Half turned, 2 (0.5 - gap) of 1 - gap is shared: a quarter at a gap of 3/7. The wide circle keeps 5 mm a side."""

    def wide(gap: float) -> Json:
        sheet = changed(lattice(gap=gap), ["form", "outer"], [[0, 300], [40, 300]])
        return changed(sheet, ["form", "inside", "floor"], 0)

    assert not cautions(wide(0.428), "small_overlap")
    (found,) = cautions(wide(0.429), "small_overlap")
    assert (found["severity"], found["where"]) == ("warning", "bands[1]")
    assert "25% of their length" in found["message"]
    assert not cautions(wide(0.429), "open_contact")
