"""The pin jig: pins touch the disc, holes keep apart, clamps fit, and what cannot work is refused with its cure."""

from itertools import combinations
from math import dist, hypot, pi, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Point

from estimating.errors import InvalidInput
from estimating.shape.pin_jig import Clamping, PinCircle, PinTemplate, least_web, pin_circle, pin_template

CLOSE = 1e-9


def points(circle: PinCircle) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in circle.positions]


def test_six_even_pins_stand_a_radius_apart() -> None:
    # Euclid, Elements IV.15: the side of a hexagon in a circle is the circle's radius.
    circle = pin_circle(disc_diameter=94, pins=6, pin_diameter=6, clamps=2, clamp_width=20)
    assert circle.radius == 50
    around = points(circle)
    sides = [dist(around[n], around[(n + 1) % 6]) for n in range(6)]
    assert sides == pytest.approx([50] * 6, abs=CLOSE)
    assert [circle.room(gap) for gap in range(2)] == pytest.approx([44, 44], abs=CLOSE)


def test_three_pins_and_four_make_the_triangle_and_the_square_in_a_circle() -> None:
    # Euclid, Elements IV.2 and IV.6: sides r sqrt 3 and r sqrt 2.
    for pins, side in ((3, 40 * sqrt(3)), (4, 40 * sqrt(2))):
        around = points(pin_circle(disc_diameter=72, pins=pins, pin_diameter=8, clamps=1, clamp_width=10))
        assert dist(around[0], around[1]) == pytest.approx(side, abs=CLOSE)


def test_a_wide_clamp_pushes_the_pins_together_and_has_just_its_width() -> None:
    # Ten pins of 4 round 76 + 4: evenly they leave 2 x 40 x sin 18 deg - 4 = 20.7 mm, too little for 30.
    circle = pin_circle(disc_diameter=76, pins=10, pin_diameter=4, clamps=2, clamp_width=30)
    assert [circle.room(gap) for gap in range(2)] == pytest.approx([30, 30], abs=CLOSE)
    assert [circle.middle(gap) % (2 * pi) for gap in range(2)] == pytest.approx([0, pi], abs=CLOSE)


def test_pins_that_do_not_divide_by_the_clamps_still_leave_every_clamp_its_room() -> None:
    circle = pin_circle(disc_diameter=80, pins=7, pin_diameter=5, clamps=2, clamp_width=40)
    assert [circle.room(gap) for gap in range(2)] == pytest.approx([40, 40], abs=CLOSE)
    assert len(circle.angles) == 7


jigs = st.fixed_dictionaries(
    {
        "disc_diameter": st.floats(15, 300),
        "pins": st.integers(3, 24),
        "pin_diameter": st.floats(2, 15),
        "clamps": st.integers(1, 4),
        "clamp_width": st.floats(5, 60),
        "clearance": st.floats(0, 2),
    }
)


def made(jig: dict[str, float]) -> PinCircle | None:
    try:
        return pin_circle(**jig)  # type: ignore[arg-type]
    except InvalidInput:
        return None


@given(jigs)
def test_no_holes_are_nearer_than_stated_every_clamp_fits_and_every_pin_touches(
    jig: dict[str, float],
) -> None:
    circle = made(jig)
    assume(circle is not None)
    assert circle is not None
    around = points(circle)
    pin, edge = jig["pin_diameter"], jig["disc_diameter"] / 2 + jig["clearance"]
    assert len(around) == jig["pins"]
    assert len(circle.gaps) == jig["clamps"]
    for x, y in around:
        assert hypot(x, y) - pin / 2 == pytest.approx(edge, abs=CLOSE)
    for one, other in combinations(around, 2):
        assert dist(one, other) >= 2 * pin - 1e-6
    for first, last in circle.gaps:
        assert dist(around[first], around[last]) - pin >= jig["clamp_width"] - 1e-6


@given(jigs)
def test_a_disc_cannot_slip_out_between_two_pins(jig: dict[str, float]) -> None:
    circle = made(jig)
    assume(circle is not None)
    assert circle is not None
    around = sorted(angle % (2 * pi) for angle in circle.angles)
    spaces = [b - a for a, b in zip(around, [*around[1:], around[0] + 2 * pi], strict=True)]
    assert max(spaces) < pi
    assert sum(spaces) == pytest.approx(2 * pi)


