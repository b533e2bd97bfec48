"""The sections of the piece sheet that say what a part is: form, allowance, holding, where it closes and sits."""

from dataclasses import replace
from itertools import pairwise
from typing import Any, get_args

from estimating.errors import InvalidInput
from estimating.piece import (
    Allowance,
    CurveKind,
    FormSheet,
    HeldBy,
    Holding,
    Inside,
    InsideKind,
    Point,
    Ready,
    Sits,
)
from estimating.reading import Section, check_length, check_list
from estimating.shape.curves import SAME_HEIGHT
from estimating.shape.ready import READY_FORMS, STRAIGHT_FORMS

CORNER = "corner"
_MOST_POINTS = 500
_MOST_CLOSINGS = 20


def read_form(top: Section) -> FormSheet:
    """The outer curve, by its points or as a ready form, and the inside."""
    section = top.section("form", required=True)
    if section is None:
        return FormSheet(outer=())
    if section.has("kind"):
        return _read_ready_form(section)
    outer, corners = _read_points(section, "outer")
    curve = section.choice("curve", get_args(CurveKind), "straight")
    inside = _read_inside(section)
    section.close()
    return FormSheet(outer=outer, curve=curve, inside=inside, corners=corners)


def _read_ready_form(section: Section) -> FormSheet:
    """A ready form and its measures, in place of points. A curved inside is smooth where the outside is round."""
    before = len(section.errors)
    kind = section.choice("kind", tuple(READY_FORMS))
    if len(section.errors) > before:
        _read_inside(section)
        return FormSheet(outer=())  # which measures an unknown kind may have, nobody knows
    ready = READY_FORMS[kind]
    measures = {
        name: section.length(name) if name in ready.may_be_zero else section.length(name, above=0)
        for name in ready.measures
    }
    if len(section.errors) == before and (refusal := ready.refusal(measures)):
        section.refuse(*refusal)
    inside = _read_inside(section)
    section.close()
    curve: CurveKind = "straight" if kind in STRAIGHT_FORMS else "smooth"
    return FormSheet(outer=(), curve=curve, inside=inside, ready=Ready(kind, tuple(measures.items())))


def _read_inside(form: Section) -> Inside:
    section = form.section("inside")
    if section is None:
        return Inside()
    before = len(section.errors)
    kind: InsideKind = section.choice("kind", get_args(InsideKind))
    if len(section.errors) > before:
        return Inside()  # which keys go with an unknown kind, nobody knows
    inside = Inside(kind=kind)
    if kind == "wall":
        wall, floor = section.length("wall", above=SAME_HEIGHT), section.length("floor")
        inside = replace(inside, wall=wall, floor=floor)
    elif kind == "curve":
        inner, corners = _read_points(section, "inner")
        inside = replace(inside, inner=inner, corners=corners)
    section.close()
    return inside


def _read_points(section: Section, key: str) -> tuple[tuple[Point, ...], tuple[int, ...]]:
    """Heights that rise strictly, radii that stay off the axis but at the ends; and which of them are corners."""
    items = section.items(key, least=2, most=_MOST_POINTS)
    before = len(section.errors)
    points, corners = [], []
    for number, (place, item) in enumerate(items):
        point, is_corner = _read_point(item, place, section)
        points.append(point)
        if is_corner:
            corners.append(number)
    if len(section.errors) == before:
        _check_points(points, section.at(key), section.errors, inner=key == "inner")
    return tuple(points), tuple(corners)


def _read_point(item: Any, place: str, section: Section) -> tuple[Point, bool]:
    values = check_list(item, place, section.errors, least=2, most=3)
    if not values:
        return (0.0, 0.0), False
    height, radius = (check_length(value, at, section.errors, section.unit) for at, value in values[:2])
    is_corner = len(values) == 3
    if is_corner and values[2][1] != CORNER:
        section.errors.append(InvalidInput(values[2][0], f'may only be "{CORNER}"'))
    return (height, radius), is_corner


def _check_points(points: list[Point], place: str, errors: list[InvalidInput], *, inner: bool) -> None:
    for index, (height, radius) in enumerate(points):
        if index and height - points[index - 1][0] <= SAME_HEIGHT:
            reason = f"heights must rise: {height:.6g} mm does not stand above {points[index - 1][0]:.6g} mm"
            errors.append(InvalidInput(f"{place}[{index}][0]", reason))
        if radius == 0 and 0 < index < len(points) - 1:
            reason = "must be more than 0: only the first and the last point may touch the axis"
            errors.append(InvalidInput(f"{place}[{index}][1]", reason))
    if points and all(radius == 0 for _, radius in points) and not inner:
        errors.append(InvalidInput(place, "has no width: some radius must be more than 0"))


def read_allowance(top: Section, holding: Holding | None) -> Allowance:
    """Wood left on for turning; what is below the foot comes from the holding where one is given."""
    section = top.section("allowance")
    read = dict.fromkeys(("outside", "inside", "top", "bottom"), 0.0)
    if section is not None:
        read = {key: section.length(key, 0.0, high=1000.0) for key in read}
        if holding is not None and section.has("bottom"):
            section.refuse("bottom", "is set by the holding; give one of the two")
        section.close()
    if holding is not None:
        read["bottom"] = holding.bottom
    return Allowance(**read)


def read_holding(top: Section) -> Holding | None:
    """How the foot is held on the lathe."""
    before = len(top.errors)
    section = top.section("holding")
    if section is None:
        return None
    by: HeldBy = section.choice("by", get_args(HeldBy))
    holding = Holding(
        by=by,
        depth=section.length("depth", 0.0, high=200.0),
        parting=section.length("parting", 0.0, high=50.0),
    )
    if holding.by != "waste_block" and holding.depth == 0 and len(section.errors) == before:
        section.refuse("depth", f"must be more than 0: a {by} needs something to hold by")
    section.close()
    return holding


def read_closings(top: Section) -> tuple[float, ...]:
    """Heights at which bowls are joined to a hollow form, rising."""
    items = top.items("close_at", required=False, most=_MOST_CLOSINGS)
    heights = [check_length(item, place, top.errors, top.unit) for place, item in items]
    for number, (lower, upper) in enumerate(pairwise(heights), 1):
        if upper - lower <= SAME_HEIGHT:
            top.errors.append(InvalidInput(top.at(f"close_at[{number}]"), "heights must rise"))
    return tuple(heights)


def read_sits(top: Section) -> Sits | None:
    """On which other part this one stands."""
    section = top.section("sits")
    if section is None:
        return None
    how = section.choice_of_keys("on", "in")
    sits = None
    if how == "on":
        sits = Sits("on", section.text("on"))
    elif how == "in":
        sits = Sits(
            "in",
            section.text("in"),
            flange=section.length("flange", above=0, high=1000.0),
            clearance=section.length("clearance", 0.3, high=20.0),
        )
    else:
        section.given()  # which keys go with it, nobody knows
    section.close()
    return sits
