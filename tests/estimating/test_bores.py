"""Bores and plugs: how wide, where, what is turned from them, and what they take of wood and glue."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from estimating.estimate import estimate
from estimating.shape.bores import bore_for_tips
from estimating.sheet import read_sheet
from tests.estimating.kinds import built, cut, disc
from tests.estimating.sheets import answer, errors_of, modest


@given(st.integers(3, 360), st.sampled_from([0.0, 0.2, 0.5]), st.floats(0.5, 10))
def test_the_bore_that_tips_need_is_the_least_whole_millimetre(segments: int, gap: float, tip: float) -> None:
    bore = bore_for_tips(segments=segments, gap=gap, tip=tip)
    half = math.pi * (1 - gap) / segments
    assert bore == int(bore)
    # inner corners on the circle of the bore: the edge is a chord of it
    assert bore * math.sin(half) >= tip - 1e-6
    assert (bore - 1) * math.sin(half) < tip


def test_tips_get_a_bore_only_where_they_would_be_too_small() -> None:
    found = answer(
        built(cut(layers=2, bore="auto", plug="walnut"), cut(layers=4, bore="auto", plug="walnut"))
    )
    bores = [ring.get("bore") for ring in found["rings"]]
    # the floor is 12 thick: two layers of 10 reach below it or stand on it, those above are open anyway
    assert bores == [12, 12, None, None, None, None]
    assert [ring["inner_edge"] >= 3 for ring in found["rings"]] == [True] * 6
    assert found["plugs"] == [
        {"part": "", "band": "", "wood": "walnut", "diameter": 12, "length": 20, "layers": [1, 2]}
    ]


def test_without_asking_nothing_is_bored() -> None:
    assert "plugs" not in answer(built(cut(layers=2)))


@modest
@given(st.floats(4, 70), st.sampled_from(["sphere", "vase", "bowl"]))
def test_the_core_is_the_form_within_the_bore_by_quadrature(bore: float, kind: str) -> None:
    inside = {"kind": "wall", "wall": 12, "floor": 15}
    forms = {
        "sphere": {"kind": "sphere", "diameter": 100, "inside": inside},
        "vase": {"outer": [[0, 60], [40, 75], [80, 40], [100, 50]], "curve": "smooth", "inside": inside},
        "bowl": {"outer": [[0, 45], [100, 90]]},
    }
    (shape,) = estimate(read_sheet(built(cut(layers=10), form=forms[kind]))).shapes
    form = shape.form

    def ring(z: float) -> float:
        outer, inner = float(form.outer.radius(np.array([z]))[0]), float(form.inner_radius(np.array([z]))[0])
        return math.pi * (min(outer, bore / 2) ** 2 - min(inner, bore / 2) ** 2)

    for layer in (0, 1, 4, 9):
        lower, upper = float(shape.stack.bottom[layer]), float(shape.stack.top[layer])
        breaks = [z for z in (15.0, *form.outer.breaks.tolist()) if lower < z < upper]
        expected, _ = quad(ring, lower, upper, points=breaks or None, limit=400)
        # quad meets kinks where the curves cross the bore, which it finds to about 1e-6 of the whole
        assert form.core_volume(lower, upper, radius=bore / 2) == pytest.approx(expected, rel=2e-5, abs=0.05)


def test_a_plug_turns_into_the_wood_that_the_bore_took() -> None:
    plain = answer(built(cut(layers=2)))
    plugged = answer(built(cut(layers=2, bore=20, plug="walnut")))
    opened = answer(built(cut(layers=2, bore=20)))
    core = math.pi * 10**2 * 12  # as far as the floor
    assert plugged["wood"]["walnut"]["turned"] == pytest.approx(core)
    assert plugged["wood"]["maple"]["turned"] == pytest.approx(plain["wood"]["maple"]["turned"] - core)
    assert opened["wood"]["maple"]["turned"] == plugged["wood"]["maple"]["turned"]
    assert opened["form"]["volume"] == plain["form"]["volume"]  # as drawn
    assert opened["form"]["mass_g"] < plain["form"]["mass_g"]


def test_a_plug_is_cut_from_a_square_stick_and_glued_round_its_side() -> None:
    plain, plugged = answer(built(cut(layers=2))), answer(built(cut(layers=2, bore=20, plug="walnut")))
    stick = (20 + 2 * 0.5) ** 2 * (20 + 2 * 0.5)
    walnut = plugged["wood"]["walnut"]
    assert walnut["segments"] == 0
    assert walnut["turned"] + walnut["turning_waste"] == pytest.approx(stick)
    assert walnut["slicing_waste"] == pytest.approx(0, abs=1e-6)
    assert plugged["glue_ups"][-1]["kind"] == "plug"
    assert plugged["glue_ups"][-1]["layers"] == [1, 2]
    # its side, less what the bore takes off the face between the two layers
    side = math.pi * 20 * 20
    lost = plugged["rings"][0]["inner_edge"]
    face = 12 * math.tan(math.pi / 12) * (lost / 2 / math.tan(math.pi / 12)) ** 2
    assert plugged["adhesive"]["face_area"] - plain["adhesive"]["face_area"] == pytest.approx(side - face)


def test_a_bore_as_wide_as_the_blank_is_refused_with_its_layer() -> None:
    (error,) = errors_of(built(cut(layers=2, bore=110)))
    assert error == "bands[0].bore: is wider than the blank of layer 1, 106 mm across"


def test_a_disc_is_bored_without_losing_its_square() -> None:
    found = answer(built(disc(bore=16, plug="maple"), cut(layers=3)))
    assert found["rings"][0]["bore"] == 16
    assert found["rings"][0]["strip_width"] == answer(built(disc(), cut(layers=3)))["rings"][0]["strip_width"]
