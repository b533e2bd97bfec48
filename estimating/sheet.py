"""The piece sheet: JSON in, checked dataclasses out, every error named with its place."""

from dataclasses import replace
from decimal import Decimal
from typing import Any, get_args

from estimating.errors import InvalidInput, InvalidSheet, shown
from estimating.piece import (
    Allowance,
    Band,
    Board,
    CurveKind,
    FormSheet,
    Inside,
    InsideKind,
    Made,
    Point,
    Ready,
    Sheet,
    ShopSettings,
    UsualBoard,
)
from estimating.price.money import price_of_board
from estimating.quantities import Unit, unit_in_mm
from estimating.reading import (
    Limits,
    Section,
    check_length,
    check_list,
    check_number,
    check_text,
    did_you_mean,
)
from estimating.shape.build import build_shape
from estimating.shape.curves import SAME_HEIGHT
from estimating.shape.ready import READY_FORMS, STRAIGHT_FORMS
from estimating.shape.rings import FEWEST_SEGMENTS, MOST_SEGMENTS
from estimating.sheet_shop import read_finish, read_pricing, read_shop, read_usual_board
from estimating.workshop import Workshop, standing_workshop

MOST_LAYERS = 5000
_MOST_POINTS = 500
_MOST_BANDS = 500
_MOST_BOARDS = 500
_MOST_OFFSETS = MOST_LAYERS
_MOST_PIECES = 1000
_SHOP_OF_SHAPE = ("bond_line", "flatten", "slice_hold", "slice_sanding", "slice_kerf", "extra_ring")


def read_sheet(data: object, *, workshop: Workshop | None = None) -> Sheet:
    """The sheet that the JSON value asks for, the workshop's own ways standing where it is silent.

    Errors: InvalidSheet with every error at once, in the order the sheet is read; the shape is checked as well
    where form and bands can be read.
    """
    shop = workshop or standing_workshop()
    errors: list[InvalidInput] = []
    if not isinstance(data, dict):
        Section(data, "", errors)
        raise InvalidSheet(errors)
    unit = Section(data, "", []).choice("unit", get_args(Unit), "mm")
    unit_in_mm(unit)
    top = Section(data, "", errors, unit)
    title = top.text("title")
    top.choice("unit", get_args(Unit))
    quantity = top.integer("quantity", 1, low=1, high=_MOST_PIECES)
    before = len(errors)
    form = _read_form(top)
    allowance = _read_allowance(top)
    bands = _read_bands(top, shop)
    shape_is_read = len(errors) == before
    settings = read_shop(top, shop.settings)
    usual_board = read_usual_board(top, shop.usual_board)
    boards = _read_boards(top, shop, usual_board)
    finish = read_finish(top, shop.finish)
    pricing = read_pricing(top, shop.pricing)
    top.close()
    if errors:
        if shape_is_read and not _misread(errors, "shop", _SHOP_OF_SHAPE):
            errors += _errors_of_shape(form, allowance, bands, settings)
        raise InvalidSheet(errors)
    return Sheet(
        title=title,
        quantity=quantity,
        form=form,
        allowance=allowance,
        bands=bands,
        shop=settings,
        boards=boards,
        usual_board=usual_board,
        finish=finish,
        pricing=pricing,
    )


def _misread(errors: list[InvalidInput], section: str, keys: tuple[str, ...]) -> bool:
    """Whether the section, or one of these keys of it, could not be read and has a stand-in."""
    places = {section, *(f"{section}.{key}" for key in keys)}
    return any(error.place in places for error in errors)


def _errors_of_shape(
    form: FormSheet, allowance: Allowance, bands: tuple[Band, ...], shop: ShopSettings
) -> list[InvalidInput]:
    try:
        build_shape(form=form, allowance=allowance, bands=bands, shop=shop)
    except InvalidSheet as refusal:
        return list(refusal.errors)
    return []


def _section(parent: Section, key: str, *, required: bool = False) -> Section | None:
    """The object at a key, to be closed by who reads it; None where it is not given."""
    if not parent.has(key):
        if required:
            parent.refuse_missing(key)
        return None
    return Section(parent.raw(key), parent.at(key), parent.errors, parent.unit)


def _read_form(top: Section) -> FormSheet:
    section = _section(top, "form", required=True)
    if section is None:
        return FormSheet(outer=())
    if section.has("kind"):
        return _read_ready_form(section)
    outer = _read_points(section, "outer")
    curve = section.choice("curve", get_args(CurveKind), "straight")
    inside = _read_inside(section)
    section.close()
    return FormSheet(outer=outer, curve=curve, inside=inside)


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
    section = _section(form, "inside")
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
        inside = replace(inside, inner=_read_points(section, "inner"))
    section.close()
    return inside


