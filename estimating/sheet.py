"""The piece sheet: JSON in, checked dataclasses out, every error named with its place."""

from collections.abc import Mapping
from decimal import Decimal
from typing import get_args

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Board, BuildFrom, Laminate, Part, Sheet, ShopSettings, Surface, UsualBoard
from estimating.price.money import price_of_board
from estimating.quantities import Unit, unit_in_mm
from estimating.reading import Section
from estimating.shape.build import build_shapes
from estimating.sheet_bands import MOST_LAYERS, Names, read_bands, read_laminates, read_wood
from estimating.sheet_bench import read_bench
from estimating.sheet_climate import read_climate
from estimating.sheet_form import read_allowance, read_closings, read_form, read_holding, read_sits
from estimating.sheet_glue import read_label
from estimating.sheet_pricing import read_pricing
from estimating.sheet_shop import read_defects, read_finish, read_shop, read_usual_board
from estimating.workshop import Workshop, standing_workshop

_MOST_PARTS = 20
_MOST_LAMINATED = 150_000
"""Strips that segments are glued up from, each laminate of each layer for itself: so many are planned in seconds."""

_MOST_BOARDS = 500
_MOST_PIECES = 1000
_OF_A_PART = ("form", "allowance", "holding", "close_at", "build_from", "bands")
_SHOP_OF_SHAPE = (
    "bond_line",
    "flatten",
    "slice_hold",
    "slice_sanding",
    "slice_kerf",
    "extra_ring",
    "min_tip_edge",
)


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
    laminates = read_laminates(top, shop)
    parts = _read_parts(top, Names(shop, laminates))
    _check_laminated(top, parts, laminates)
    shape_is_read = len(errors) == before
    label, usual_settings = read_label(top, shop.label, shop.settings)
    settings = read_shop(top, usual_settings)
    usual_board = read_usual_board(top, shop.usual_board)
    boards = _read_boards(top, shop, usual_board)
    finish = read_finish(top, shop.finish)
    pricing = read_pricing(top, shop.pricing)
    climate = read_climate(top)
    bench = read_bench(top, settings)
    top.close()
    if errors:
        if shape_is_read and not _misread(errors, "shop", _SHOP_OF_SHAPE):
            errors += _errors_of_shape(parts, settings, laminates)
        raise InvalidSheet(errors)
    return Sheet(
        title=title,
        quantity=quantity,
        parts=parts,
        shop=settings,
        boards=boards,
        usual_board=usual_board,
        finish=finish,
        pricing=pricing,
        laminates=laminates,
        climate=climate,
        bench=bench,
        label=label,
    )


def _misread(errors: list[InvalidInput], section: str, keys: tuple[str, ...]) -> bool:
    """Whether the section, or one of these keys of it, could not be read and has a stand-in."""
    places = {section, *(f"{section}.{key}" for key in keys)}
    return any(error.place in places for error in errors)


def _errors_of_shape(
    parts: tuple[Part, ...], shop: ShopSettings, laminates: Mapping[str, Laminate]
) -> list[InvalidInput]:
    try:
        build_shapes(parts, shop=shop, laminates=laminates)
    except InvalidSheet as refusal:
        return list(refusal.errors)
    return []


def _read_parts(top: Section, names: Names) -> tuple[Part, ...]:
    """The parts of the piece; the keys of a single one may stand at the top."""
    if not top.has("parts"):
        return (_read_part(top, names, name="", place=""),)
    for key in _OF_A_PART:
        if top.has(key):
            top.refuse(key, "stands in each of the parts, not beside them")
    parts: list[Part] = []
    for place, item in top.items("parts", least=1, most=_MOST_PARTS):
        section = Section(item, place, top.errors, top.unit)
        name = section.text("name")
        if name and any(part.name == name for part in parts):
            section.refuse("name", "is the name of a part before it; parts are told apart by their names")
        parts.append(_read_part(section, names, name=name, place=f"{place}."))
        section.close()
    if sum(band.layers for part in parts for band in part.bands) > MOST_LAYERS:
        top.refuse("parts", f"must have at most {MOST_LAYERS} layers together")
    return tuple(parts)


def _check_laminated(top: Section, parts: tuple[Part, ...], laminates: Mapping[str, Laminate]) -> None:
    """Refuse more strips than can be planned: every layer's segments are laminated to their own size."""
    strips = {key: laminate.parts * len(laminate.strips) for key, laminate in laminates.items()}
    count = sum(
        strips.get(key, 0) * (1 if band.chart else band.layers)
        for part in parts
        for band in part.bands
        for row in band.chart or (band.woods,)
        for key in set(row)
    )
    if count > _MOST_LAMINATED:
        reason = (
            f"make {count:,} strips of different sizes, one for each layer; there may be {_MOST_LAMINATED:,}: "
            "use fewer strips, or laminates in fewer layers"
        )
        top.refuse("laminates", reason)


def _read_part(section: Section, names: Names, *, name: str, place: str) -> Part:
    form = read_form(section)
    holding = read_holding(section)
    return Part(
        form=form,
        allowance=read_allowance(section, holding),
        bands=read_bands(section, names),
        name=name,
        holding=holding,
        close_at=read_closings(section),
        build_from=section.choice("build_from", get_args(BuildFrom), "foot"),
        sits=read_sits(section) if place else None,
        place=place,
    )


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
    surface = section.choice("surface", get_args(Surface), "surfaced")
    ref = section.text("ref", "", may_be_empty=True)
    defects = read_defects(section, length=length, width=width)
    section.close()
    return Board(
        wood=wood,
        length=length,
        width=width,
        thickness=thickness,
        count=count,
        price=price,
        defects=defects,
        surface=surface,
        ref=ref,
    )
