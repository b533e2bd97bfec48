"""Drawings of a piece to scale, as SVG: 1 unit is 1 mm, so that any of them can be printed full size."""

from collections.abc import Iterator, Sequence

from estimating.picture.dimensions import Note, Pen, across, along, brackets, hairlines
from estimating.picture.elevation import FRONT, LEFT, elevation
from estimating.picture.hold import closing_labels, hold, hold_bottom
from estimating.picture.ring_plan import draw_ring, turned_radii
from estimating.picture.section import blank_spans, blanks, section
from estimating.picture.subject import Subject
from estimating.picture.svg import document, number
from estimating.piece import Band
from estimating.quantities import InchStyle, Unit, format_length

__all__ = ["draw_elevation", "draw_piece", "draw_ring", "draw_section", "turned_radii"]

TEXT = 2.7
"""Height of a dimension's figures in hundredths of the piece, unless asked otherwise."""

WIDE = 1.25
"""A wide piece counts for more than its width: its drawing is shown smaller than a tall one's on the same sheet."""


def draw_piece(
    *,
    subjects: Sequence[Subject],
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

    Shape: an SVG element whose user unit is 1 mm; the axis is x = 0 and the rim y = 0. `subjects` is one part, or all
        parts where they stand (see subjects_of): what a rim hides of a loose lid is hidden. `text` is the figures'
        height in hundredths of the piece's larger measure. `prefix` begins every id, so that several drawings can
        stand on one page.
    Groups and paths carry data-layer and data-ring, counted from 1 through all parts. Ink is currentColor.
        `full_size` gives the element its width and height in mm, to be printed 1 : 1.
    Errors: none for a stack that lay_stack and a form that build_form have passed. A wood with no colour is grey.
    """
    pen = _pen(subjects, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subjects, pen, both=True, with_blanks=with_blanks)
    for subject in hidden_first(subjects):
        sheet.add(elevation(subject, window=LEFT, line=pen.line))
    sheet.add_section(1, with_blanks=with_blanks)
    sheet.add_axis()
    sheet.add_joining()
    if with_dimensions:
        sheet.add_dimensions()
    if with_bands:
        sheet.add_bands()
    description = (
        f"{_described(subjects, unit, inches)} Left half as it will be turned, right half in section"
        f"{'; dashed, the blanks before turning' if with_blanks else ''}."
    )
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def draw_elevation(
    *,
    subjects: Sequence[Subject],
    title: str = "The piece from the front",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    with_dimensions: bool = False,
    text: float = TEXT,
    prefix: str = "dw",
    full_size: bool = False,
) -> str:
    """The whole piece from the front, every visible segment drawn. Otherwise as draw_piece."""
    pen = _pen(subjects, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subjects, pen, both=False, with_blanks=False)
    for subject in hidden_first(subjects):
        sheet.add(elevation(subject, window=FRONT, line=pen.line))
    if with_dimensions:
        sheet.add_dimensions()
    description = f"{_described(subjects, unit, inches)} Seen from the front, as it will be turned."
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def draw_section(
    *,
    subjects: Sequence[Subject],
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
    pen = _pen(subjects, text=text, unit=unit, inches=inches)
    sheet = _Sheet(subjects, pen, both=True, with_blanks=with_blanks)
    for side in (-1, 1):
        sheet.add_section(side, with_blanks=with_blanks)
    if with_blanks:
        sheet.reach_left = sheet.reach_right
    sheet.add_axis()
    sheet.add_joining()
    if with_dimensions:
        sheet.add_dimensions()
    description = f"{_described(subjects, unit, inches)} In section through its axis."
    return sheet.finish(title=title, description=description, prefix=prefix, full_size=full_size)


def hidden_first(subjects: Sequence[Subject]) -> list[Subject]:
    """Loose parts before those in whose rims they sit, which are drawn over them."""
    # Of two lids, one in the other's rim, the upper is drawn first.
    return [of for of in reversed(subjects) if of.loose] + [of for of in subjects if not of.loose]


def _size(subjects: Sequence[Subject]) -> tuple[float, float]:
    """Height and largest diameter of all the parts together, mm."""
    top = min(subject.zero - subject.form.top for subject in subjects)
    bottom = max(subject.zero - subject.form.bottom for subject in subjects)
    return bottom - top, max(subject.form.largest_diameter for subject in subjects)


def _pen(subjects: Sequence[Subject], *, text: float, unit: Unit, inches: InchStyle) -> Pen:
    height, diameter = _size(subjects)
    size = max(height, WIDE * diameter) / 100
    return Pen(size=size, text=text * size, unit=unit, inches=inches)


def _described(subjects: Sequence[Subject], unit: Unit, inches: InchStyle) -> str:
    height, width = (format_length(mm, unit=unit, inches=inches, with_unit=True) for mm in _size(subjects))
    layers = sum(len(subject.stack) for subject in subjects)
    made_of = "; ".join(
        _band_detail(band, name=_band_name(subject, number_))
        for subject in subjects
        for number_, band in enumerate(subject.bands)
    )
    return (
        f"{height} high and {width} across at its widest, "
        f"{layers} {'layer' if layers == 1 else 'layers'}. From the bottom up: {made_of}."
    )


def _band_name(subject: Subject, band: int) -> str:
    name = subject.bands[band].name or f"band {band + 1}"
    return f"{subject.name}: {name}" if subject.name else name


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


def _notes(subject: Subject, pen: Pen) -> Iterator[Note]:
    """What stands beside each band of a part, the top one first."""
    stack, above = subject.stack, len(subject.stack)
    for place, band in reversed(list(enumerate(subject.bands))):
        last, first = above - 1, above - band.layers
        above = first
        detail = f"{band.layers} × {pen.length(band.thickness)}, {_made(band)}"
        upper, lower = subject.zero - float(stack.top[last]), subject.zero - float(stack.bottom[first])
        yield Note(upper=upper, lower=lower, name=_band_name(subject, place), detail=detail)


class _Sheet:
    """A drawing as it grows: what is on it, and how far it reaches from the axis and the rim, mm."""

    def __init__(self, subjects: Sequence[Subject], pen: Pen, *, both: bool, with_blanks: bool) -> None:
        self.subjects, self.pen = subjects, pen
        self._parts: list[str] = []
        margin = 2 * pen.size
        self.height, diameter = _size(subjects)
        self.widest = diameter / 2
        spans = [
            (of.zero - top, of.zero - bottom, outer)
            for of in subjects
            if with_blanks
            for bottom, top, _, outer in blank_spans(of, 1)
        ]
        self.top = min([0.0, *(top for top, _, _ in spans)])
        self.bottom = max([self.height, *(bottom for _, bottom, _ in spans)])
        if both:
            self.bottom = max(self.bottom, *(hold_bottom(of, pen) for of in subjects))
        self.reach_right = max([self.widest, *(outer for *_, outer in spans)])
        self.reach_left = self.widest
        self.left, self.right = -self.reach_left - margin, self.reach_right + margin
        self.above, self.below = self.top - margin, self.bottom + margin

    def add(self, *parts: str) -> None:
        self._parts += parts

    def add_section(self, side: int, *, with_blanks: bool) -> None:
        """Every part in section on one side of the axis, and its blanks."""
        for subject in self.subjects:
            self.add(section(subject, side=side, line=self.pen.line))
            if with_blanks:
                self.add(blanks(subject, side=side, line=self.pen.line))

    def add_joining(self) -> None:
        """What is said of closed hollow forms, and the hold below each foot."""
        for subject in self.subjects:
            self.add(*closing_labels(subject, self.pen), hold(subject, self.pen))

    def add_axis(self) -> None:
        """The centre line, long and short dashes."""
        pen = self.pen
        d = f"M0,{number(self.top - 2 * pen.size)}V{number(self.bottom + 2 * pen.size)}"
        dashes = " ".join(number(share * pen.size) for share in (3, 0.7, 0.6, 0.7))
        self.add(hairlines(pen, d, opacity=0.9, dashes=dashes))

    def add_dimensions(self) -> None:
        """Height on the left, the rim above, the foot and then the largest diameter below."""
        pen = self.pen
        highest = min(self.subjects, key=lambda of: of.zero - of.form.top).form
        lowest = max(self.subjects, key=lambda of: of.zero - of.form.bottom).form
        rim, foot = float(highest.outer.at_breaks[-1]), float(lowest.outer.at_breaks[0])
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
        self.add(along(pen, x=x, upper=0.0, lower=self.height, starts=starts, value=self.height))
        self.left = x - pen.text - 2 * pen.size

    def _rows_below(self, *, rim: float, foot: float) -> list[tuple[str, float, float]]:
        """Name, radius and where the extension lines start, of the diameters given below the piece."""
        widest = max(self.subjects, key=lambda of: of.form.largest_diameter)
        outer = widest.form.outer
        widest_at = widest.zero - float(outer.breaks[int(outer.at_breaks.argmax())])
        rows = []
        if foot > 0.05 and foot < self.widest - 0.05:
            rows.append(("foot", foot, self.height))
        rows.append(("largest", self.widest, widest_at))
        return rows

    def add_bands(self) -> None:
        """A bracket and a note for each band, the top one first."""
        pen = self.pen
        notes = [note for subject in self.subjects for note in _notes(subject, pen)]
        notes.sort(key=lambda note: note.upper + note.lower)
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