def _read_points(section: Section, key: str) -> tuple[Point, ...]:
    """Heights that rise strictly, radii that stay off the axis but at the ends."""
    items = section.items(key, least=2, most=_MOST_POINTS)
    before = len(section.errors)
    points = [_read_point(item, place, section) for place, item in items]
    if len(section.errors) == before:
        _check_points(points, section.at(key), section.errors, inner=key == "inner")
    return tuple(points)


def _read_point(item: Any, place: str, section: Section) -> Point:
    pair = check_list(item, place, section.errors, least=2, most=2)
    if not pair:
        return 0.0, 0.0
    height, radius = (check_length(value, at, section.errors, section.unit) for at, value in pair)
    return height, radius


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


def _read_allowance(top: Section) -> Allowance:
    section = _section(top, "allowance")
    if section is None:
        return Allowance()
    read = {key: section.length(key, 0.0, high=1000.0) for key in ("outside", "inside", "top", "bottom")}
    section.close()
    return Allowance(**read)


def _read_bands(top: Section, workshop: Workshop) -> tuple[Band, ...]:
    items = top.items("bands", least=1, most=_MOST_BANDS)
    bands = tuple(_read_band(Section(item, place, top.errors, top.unit), workshop) for place, item in items)
    if sum(band.layers for band in bands) > MOST_LAYERS:
        top.refuse("bands", f"must have at most {MOST_LAYERS} layers together")
    return bands


def _read_band(section: Section, workshop: Workshop) -> Band:
    before = len(section.errors)
    name = section.text("name", "", may_be_empty=True)
    layers = section.integer("layers", low=1, high=MOST_LAYERS)
    thickness = section.length("thickness", above=0)
    segments = section.integer("segments", low=FEWEST_SEGMENTS, high=MOST_SEGMENTS)
    readable = len(section.errors) == before
    woods = _read_woods(section, workshop)
    if readable and woods and segments % len(woods):
        fits = ", ".join(str(n) for n in range(1, segments + 1) if segments % n == 0)
        reason = f"{len(woods)} woods do not go evenly into {segments} segments; give a number of woods out of {fits}"
        section.refuse("woods", reason)
    offsets = _read_offsets(section)
    gap = section.number("gap", 0.0, low=0, below=1)
    made = section.choice("made", get_args(Made), "cut")
    ring_height = None
    if made == "sliced":
        ring_height = section.length("ring_height", above=0)
    elif section.has("ring_height"):
        section.refuse("ring_height", 'goes with "made": "sliced" only')
    section.close()
    return Band(
        name=name,
        layers=layers,
        thickness=thickness,
        segments=segments,
        woods=woods,
        offsets=offsets,
        gap=gap,
        made=made,
        ring_height=ring_height,
    )


def _read_woods(section: Section, workshop: Workshop) -> tuple[str, ...]:
    items = section.items("woods", least=1, most=MOST_SEGMENTS)
    return tuple(read_wood(item, place, section.errors, workshop) for place, item in items)


def read_wood(value: object, place: str, errors: list[InvalidInput], workshop: Workshop) -> str:
    """A wood's key; one the workshop does not have is refused with the nearest names."""
    before = len(errors)
    key = check_text(value, place, errors)
    if len(errors) == before and key not in workshop.woods:
        hint = did_you_mean(key, workshop.woods, errors, most=3)
        errors.append(InvalidInput(place, f'no wood is called "{shown(key)}" here{hint}'))
    return key


def _read_offsets(section: Section) -> tuple[float, ...]:
    if not section.has("offset"):
        return (0.0,)
    value = section.raw("offset")
    if not isinstance(value, list):
        return (section.number("offset", low=-MOST_SEGMENTS, high=MOST_SEGMENTS),)
    items = section.items("offset", least=1, most=_MOST_OFFSETS)
    limits: Limits = {"low": -MOST_SEGMENTS, "high": MOST_SEGMENTS}
    return tuple(check_number(item, place, section.errors, **limits) for place, item in items) or (0.0,)


def _read_boards(top: Section, workshop: Workshop, usual: UsualBoard) -> tuple[Board, ...]:
    items = top.items("boards", required=False, most=_MOST_BOARDS)
    return tuple(
        _read_board(Section(item, place, top.errors, top.unit), workshop, usual) for place, item in items
    )


def _read_board(section: Section, workshop: Workshop, usual: UsualBoard) -> Board:
    wood = (
        read_wood(section.raw("wood"), section.at("wood"), section.errors, workshop)
        if section.has("wood")
        else ""
    )
    if not wood and not section.has("wood"):
        section.refuse_missing("wood")
    length, width, thickness = (section.length(key, above=0) for key in ("length", "width", "thickness"))
    count = section.integer("count", 1, low=1, high=10_000)
    species = workshop.woods.get(wood)
    per_m3 = usual.price_of(species.price_per_m3 if species else Decimal(0))
    price = section.money("price", price_of_board(length * width * thickness, per_m3=per_m3))
    section.close()
    return Board(wood=wood, length=length, width=width, thickness=thickness, count=count, price=price)