@given(jigs)
def test_a_refusal_over_the_pins_says_a_count_that_fits_and_one_more_that_does_not(
    jig: dict[str, float],
) -> None:
    try:
        pin_circle(**jig)  # type: ignore[arg-type]
    except InvalidInput as refusal:
        if "at most" not in refusal.reason:
            return
        most = int(refusal.reason.split("at most ")[1].split()[0])
        pin_circle(**{**jig, "pins": most})  # type: ignore[arg-type]
        with pytest.raises(InvalidInput):
            pin_circle(**{**jig, "pins": most + 1})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        ({"pins": 2}, "pins", "slips out"),
        ({"pins": 30}, "pins", "at most .* such pins, thinner pins"),
        ({"clamp_width": 60}, "clamp_width", "narrower clamp"),
        ({"clamps": 6, "clamp_width": 30}, "clamp_width", "fewer of them"),
        ({"clamps": 0}, "clamps", "1 to 6"),
        ({"clamps": 7}, "clamps", "1 to 6"),
        ({"pin_diameter": 0.0}, "pin_diameter", "more than 0"),
        ({"disc_diameter": float("nan")}, "disc_diameter", "more than 0"),
        ({"clearance": -1.0}, "clearance", "0 or more"),
        ({"web": -1.0}, "web", "0 or more"),
    ],
)
def test_what_cannot_work_is_refused_at_its_place_with_its_cure(change: dict, place: str, words: str) -> None:
    usual = {"disc_diameter": 50.0, "pins": 6, "pin_diameter": 6.0, "clamps": 2, "clamp_width": 20.0}
    with pytest.raises(InvalidInput, match=words) as refused:
        pin_circle(**{**usual, **change})
    assert refused.value.place == place


def apart(template: PinTemplate) -> float:
    """The least distance between the holes' edges, by shapely."""
    holes = [
        Point(point).buffer(template.clamping.pin_diameter / 2, quad_segs=256)
        for circle in template.circles
        for point in points(circle)
    ]
    return min(one.distance(other) for one, other in combinations(holes, 2))


def test_sizes_close_together_are_turned_out_of_each_others_way() -> None:
    clamping = Clamping(pins=4, pin_diameter=6, clamps=2, clamp_width=15)
    template = pin_template(disc_diameters=[60, 66, 72], clamping=clamping)
    assert [circle.disc_diameter for circle in template.circles] == [72, 66, 60]
    assert apart(template) >= 6 - 0.01
    assert least_web(template) == pytest.approx(apart(template), abs=0.01)


@given(st.lists(st.floats(20, 200), min_size=1, max_size=4), st.integers(3, 10), st.floats(3, 10))
def test_no_two_holes_of_any_template_are_nearer_than_stated(
    sizes: list[float], pins: int, pin: float
) -> None:
    clamping = Clamping(pins=pins, pin_diameter=pin, clamps=2, clamp_width=12)
    try:
        template = pin_template(disc_diameters=sizes, clamping=clamping)
    except InvalidInput:
        return
    assert least_web(template) >= pin - 1e-6
    for circle in template.circles:
        assert all(circle.room(gap) >= 12 - 1e-6 for gap in range(2))


def test_sizes_that_cannot_share_a_template_are_named() -> None:
    clamping = Clamping(pins=12, pin_diameter=8, clamps=2, clamp_width=20)
    with pytest.raises(
        InvalidInput, match=r"100 mm and the 98 mm disc .* thinner pins, fewer pins"
    ) as refused:
        pin_template(disc_diameters=[98, 100], clamping=clamping)
    assert refused.value.place == "disc_diameters"


def test_a_template_has_one_to_twelve_sizes() -> None:
    for sizes in ([], [20.0 + n for n in range(13)]):
        with pytest.raises(InvalidInput, match="1 to 12 sizes"):
            pin_template(disc_diameters=sizes, clamping=Clamping())


def test_a_narrow_clamp_takes_no_less_room_than_two_pins_want_between_them() -> None:
    jig = {"disc_diameter": 15.0, "pins": 3, "pin_diameter": 12.0, "clamps": 1, "clamp_width": 5.0}
    # Three pins stand 23.4 mm apart at the most, whatever the clamp, and their holes want 24.
    with pytest.raises(InvalidInput, match="thinner pins") as refused:
        pin_circle(**jig)  # type: ignore[arg-type]
    assert "at most" not in refused.value.reason
