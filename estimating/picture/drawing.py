"""Drawings of a piece to scale, as SVG: 1 unit is 1 mm, so that any of them can be printed full size."""

from collections.abc import Mapping, Sequence

from estimating.picture.dimensions import Note, Pen, across, along, brackets, hairlines
from estimating.picture.elevation import FRONT, LEFT, elevation
from estimating.picture.ring_plan import draw_ring, turned_radii
from estimating.picture.section import blank_spans, blanks, section
from estimating.picture.subject import Subject
from estimating.picture.svg import document, number
from estimating.piece import Band
from estimating.quantities import InchStyle, Unit, format_length
from estimating.shape.forms import Form
from estimating.shape.layers import Stack
from estimating.shape.rings import Ring

__all__ = ["draw_elevation", "draw_piece", "draw_ring", "draw_section", "turned_radii"]

TEXT = 2.7
"""Height of a dimension's figures in hundredths of the piece, unless asked otherwise."""

WIDE = 1.25
"""A wide piece counts for more than its width: its drawing is shown smaller than a tall one's on the same sheet."""


def draw_piece(
    *,
    form: Form,
    stack: Stack,
    rings: Sequence[Ring],
    ring_of_layer: Sequence[int],
    bands: Sequence[Band],
    colours: Mapping[str, str],
    title: str = "The piece",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    with_bands: bool = True,
    with_dimensions: bool = True,
    with_blanks: bool = True,
    text: float = TEXT,
    prefix: str = "dw",
    full_size: bool = False,
) -> str:
    """The working drawing: left half as turned, right half in section, with its dimensions and bands.

    Shape: an SVG element whose user unit is 1 mm; the axis is x = 0 and the rim y = 0. `ring_of_layer` gives each
        layer's place in `rings`; `colours` is #rrggbb by wood key. `text` is the figures' height in hundredths of
        the piece's larger measure. `prefix` begins every id, so that several drawings can stand on one page.
    Groups and paths carry data-layer and data-ring, counted from 1. Ink is currentColor. `full_size` gives the
        element its width and height in mm, to be printed 1 : 1.
    Errors: none for a stack that lay_stack and a form that build_form have passed. A wood with no colour is grey.
    """
    subject = Subject(form, stack, rings, ring_of_layer, bands, colours)
    pen = _pen(form, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subject, pen, both=True, with_blanks=with_blanks)
    sheet.add(elevation(subject, window=LEFT, line=pen.line), section(subject, side=1, line=pen.line))
    if with_blanks:
        sheet.add(blanks(subject, side=1, line=pen.line))
    sheet.add_axis()
    if with_dimensions:
        sheet.add_dimensions()
    if with_bands:
        sheet.add_bands()
    description = (
        f"{_described(subject, unit, inches)} Left half as it will be turned, right half in section"
        f"{'; dashed, the blanks before turning' if with_blanks else ''}."
    )
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def draw_elevation(
    *,
    form: Form,
    stack: Stack,
    rings: Sequence[Ring],
    ring_of_layer: Sequence[int],
    bands: Sequence[Band],
    colours: Mapping[str, str],
    title: str = "The piece from the front",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    with_dimensions: bool = False,
    text: float = TEXT,
    prefix: str = "dw",
    full_size: bool = False,
) -> str:
    """The whole piece from the front, every visible segment drawn. Otherwise as draw_piece."""
    subject = Subject(form, stack, rings, ring_of_layer, bands, colours)
    pen = _pen(form, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subject, pen, both=False, with_blanks=False)
    sheet.add(elevation(subject, window=FRONT, line=pen.line))
    if with_dimensions:
        sheet.add_dimensions()
    description = f"{_described(subject, unit, inches)} Seen from the front, as it will be turned."
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def draw_section(
    *,
    form: Form,
    stack: Stack,
    rings: Sequence[Ring],
    ring_of_layer: Sequence[int],
    bands: Sequence[Band],
    colours: Mapping[str, str],
    title: str = "The piece in section",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    with_dimensions: bool = True,
    with_blanks: bool = True,
    text: float = TEXT,
    prefix: str = "dw",
    full_size: bool = False,
) -> str:
    """The piece cut through its axis, both sides. Otherwise as draw_piece."""
    subject = Subject(form, stack, rings, ring_of_layer, bands, colours)
    pen = _pen(form, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subject, pen, both=True, with_blanks=with_blanks)
    for side in (-1, 1):
        sheet.add(section(subject, side=side, line=pen.line))
        if with_blanks:
            sheet.add(blanks(subject, side=side, line=pen.line))
            sheet.reach_left = sheet.reach_right
    sheet.add_axis()
    if with_dimensions:
        sheet.add_dimensions()
    description = f"{_described(subject, unit, inches)} In section through its axis."
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def _pen(form: Form, *, text: float, unit: Unit, inches: InchStyle) -> Pen:
    size = max(form.height, WIDE * form.largest_diameter) / 100
    return Pen(size=size, text=text * size, unit=unit, inches=inches)


