"""The sections of the piece sheet that say how a part is built: bands, their charts, and laminates."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import radians
from typing import Literal, get_args

from estimating.errors import InvalidInput, shown
from estimating.piece import DISCS, Band, Laminate, LaminateKind, Made, Match
from estimating.reading import (
    Limits,
    Section,
    check_number,
    check_text,
    did_you_mean,
)
from estimating.shape.rings import FEWEST_SEGMENTS, MOST_SEGMENTS
from estimating.workshop import Workshop

MOST_LAYERS = 5000
_MOST_BANDS = 500
_MOST_OFFSETS = MOST_LAYERS
_MOST_LAMINATES = 50
_MOST_STRIPS = 100
_THINNEST = 0.01
"""mm: no layer or strip is thinner. Far thinner ones drown in the rounding of what is reckoned from them."""

_MATCHES: tuple[Match, ...] = ("board", "book")

_BORED: tuple[Made, ...] = ("cut", "sliced", "solid", "veneer")


@dataclass(frozen=True)
class Names:
    """What may stand for a wood: the workshop's woods, and the sheet's laminates."""

    workshop: Workshop
    laminates: Collection[str] = ()


def read_wood(
    value: object, place: str, errors: list[InvalidInput], workshop: Workshop, laminates: Collection[str] = ()
) -> str:
    """A wood's key, or a laminate's; one that is neither is refused with the nearest names."""
    before = len(errors)
    key = check_text(value, place, errors)
    if len(errors) == before and key not in workshop.woods and key not in laminates:
        hint = did_you_mean(key, [*laminates, *workshop.woods], errors, most=3)
        errors.append(InvalidInput(place, f'no wood is called "{shown(key)}" here{hint}'))
    return key


def read_laminates(top: Section, workshop: Workshop) -> Mapping[str, Laminate]:
    """Segments glued up from strips, by the key that stands for them in bands."""
    if not top.has("laminates"):
        return {}
    section = top.section("laminates")
    assert section is not None
    keys = section.given()
    if len(keys) > _MOST_LAMINATES:
        section.refuse("", f"must have at most {_MOST_LAMINATES} laminates")
    found = {}
    for key in keys[:_MOST_LAMINATES]:
        before = len(section.errors)
        check_text(key, section.at(shown(key)), section.errors)
        if len(section.errors) > before:
            continue  # nothing inside could be named by its place
        if key in workshop.woods:
            section.refuse(key, "is the name of a wood; give the laminate another")
        one = section.section(key)
        assert one is not None
        found[key] = _read_laminate(one, workshop)
    section.close()
    return found


def _read_laminate(section: Section, workshop: Workshop) -> Laminate:
    kind: LaminateKind = section.choice("kind", get_args(LaminateKind))
    if kind == "stripes":
        angle = section.number("angle", 0.0, low=0, high=90)
    else:
        angle = section.number("angle", low=5, high=85)
    strips = []
    for place, item in section.items("strips", least=1, most=_MOST_STRIPS):
        strip = Section(item, place, section.errors, section.unit)
        wood = (
            read_wood(strip.raw("wood"), strip.at("wood"), strip.errors, workshop)
            if strip.has("wood")
            else ""
        )
        if not strip.has("wood"):
            strip.refuse_missing("wood")
        strips.append((wood, strip.length("width", above=0, low=_THINNEST)))
        strip.close()
    section.close()
    return Laminate(kind=kind, angle=radians(angle), strips=tuple(strips))


def read_bands(top: Section, names: Names) -> tuple[Band, ...]:
    """The bands from the bottom up."""
    items = top.items("bands", least=1, most=_MOST_BANDS)
    bands = tuple(_read_band(Section(item, place, top.errors, top.unit), names) for place, item in items)
    if sum(band.layers for band in bands) > MOST_LAYERS:
        top.refuse("bands", f"must have at most {MOST_LAYERS} layers together")
    return bands


def _read_band(section: Section, names: Names) -> Band:
    before = len(section.errors)
    name = section.text("name", "", may_be_empty=True)
    made = section.choice("made", get_args(Made), "cut")
    layers = section.integer("layers", low=1, high=MOST_LAYERS)
    if made == "staves" and layers != 1 and len(section.errors) == before:
        section.refuse("layers", "must be 1: staves stand as tall as their band")
    thickness = section.length("thickness", above=0, low=_THINNEST)
    segments = _read_segments(section, made)
    readable = len(section.errors) == before
    woods, chart = _read_pattern(
        section, names, layers=layers, made=made, segments=segments if readable else 0
    )
    offsets = _read_offsets(section)
    gap = 0.0
    if made in ("cut", "sliced"):
        gap = section.number("gap", 0.0, low=0, below=1)
    elif section.number("gap", 0.0, low=0, below=1) > 0:
        section.refuse("gap", f"goes with segments, not with {_in_words(made)}")
    ring_height = None
    if made == "sliced":
        ring_height = section.length("ring_height", above=0)
    elif section.has("ring_height"):
        section.refuse("ring_height", 'goes with "made": "sliced" only')
    bore, plug = _read_bore(section, names, made)
    match: Match = section.choice("match", _MATCHES) if section.has("match") else ""
    if match and made not in ("cut", "sliced"):
        section.refuse("match", f"goes with segments, not with {_in_words(made)}")
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
        bore=bore,
        plug=plug,
        chart=chart,
        match=match,
    )


def _in_words(made: Made) -> str:
    return {"solid": "a solid disc", "veneer": "a veneer", "staves": "staves"}.get(made, made)


def _read_segments(section: Section, made: Made) -> int:
    if made not in DISCS:
        return section.integer("segments", low=FEWEST_SEGMENTS, high=MOST_SEGMENTS)
    if section.has("segments"):
        section.refuse("segments", f"{_in_words(made)} has no segments; leave the key out")
    return 1


def _read_pattern(
    section: Section, names: Names, *, layers: int, made: Made, segments: int
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """The woods round the ring, or the chart in their place. `segments` is 0 where their number is not known."""
    if section.has("chart"):
        if section.has("woods"):
            section.refuse("woods", "stands beside a chart; give one of the two")
        if made in DISCS:
            section.refuse("chart", f"{_in_words(made)} has one wood; give it as woods")
        rows = _read_chart(section, names, layers=layers, segments=segments, alike=made == "sliced")
        return rows[0] if rows else (), rows
    items = section.items("woods", least=1, most=MOST_SEGMENTS)
    woods = tuple(
        read_wood(item, place, section.errors, names.workshop, names.laminates) for place, item in items
    )
    if made in DISCS:
        if len(woods) > 1:
            section.refuse("woods", f"{_in_words(made)} is of one wood, not {len(woods)}")
        elif woods and woods[0] in names.laminates:
            section.refuse("woods[0]", "a laminate makes segments, not a disc")
    elif segments and woods and segments % len(woods):
        fits = ", ".join(str(n) for n in range(1, segments + 1) if segments % n == 0)
        reason = f"{len(woods)} woods do not go evenly into {segments} segments; give a number of woods out of {fits}"
        section.refuse("woods", reason)
    return woods, ()


def _read_chart(
    section: Section, names: Names, *, layers: int, segments: int, alike: bool
) -> tuple[tuple[str, ...], ...]:
    """Rows of woods, one a layer from the bottom up, each repeated round the ring."""
    chart = section.section("chart")
    assert chart is not None
    legend = {}
    letters = chart.section("legend", required=True)
    if letters is not None:
        for letter in letters.given():
            if len(letter) != 1 or letter != shown(letter):
                letters.refuse(shown(letter), "must be a single sign that can be written")
                continue
            legend[letter] = read_wood(
                letters.raw(letter), letters.at(letter), letters.errors, names.workshop, names.laminates
            )
        letters.close()
    rows: list[str] = []
    for number, (place, item) in enumerate(chart.items("rows", least=1, most=MOST_LAYERS)):
        before = len(chart.errors)
        row = check_text(item, place, chart.errors, longest=MOST_SEGMENTS)
        if len(chart.errors) == before:
            _check_row(row, place, chart.errors, legend=legend, segments=segments)
        if alike and rows and row != rows[0] and len(chart.errors) == before:
            reason = (
                f"differs from the lowest row, but layers sawn from thick rings are alike: cut layer {number + 1} "
                "of this band from segments of its own, or turn it by its offset instead"
            )
            chart.errors.append(InvalidInput(place, reason))
        rows.append(row)
    if rows and len(rows) != layers:
        chart.refuse("rows", f"has {len(rows)} rows for {layers} layers; give one a layer, bottom up")
    chart.close()
    return tuple(tuple(legend.get(letter, "") for letter in row) for row in rows)


def _check_row(
    row: str, place: str, errors: list[InvalidInput], *, legend: Mapping[str, str], segments: int
) -> None:
    strangers = dict.fromkeys(letter for letter in row if letter not in legend)
    if strangers:
        errors.append(
            InvalidInput(place, f"has signs the legend does not explain: {shown(''.join(strangers))}")
        )
    if segments and segments % len(row):
        reason = f"is {len(row)} long, which does not go evenly into {segments} segments"
        errors.append(InvalidInput(place, reason))


def _read_offsets(section: Section) -> tuple[float, ...]:
    if not section.has("offset"):
        return (0.0,)
    value = section.raw("offset")
    if not isinstance(value, list):
        return (section.number("offset", low=-MOST_SEGMENTS, high=MOST_SEGMENTS),)
    items = section.items("offset", least=1, most=_MOST_OFFSETS)
    limits: Limits = {"low": -MOST_SEGMENTS, "high": MOST_SEGMENTS}
    return tuple(check_number(item, place, section.errors, **limits) for place, item in items) or (0.0,)


def _read_bore(
    section: Section, names: Names, made: Made
) -> tuple[float | Literal["auto"] | None, str | None]:
    bore: float | Literal["auto"] | None = None
    if section.has("bore"):
        if made not in _BORED:
            section.refuse("bore", f"{_in_words(made)} cannot be bored through the middle")
        bore = "auto" if section.raw("bore") == "auto" else section.length("bore", above=0)
        if bore == "auto" and made in DISCS:
            section.refuse("bore", f"{_in_words(made)} has no tips to bore away; give a diameter")
    plug = None
    if section.has("plug"):
        plug = read_wood(section.raw("plug"), section.at("plug"), section.errors, names.workshop)
        if bore is None:
            section.refuse("plug", "fills a bore; give the bore's diameter too")
    return bore, plug
