"""Where the wood goes, as ribbons: each as wide as its volume, lying for a page, upright for a narrow screen."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from estimating.picture.svg import document, element, number, text_of, wood_colour

_BEND = 16.0
_TAPER = 46.0
_LETTER = 0.56
"""Mean width of a letter by its height, on the wide side: room is kept, no line is set by it."""


@dataclass(frozen=True, slots=True)
class Strand:
    """One wood: its colour, what of it leaves at each branch, and what is left at the end. Any unit of volume."""

    colour: str | None
    leaves: tuple[float, ...]
    left: float

    def before(self, branch: int) -> float:
        """What there is just before a branch, counted from 0; after the last one what is left."""
        return sum(self.leaves[branch:]) + self.left


@dataclass(frozen=True, slots=True)
class Branch:
    """Where wood leaves: lines of words for what leaves and for what goes on; a loss is hatched, the rest is wood."""

    leaving: tuple[str, ...]
    going_on: tuple[str, ...]
    is_loss: bool = True


@dataclass(frozen=True, slots=True)
class _Way:
    """How the picture lies: along the flow, then across it from the side that nothing branches from.

    `width` is that of the ribbon of all boards, `first` to `last` the room along it. The units stand for no length.
    """

    upright: bool
    width: float
    text: float
    first: float
    pitch: float
    last: float

    def at(self, along: float, across: float) -> str:
        x, y = (across, along) if self.upright else (along, across)
        return f"{number(x)},{number(y)}"


_LYING = _Way(upright=False, width=230.0, text=15.0, first=150.0, pitch=176.0, last=176.0)
_UPRIGHT = _Way(upright=True, width=132.0, text=14.5, first=66.0, pitch=112.0, last=68.0)


def draw_flow(
    strands: Sequence[Strand],
    branches: Sequence[Branch],
    *,
    begins: Sequence[str],
    title: str,
    description: str,
    upright: bool = False,
    prefix: str = "fl",
) -> str:
    """The flow of one wood, or of several side by side, from boards to the piece.

    Shape: an SVG element. The ribbon keeps its scale throughout: at every place all that is drawn side by side is as
        wide as the boards less what has left. A branch at which nothing leaves is not drawn. `begins` are the words of
        what the ribbon begins with. `upright` flows down the page, for a narrow screen.
    Groups carry data-branch, counted from 1, their ribbons data-volume. Ink is currentColor, losses are hatched, and
        wood alone has a colour. `prefix` begins every id.
    Errors: ValueError where there is no wood, and for strands that do not leave at every branch.
    """
    if any(len(strand.leaves) != len(branches) for strand in strands) or _all(strands, 0) <= 0:
        raise ValueError("a flow needs wood, and each strand a volume for every branch")
    return _Picture(strands, branches, _UPRIGHT if upright else _LYING, prefix).drawn(
        begins, title=title, description=description
    )


def _all(strands: Sequence[Strand], branch: int) -> float:
    return sum(strand.before(branch) for strand in strands)


@dataclass(frozen=True, slots=True)
class _Point:
    """A place on an edge; `curved` where the edge reaches it by a curve as the wood flows."""

    along: float
    across: float
    curved: bool = False


class _Picture:
    """The ribbons and words of one flow. Its near side is straight; what leaves turns off on the far side."""

    def __init__(self, strands: Sequence[Strand], branches: Sequence[Branch], way: _Way, prefix: str) -> None:
        self.strands, self.branches, self.way, self.prefix = strands, branches, way, prefix
        self.scale = way.width / _all(strands, 0)
        self.shown = [at for at in range(len(branches)) if sum(of.leaves[at] for of in strands) > 0]
        self.ends = way.width + 3.0 * _BEND

    def drawn(self, begins: Sequence[str], *, title: str, description: str) -> str:
        """The whole picture."""
        starts = dict(zip(self.shown, self._places(), strict=True))
        end = (max(starts.values()) if starts else 0.0) + self.way.last
        words = [self._words_on(0.0, begins)]
        for at, start in starts.items():
            words += [self._words_on(start, self.branches[at].going_on), self._words_off(at, start)]
        return document(
            self._hatching(),
            *(self._leaving(at, start) for at, start in starts.items()),
            element("g", *self._woods(starts, end)),
            *words,
            box=self._box(end),
            title=title,
            description=description,
            prefix=self.prefix,
        )

    def _places(self) -> Iterator[float]:
        """Where along the flow each shown branch has left the ribbon: far enough apart for words and bends."""
        along = self.way.first
        for at in self.shown:
            yield along
            leaving = sum(of.leaves[at] for of in self.strands) * self.scale
            along += max(self.way.pitch, leaving + 2 * _BEND + _TAPER)

    def _bands(self, branch: int) -> list[float]:
        """Edges across the flow between the woods just before a branch."""
        return [0.0, *accumulate(strand.before(branch) * self.scale for strand in self.strands)]

    def _woods(self, starts: Mapping[int, float], end: float) -> Iterator[str]:
        """Each wood that goes on as one band: between branches straight, drawing together before each."""
        edges = [self._bands(0), *(self._bands(at + 1) for at in starts)]
        for number_, strand in enumerate(self.strands):
            near = self._edge([of[number_] for of in edges], list(starts.values()), end)
            far = self._edge([of[number_ + 1] for of in edges], list(starts.values()), end)
            if strand.before(0) > 0:
                path = f"M{self._along(near)} L{self._along(far[::-1])}Z"
                yield self._wood(path, strand)

    def _edge(self, across: Sequence[float], starts: Sequence[float], end: float) -> list[_Point]:
        """Points along an edge; at each branch it steps from one distance across to the next by a curve."""
        points = [_Point(0.0, across[0])]
        for start, (was, becomes) in zip(starts, pairwise(across), strict=True):
            points += [_Point(start - _TAPER, was), _Point(start, becomes, curved=True)]
        return [*points, _Point(end, across[-1])]

    def _along(self, points: Sequence[_Point]) -> str:
        """Path data through the points of an edge, in either direction."""
        at, said = self.way.at, [self.way.at(points[0].along, points[0].across)]
        for a, b in pairwise(points):
            # The curve lies before its point as the wood flows, so after it on the way back.
            if (b if b.along > a.along else a).curved:
                half = (a.along + b.along) / 2
                said.append(f"C{at(half, a.across)} {at(half, b.across)} {at(b.along, b.across)}")
            else:
                said.append(f"L{at(b.along, b.across)}")
        return " ".join(said)

    def _leaving(self, at: int, start: float) -> str:
        """What leaves at a branch: a loss as one hatched ribbon, what is kept wood by wood."""
        begin = self._bands(at + 1)[-1]
        leaves = [strand.leaves[at] for strand in self.strands]
        edges = list(accumulate((volume * self.scale for volume in leaves), initial=begin))
        if self.branches[at].is_loss:
            path = self._turning(start, edges[0], edges[-1], far_side=edges[-1])
            ribbon = element(
                "path", d=path, fill=f"url(#{self.prefix}-loss)", stroke="currentColor", stroke_width=0.9,
                data_volume=number(sum(leaves), 6),
            )  # fmt: skip
            return element("g", ribbon, data_branch=at + 1)
        ribbons = [
            self._wood(self._turning(start, near, far, far_side=edges[-1]), strand, strand.leaves[at])
            for strand, (near, far) in zip(self.strands, pairwise(edges), strict=True)
            if far > near
        ]
        return element("g", *ribbons, data_branch=at + 1)

    def _wood(self, path: str, strand: Strand, volume: float | None = None) -> str:
        colour = wood_colour(strand.colour)
        return element(
            "path", d=path, fill=colour, stroke="currentColor", stroke_width=0.5,
            data_volume=None if volume is None else number(volume, 6),
        )  # fmt: skip

    def _turning(self, start: float, near: float, far: float, *, far_side: float) -> str:
        """A ribbon that leaves: it gathers from nothing on the far side, turns a quarter and runs to the end line."""
        at, centre = self.way.at, far_side + _BEND
        inner, outer = centre - far, centre - near
        begin, half = start - _TAPER, start - _TAPER / 2
        arc_out, arc_in = ("0", "1") if self.way.upright else ("1", "0")
        return (
            f"M{at(begin, far_side)} C{at(half, far_side)} {at(half, near)} {at(start, near)} "
            f"A{number(outer)},{number(outer)} 0 0 {arc_out} {at(start + outer, centre)} "
            f"L{at(start + outer, self.ends)} L{at(start + inner, self.ends)} L{at(start + inner, centre)} "
            f"A{number(inner)},{number(inner)} 0 0 {arc_in} {at(start, far)} "
            f"C{at(half, far)} {at(half, far_side)} {at(begin, far_side)}Z"
        )

    def _words_on(self, along: float, lines: Sequence[str]) -> str:
        """Words of what goes on, on the straight side of the ribbon; upright, beside it."""
        way = self.way
        if not way.upright:
            return self._text(lines, along, -10.0 - (len(lines) - 1) * way.text * 1.25, strong=True)
        return self._text([" ".join(lines)], self.ends + 10.0, along + way.text * 0.2, strong=True)

    def _words_off(self, at: int, start: float) -> str:
        """Words of what leaves, where its ribbon ends."""
        way, lines = self.way, self.branches[at].leaving
        width = sum(of.leaves[at] for of in self.strands) * self.scale
        if not way.upright:
            return self._text(lines, start + _BEND, self.ends + way.text * 1.35)
        middle = start + _BEND + width / 2 - (len(lines) - 1) * way.text * 0.625
        return self._text(lines, self.ends + 10.0, max(middle, start + way.text * 1.6) + way.text * 0.35)

    def _text(self, lines: Sequence[str], x: float, y: float, *, strong: bool = False) -> str:
        size = self.way.text
        rows = [
            element("tspan", text_of(line), x=number(x), dy=number(size * 1.25) if at else None)
            for at, line in enumerate(lines)
        ]
        return element(
            "text", *rows, x=number(x), y=number(y), font_size=number(size), fill="currentColor",
            font_weight="600" if strong else None, aria_hidden="true",
        )  # fmt: skip

    def _hatching(self) -> str:
        """The pattern of what is lost: slanting hairlines in ink, which print in black and white."""
        line = element("path", d="M0,6 L6,0", stroke="currentColor", stroke_width=0.8, fill="none")
        pattern = element(
            "pattern", line, id=f"{self.prefix}-loss", width=6, height=6, patternUnits="userSpaceOnUse"
        )
        return element("defs", pattern)

    def _box(self, end: float) -> tuple[float, float, float, float]:
        """Room for the ribbons and the words at their ends."""
        way = self.way
        lines = [self.branches[at].leaving for at in self.shown]
        most = max((len(words) for words in lines), default=0)
        longest = max((len(line) for words in lines for line in words), default=0)
        if way.upright:
            on = max((len(" ".join(self.branches[at].going_on)) for at in self.shown), default=0)
            reach = self.ends + 12 + max(longest, on) * way.text * _LETTER
            return (-2.0, -way.text * 1.4, reach + 2, end + way.text * 1.6)
        top = -14.0 - way.text * 2.5
        bottom = (self.ends if most else way.width) + way.text * (1.25 * most + 0.8)
        return (-2.0, top, end + 4, bottom - top)
