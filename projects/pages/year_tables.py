"""A year's figures as tables: each figure printed, with its working in a line, and plain for a file."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from django.utils.safestring import SafeString, mark_safe

from projects.models import Studio
from projects.models.fields import plain_text
from projects.templatetags import turnery as show
from projects.year import NEAR, Accuracy, Earned, Unpaid, WoodUsed, unpaid_in_all, woods_in_all

if TYPE_CHECKING:
    from estimating.picture.bars import Bar

WITHIN = f"within {NEAR * 100:.0f} %"
"""What is said of estimates that were near."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure as it is printed, how it comes about, and as a file has it."""

    text: str
    why: str = ""
    plain: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """What a row is of, and its figures."""

    head: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the page and of a file: its heads, rows, and the row they add up to; pictures lying and upright."""

    slug: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    foot: Row | None = None
    pictures: tuple[SafeString, ...] = field(default=())

    @property
    def body(self) -> list[tuple[str, list[tuple[str, Cell]]]]:
        """Each row's head, and its cells with their columns' heads."""
        return [self._headed(row) for row in self.rows]

    @property
    def last(self) -> tuple[str, list[tuple[str, Cell]]] | None:
        """The sum likewise."""
        return self._headed(self.foot) if self.foot else None

    def _headed(self, row: Row) -> tuple[str, list[tuple[str, Cell]]]:
        return row.head, list(zip(self.heads[1:], row.cells, strict=True))

    @property
    def lines(self) -> list[list[str]]:
        """Its rows as a file has them, the sum among them."""
        rows = [*self.rows, *([self.foot] if self.foot else [])]
        return [
            [row.head, *(cell.text if cell.plain is None else cell.plain for cell in row.cells)]
            for row in rows
        ]


def coins(amount: Decimal, currency: str, why: str = "") -> Cell:
    """An amount."""
    return Cell(show.money(amount, currency), why, plain_text(amount + 0))


def time(minutes: Decimal, why: str = "") -> Cell:
    """Minutes as hours."""
    return Cell(f"{minutes / 60:,.1f} h", why, f"{minutes / 60:.2f}")


def count(number: int, why: str = "") -> Cell:
    """A number of things."""
    return Cell(f"{number:,}", why, str(number))


def wood(mm3: Decimal, studio: Studio, why: str = "") -> Cell:
    """A volume of wood as the shop measures it."""
    return Cell(show.timber(mm3, studio), why, f"{show.in_timber(mm3, studio):.3f}")


def pictures(bars: "Sequence[Bar]", *, title: str, slug: str) -> tuple[SafeString, ...]:
    """Bars lying and upright, with all they show in words; none where there is nothing to draw."""
    from estimating.picture.bars import draw_bars

    if not any(bar.amount for bar in bars):
        return ()
    said = "; ".join(f"{bar.words} {bar.printed}" for bar in bars)
    drawn = (
        draw_bars(
            bars,
            title=title,
            description=f"{said}.",
            upright=upright,
            prefix=f"{slug}-up" if upright else slug,
        )
        for upright in (False, True)
    )
    return tuple(mark_safe(svg) for svg in drawn)  # made of escaped text


def earned_table(
    slug: str, head: str, rows: Sequence[Earned], *, whole: Earned, caption: str, as_expense: bool
) -> Table:
    """What was earned in parts, and altogether. `as_expense` begins with sales and takes the galleries' share off."""
    from estimating.picture.bars import Bar

    money = ("sales", "galleries' share", "earned") if as_expense else ("earned",)
    bars = [Bar(row.words, show.money(row.earned, row.currency), float(row.earned)) for row in rows]
    return Table(
        slug=slug,
        caption=caption,
        heads=(head, "commissions and sales", "accepted", "came in", *money, "hours", "earned an hour"),
        rows=tuple(_earned_row(row, as_expense) for row in rows),
        foot=_earned_row(whole, as_expense),
        pictures=pictures(bars, title=caption, slug=slug),
    )


_COUNTED = (
    "Commissions with money, hours or an acceptance in the year; pieces of none sold or paid for in it."
)
_ACCEPTED = "Before tax: quotes and changes accepted in the year; your part of pieces of no commission that were sold."


def _earned_row(row: Earned, as_expense: bool) -> Row:
    sales = (
        (
            coins(row.sales, row.currency, f"{_money(row.earned, row)} earned and the galleries' share."),
            coins(row.share, row.currency, "The same part of what came in as of what was accepted."),
        )
        if as_expense
        else ()
    )
    return Row(
        row.words,
        (
            count(row.jobs, _COUNTED),
            coins(row.agreed, row.currency, _ACCEPTED),
            coins(row.received, row.currency, "Payments in less payments back; struck ones do not count."),
            *sales,
            coins(row.earned, row.currency, earned_words(row)),
            time(row.minutes, "The hours log of the year; a clock that still runs does not count."),
            an_hour(row),
        ),
    )