def _described(subject: Subject, unit: Unit, inches: InchStyle) -> str:
    form, bands = subject.form, subject.bands
    height, width = (
        format_length(mm, unit=unit, inches=inches, with_unit=True)
        for mm in (form.height, form.largest_diameter)
    )
    layers = len(subject.stack)
    made_of = "; ".join(_band_detail(band, name=band.name or f"band {n}") for n, band in enumerate(bands, 1))
    return (
        f"{height} high and {width} across at its widest, "
        f"{layers} {'layer' if layers == 1 else 'layers'}. From the bottom up: {made_of}."
    )


def _band_detail(band: Band, *, name: str) -> str:
    layers = "1 layer" if band.layers == 1 else f"{band.layers} layers"
    what = f"{layers} of {band.segments} segments"
    if band.made == "staves":
        what = f"{band.segments} staves"
    elif band.is_disc:
        what = f"{layers}, {'veneer' if band.made == 'veneer' else 'solid'}"
    return f"{name}, {what}, {' and '.join(band.all_woods)}"


def _made(band: Band) -> str:
    """Of what a band's layers are, as a note on a drawing says it."""
    if band.is_disc:
        return "veneer" if band.made == "veneer" else "solid"
    return f"{band.segments} {'staves' if band.made == 'staves' else 'segments'}"


class _Sheet:
    """A drawing as it grows: what is on it, and how far it reaches from the axis and the rim, mm."""

    def __init__(self, subject: Subject, pen: Pen, *, both: bool, with_blanks: bool) -> None:
        self.subject, self.pen = subject, pen
        self._parts: list[str] = []
        form, margin = subject.form, 2 * pen.size
        self.widest = form.largest_diameter / 2
        spans = list(blank_spans(subject, 1)) if with_blanks else []
        self.top = min([0.0, *(form.top - top for _, top, _, _ in spans)])
        self.bottom = max([form.height, *(form.top - bottom for bottom, _, _, _ in spans)])
        self.reach_right = max([self.widest, *(outer for *_, outer in spans)])
        self.reach_left = self.widest
        self.left, self.right = -self.reach_left - margin, self.reach_right + margin
        self.above, self.below = self.top - margin, self.bottom + margin

    def add(self, *parts: str) -> None:
        self._parts += parts

    def add_axis(self) -> None:
        """The centre line, long and short dashes."""
        pen = self.pen
        d = f"M0,{number(self.top - 2 * pen.size)}V{number(self.bottom + 2 * pen.size)}"
        dashes = " ".join(number(share * pen.size) for share in (3, 0.7, 0.6, 0.7))
        self.add(hairlines(pen, d, opacity=0.9, dashes=dashes))

    def add_dimensions(self) -> None:
        """Height on the left, the rim above, the foot and then the largest diameter below."""
        form, pen = self.subject.form, self.pen
        rim, foot = float(form.outer.at_breaks[-1]), float(form.outer.at_breaks[0])
        rows = self._rows_below(rim=rim, foot=foot)
        if rim > 0.05 and (rim < self.widest - 0.05 or not rows):
            y = self.top - 6 * pen.size
            self.add(across(pen, radius=rim, y=y, start=0.0, name="rim"))
            self.above = y - 0.9 * pen.text - 2 * pen.size
        for place, (name, radius, start) in enumerate(rows, 1):
            y = self.bottom + place * (pen.text + 3.6 * pen.size) + 0.4 * pen.size
            self.add(across(pen, radius=radius, y=y, start=start, name=name))
            self.below = y + 2.5 * pen.size
        x = -self.reach_left - 5 * pen.size
        starts = (-rim, -foot)
        self.add(along(pen, x=x, upper=0.0, lower=form.height, starts=starts, value=form.height))
        self.left = x - pen.text - 2 * pen.size

    def _rows_below(self, *, rim: float, foot: float) -> list[tuple[str, float, float]]:
        """Name, radius and where the extension lines start, of the diameters given below the piece."""
        form = self.subject.form
        radii = form.outer.at_breaks
        widest_at = form.top - float(form.outer.breaks[int(radii.argmax())])
        rows = []
        if foot > 0.05 and foot < self.widest - 0.05:
            rows.append(("foot", foot, form.height))
        rows.append(("largest", self.widest, widest_at))
        return rows

    def add_bands(self) -> None:
        """A bracket and a note for each band, the top one first."""
        form, stack, pen = self.subject.form, self.subject.stack, self.pen
        notes = []
        above = len(stack)
        for place, band in reversed(list(enumerate(self.subject.bands))):
            last, first = above - 1, above - band.layers
            above = first
            detail = f"{band.layers} × {pen.length(band.thickness)}, {_made(band)}"
            upper, lower = form.top - float(stack.top[last]), form.top - float(stack.bottom[first])
            notes.append(Note(upper=upper, lower=lower, name=band.name or f"band {place + 1}", detail=detail))
        x = self.reach_right + 3.5 * pen.size
        room = max(self.below - self.above, 45 * pen.size)
        drawn, right, upper, lower = brackets(pen, notes, x=x, room=room)
        self.add(drawn)
        self.right = right + pen.size
        self.above, self.below = min(self.above, upper - pen.size), max(self.below, lower + pen.size)

    def finish(self, *, title: str, description: str, prefix: str, full_size: bool) -> str:
        box = (self.left, self.above, self.right - self.left, self.below - self.above)
        return document(
            *self._parts, box=box, title=title, description=description, prefix=prefix, full_size=full_size
        )
