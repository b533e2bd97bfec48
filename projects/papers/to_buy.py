"""The timber list as a PDF for the yard: boards to buy, the least that would do, and room for what was found."""

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from typing import TYPE_CHECKING, Any

from estimating.quantities import InchStyle, Unit, format_length, unit_in_mm
from projects.papers.sizes import PaperName
from projects.papers.words import counted
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.wood.to_buy import BoardsToBuy, LeastSize, RackCheck, ThicknessToBuy, ToBuy

_UNDATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
_CUBIC_METRE = 1e9
_NEAR = 1e-6


@dataclass(frozen=True)
class Units:
    """How lengths are written: in millimetres, or in inches as fractions to 1/64 or as decimals."""

    unit: Unit
    inches: InchStyle = "fraction"

    @property
    def step(self) -> float:
        """mm that a least size is rounded up to."""
        if self.unit != "in":
            return 1.0
        return unit_in_mm("in") / (64 if self.inches == "fraction" else 1000)

    def size(self, mm: float) -> str:
        """A length without its unit."""
        return format_length(mm, unit=self.unit, inches=self.inches)

    def at_least(self, mm: float, bought: float) -> str:
        """A least length, rounded up so that it still holds, but to no more than what would be bought."""
        return self.size(min(ceil(mm / self.step - _NEAR) * self.step, bought))


@dataclass(frozen=True)
class Line:
    """Boards of one line as they are printed."""

    count: int
    bought: str
    least: str
    longest_strip: str
    pieces: int
    rings: str
    price: str
    together: str


@dataclass(frozen=True)
class Part:
    """One wood in one thickness, as it is printed: the wood within a sentence, and by its name at the head of one."""

    wood: str
    name: str
    colour: str
    thickness: str
    summary: str
    volumes: str
    price: str
    unit_prices: str
    lines: tuple[Line, ...]


def in_rings(numbers: Sequence[int]) -> str:
    """`ring 7`, `rings 2–4, 6`."""
    return f"ring{'' if len(numbers) == 1 else 's'} {show.runs(numbers)}"


@dataclass(frozen=True)
class Printer:
    """Says a shopping list in words and figures; it reckons nothing. `names` and `colours` are by wood key.

    `rings` says ring numbers in words, where they run through several commissions.
    """

    units: Units
    currency: str
    names: Mapping[str, str]
    colours: Mapping[str, str]
    rings: Callable[[Sequence[int]], str] = in_rings

    def parts(self, listed: "ToBuy") -> list[Part]:
        """Every wood and thickness to buy."""
        return [self._part(part) for part in listed.thicknesses]

    def rack(self, listed: "ToBuy") -> "list[tuple[str, str, RackCheck, str]]":
        """Name and colour of each wood, its check against the rack, and the rings for which it lacks pieces."""
        return [
            (
                self._named(check.wood),
                self.colours[check.wood],
                check,
                self.rings(check.lacking_rings) if check.lacking else "",
            )
            for check in listed.rack
        ]

    def _named(self, wood: str) -> str:
        name = self.names[wood]
        return name[:1].upper() + name[1:]

    def money(self, amount: Decimal) -> str:
        """An amount with its sign."""
        return show.money(amount, self.currency)

    def volumes(self, listed: "ToBuy | ThicknessToBuy") -> str:
        """`12.50 board feet, 0.0295 m³`."""
        return f"{listed.board_feet:,.2f} board feet, {listed.volume / _CUBIC_METRE:,.4f} m³"

    def _part(self, part: "ThicknessToBuy") -> Part:
        thick = f"{self.units.size(part.thickness)} {self.units.unit}"
        named = f"{part.nominal} ({thick} rough)" if part.nominal else thick
        return Part(
            wood=self.names[part.wood],
            name=self._named(part.wood),
            colour=self.colours[part.wood],
            thickness=named,
            summary=counted(part.count, "board", "boards"),
            volumes=self.volumes(part),
            price=self.money(part.price),
            unit_prices=f"{self.money(part.per_board_foot)} a board foot or {self.money(part.per_m3)} a m³",
            lines=tuple(self._line(line) for line in part.boards),
        )

    def _line(self, line: "BoardsToBuy") -> Line:
        size, unit = self.units.size, self.units.unit
        return Line(
            count=line.count,
            bought=f"{size(line.length)} × {size(line.width)} × {line.nominal or size(line.thickness)}"
            + (f" {unit}" if not line.nominal else f" ({size(line.thickness)} {unit})"),
            least=self._least(line.least, line),
            longest_strip=f"{size(line.longest_strip)} {unit}",
            pieces=line.segments,
            rings=self.rings(line.rings),
            price=self.money(line.price),
            together=self.money(line.together),
        )

    def _least(self, least: "LeastSize", line: "BoardsToBuy") -> str:
        long = self.units.at_least(least.length, line.length)
        wide = self.units.at_least(least.width, line.width)
        thick = self.units.at_least(least.thickness, line.thickness)
        return f"at least {long} long clear of defects, {wide} wide, {thick} thick"


def write_timber_list(
    listed: "ToBuy",
    *,
    title: str,
    printer: Printer,
    paper: PaperName,
    studio: str = "",
    letters: Sequence[tuple[str, str]] = (),
    held: Sequence[str] = (),
) -> bytes:
    """The timber list as a tagged PDF, the same bytes each time. `studio` is a name for its head and foot.

    `letters` say which commission is which, where `printer` names rings by them; `held` are the plans of several
    commissions that hold boards for this one, by which is bought instead.
    """
    context: dict[str, Any] = {
        "title": title,
        "studio": studio,
        "letters": letters,
        "held": held,
        "paper": paper,
        "unit": printer.units.unit,
        "total": printer.money(listed.outlay),
        "boards": counted(listed.count, "board", "boards"),
        "volumes": printer.volumes(listed),
        "count": listed.count,
        "parts": list(_numbered(printer.parts(listed))),
        "rack": printer.rack(listed),
    }
    # Brings the PDF library, which the page itself does without.
    from projects.papers.printing import print_paper

    return print_paper("papers/to_buy.html", context, style="to_buy.css", made_at=_UNDATED)


def _numbered(parts: list[Part]) -> Iterator[tuple[Part, list[tuple[int, Line]]]]:
    """Each part with its lines board by board, numbered through the whole list: a box to tick for each."""
    number = 0
    for part in parts:
        boards = []
        for line in part.lines:
            for _ in range(line.count):
                number += 1
                boards.append((number, line))
        yield part, boards