def earned_words(row: Earned) -> str:
    """How what was earned comes about."""
    passed = f", less {_money(row.passed_on, row)} passed on to galleries" if row.passed_on else ""
    return f"{_money(row.received, row)} came in, less {_money(row.tax, row)} of it tax{passed}."


def an_hour(row: Earned) -> Cell:
    """Earned by the hour, a dash where no hour is logged."""
    if row.an_hour is None:
        return Cell(show.DASH, "No hours are logged.", "")
    why = f"{_money(row.earned, row)} / {row.minutes / 60:,.2f} h. Before your costs."
    return coins(row.an_hour, row.currency, why)


def _money(amount: Decimal, row: Earned) -> str:
    return show.money(amount, row.currency)


def unpaid_table(rows: Sequence[Unpaid], *, currency: str) -> Table:
    """Sold and unpaid, gallery by gallery."""
    from estimating.picture.bars import Bar

    caption = "Sold and unpaid, by gallery"
    bars = [Bar(row.name, show.money(row.sold, currency), float(row.sold)) for row in rows]
    return Table(
        slug="unpaid",
        caption=caption,
        heads=("gallery", "commissions", "other pieces", "sold, unpaid", "overdue", "not sold yet"),
        rows=tuple(_unpaid_row(row, currency) for row in rows),
        foot=_unpaid_row(unpaid_in_all(rows, words="all galleries"), currency),
        pictures=pictures(bars, title=caption, slug="unpaid"),
    )


_UNPAID = (
    "Of its commissions what is owed for pieces sold, as Money has it; of other pieces your part with its tax, less "
    "what it paid, as its consignment list has it."
)
_OTHERS = "Pieces of no commission of its own that it sold, of which money is open today."
_NOT_SOLD = "Of commissions on consignment, for the pieces that the log does not say are sold."


def _unpaid_row(row: Unpaid, currency: str) -> Row:
    return Row(
        row.name,
        (
            count(row.jobs, "Its commissions of which money is open today."),
            count(row.pieces, _OTHERS),
            coins(row.sold, currency, _UNPAID),
            coins(row.overdue, currency, "Asked for, and its day has passed; of all that is open."),
            coins(row.out, currency, _NOT_SOLD),
        ),
    )


def woods_table(woods: Sequence[WoodUsed], *, studio: Studio) -> Table:
    """Woods used, in the shop's measure."""
    from estimating.picture.bars import Bar

    caption = "Woods used"
    unit = show.timber_unit(studio)
    bars = [
        Bar(row.name, f"{show.timber(row.used, studio)} {unit}", float(row.used), row.colour or None)
        for row in woods
    ]
    return Table(
        slug="woods",
        caption=caption,
        heads=("wood", f"cut, {unit}", f"came back, {unit}", f"used, {unit}", "cost"),
        rows=tuple(_wood_row(row, studio) for row in woods),
        foot=_wood_row(woods_in_all(woods, words="all woods"), studio),
        pictures=pictures(bars, title=caption, slug="woods"),
    )


def _wood_row(row: WoodUsed, studio: Studio) -> Row:
    used = (
        f"{show.timber(row.cut, studio)} cut less {show.timber(row.came_back, studio)} back as offcuts. "
        f"That is {row.used / 10**9:.4f} m³."
    )
    return Row(
        row.name,
        (
            wood(row.cut, studio, "Boards cut in the year, as they lay on the rack."),
            wood(row.came_back, studio, "Offcuts of them that were put back on the rack."),
            wood(row.used, studio, used),
            coins(row.cost, studio.currency, "Price of the boards, less that of the offcuts that came back."),
        ),
    )


def accuracy_table(years: Sequence[Accuracy]) -> Table:
    """How estimates of hours did, year by year."""
    from estimating.picture.bars import Bar

    caption = "Hours taken by hours estimated, the median piece of each year"
    rows = [
        Row(
            str(row.year),
            (
                count(row.pieces, "Pieces in the log that have an estimate and hours."),
                time(row.estimated, "The estimates' means of all operations, pieces together."),
                time(row.taken, "What the hours log had of them when the pieces were written into the log."),
                Cell(f"{row.ratio} ×", "Half of the pieces took more than this times their estimate."),
                Cell(f"{row.near} of {row.pieces}", f"Taken hours are {WITHIN} of the estimate."),
            ),
        )
        for row in years
    ]
    bars = [Bar(str(row.year), f"{row.ratio} ×", float(row.ratio)) for row in years]
    return Table(
        slug="accuracy",
        caption=caption,
        heads=("year", "pieces", "estimated", "taken", "median", WITHIN),
        rows=tuple(rows),
        pictures=pictures(bars, title=caption, slug="accuracy"),
    )
