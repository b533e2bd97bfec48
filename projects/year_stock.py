"""Stock at cost on a day from plain rows: the rack, work in progress, pieces here and out. Asks no database."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from estimating.price.money import in_equal_parts, round_money

ZERO = Decimal(0)
IN_STUDIO, CONSIGNED, LENT = "studio", "consigned", "lent"
GONE = ("sold", "given")
"""Where a piece is the studio's no more."""


@dataclass(frozen=True, slots=True)
class Pile:
    """Like boards as they lay on the rack that day, and what one cost."""

    is_offcut: bool
    count: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class Spent:
    """What was spent on a commission by that day: minutes at a rate an hour, and boards cut less what came back.

    It is of so many `pieces`; `places` says where those are that were finished by then, in their order.
    """

    minutes: Decimal
    rate: Decimal
    wood: Decimal
    pieces: int
    places: tuple[str, ...] = ()
    is_over: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the stock: how many boards, commissions or pieces, and at what cost of material and of labour."""

    count: int
    material: Decimal
    labour: Decimal

    @property
    def cost(self) -> Decimal:
        """Of both."""
        return self.material + self.labour


@dataclass(frozen=True, slots=True)
class Stock:
    """What is the studio's on a day, at cost. `gone` is what pieces cost that were sold or given away by then.

    `over` is of commissions that ended without a piece in the log; `unknown` counts pieces here, out or lent that no
    commission says the cost of. Neither is in `whole`.
    """

    day: datetime.date
    boards: Line
    offcuts: Line
    in_progress: Line
    finished: Line
    consigned: Line
    lent: Line
    gone: Line
    over: Line
    unknown: int

    @property
    def whole(self) -> Line:
        """All that is the studio's, which is not counted: boards and pieces are no one number."""
        lines = (self.boards, self.offcuts, self.in_progress, self.finished, self.consigned, self.lent)
        return Line(
            0, sum((line.material for line in lines), ZERO), sum((line.labour for line in lines), ZERO)
        )

    @property
    def total(self) -> Decimal:
        """What that cost."""
        return self.whole.cost


def stock(
    piles: Iterable[Pile],
    jobs: Iterable[Spent],
    *,
    unknown: Iterable[str] = (),
    day: datetime.date,
    currency: str,
) -> Stock:
    """Stock at cost; `unknown` says where pieces are that are of no commission.

    A commission's cost is shared equally among its pieces, to the coin and without a remainder. A piece takes its share
    with it where it goes; what is not finished is in progress, unless the commission is over.
    """
    racked = list(piles)
    found = {
        name: Line(0, ZERO, ZERO) for name in ("in_progress", "over", IN_STUDIO, CONSIGNED, LENT, "gone")
    }
    for job in jobs:
        for name, line in _shared(job, currency).items():
            found[name] = _sum(found[name], line)
    return Stock(
        day=day,
        boards=_piled(racked, offcuts=False),
        offcuts=_piled(racked, offcuts=True),
        in_progress=found["in_progress"],
        finished=found[IN_STUDIO],
        consigned=found[CONSIGNED],
        lent=found[LENT],
        gone=found["gone"],
        over=found["over"],
        unknown=sum(place not in GONE for place in unknown),
    )


def labour_of(job: Spent, *, currency: str) -> Decimal:
    """Hours by the rate, to the coin."""
    return round_money(job.minutes * job.rate / 60, currency=currency)


def _shared(job: Spent, currency: str) -> dict[str, Line]:
    """A commission's cost by where its pieces are."""
    pieces = max(job.pieces, len(job.places), 1)
    wood = in_equal_parts(job.wood, count=pieces, currency=currency)
    labour = in_equal_parts(labour_of(job, currency=currency), count=pieces, currency=currency)
    found: dict[str, Line] = {}
    for at, place in enumerate(job.places):
        name = "gone" if place in GONE else place
        found[name] = _sum(found.get(name, Line(0, ZERO, ZERO)), Line(1, wood[at], labour[at]))
    done = len(job.places)
    if done < pieces:
        rest = Line(1, sum(wood[done:], ZERO), sum(labour[done:], ZERO))
        found["over" if job.is_over else "in_progress"] = rest
    return found


def _piled(piles: Iterable[Pile], *, offcuts: bool) -> Line:
    mine = [pile for pile in piles if pile.is_offcut == offcuts]
    count = sum(pile.count for pile in mine)
    return Line(count, sum((pile.count * pile.price for pile in mine), ZERO), ZERO)


def _sum(one: Line, other: Line) -> Line:
    return Line(one.count + other.count, one.material + other.material, one.labour + other.labour)
