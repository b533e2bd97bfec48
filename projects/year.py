"""A year's figures from plain rows: earned, hours, woods, accuracy, unpaid. Asks the database nothing."""

import datetime
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from statistics import median

from estimating.price.money import round_money

ZERO = Decimal(0)
NEAR = Decimal("0.25")
"""An estimate is called near where the hours taken are within this share of it; a setting of our own."""

NO_KIND = "not in the log"
SEVERAL_KINDS = "of several kinds"
NO_GALLERY = "without a gallery"


@dataclass(frozen=True, slots=True)
class Job:
    """What one commission, or one piece sold on consignment that is of none, brought and took in a year.

    All of its money is in one currency.

    `received` is what came in less what went back, tax in it. `base`, `tax` and `share` are of what was accepted: of
    `base` + `tax` that its client pays, `share` is the gallery's, kept before it pays the studio, or `from_base` where
    the studio passes it on. `agreed` is what was accepted in the year, before tax. `gallery` has its id and name.
    """

    kind: str
    gallery: tuple[int, str] | None
    currency: str
    minutes: Decimal = ZERO
    received: Decimal = ZERO
    agreed: Decimal = ZERO
    base: Decimal = ZERO
    tax: Decimal = ZERO
    share: Decimal = ZERO
    from_base: bool = False


@dataclass(frozen=True, slots=True)
class Earned:
    """What some commissions brought in a year: received = tax + earned + what of the gallery's share went on from it.

    `share` is all of the galleries' share, whether it came in and went on or never came in.
    """

    words: str
    currency: str
    jobs: int
    received: Decimal
    tax: Decimal
    share: Decimal
    passed_on: Decimal
    agreed: Decimal
    minutes: Decimal

    @property
    def earned(self) -> Decimal:
        """Without tax and without the gallery's share."""
        return self.received - self.tax - self.passed_on

    @property
    def sales(self) -> Decimal:
        """Before tax as the galleries' buyers paid, of which the share is an expense."""
        return self.earned + self.share

    @property
    def an_hour(self) -> Decimal | None:
        """Earned by the hour; None where no hour is in the log."""
        if not self.minutes:
            return None
        return round_money(self.earned * 60 / self.minutes, currency=self.currency)


def earned(jobs: Iterable[Job], *, words: str, currency: str) -> Earned:
    """What commissions brought together: each one's tax and share are rounded, and then added up.

    Tax and share are the same part of a payment as of all that was accepted. Errors: ValueError for a job in another
    currency.
    """
    rows = list(jobs)
    if any(job.currency != currency for job in rows):
        raise ValueError("money of several currencies does not add up")
    parts = [_parts(job) for job in rows]
    return Earned(
        words=words,
        currency=currency,
        jobs=len(rows),
        received=sum((job.received for job in rows), ZERO),
        tax=sum((tax for tax, _ in parts), ZERO),
        share=sum((share for _, share in parts), ZERO),
        passed_on=sum(
            (share for job, (_, share) in zip(rows, parts, strict=True) if job.from_base),
            ZERO,
        ),
        agreed=sum((job.agreed for job in rows), ZERO),
        minutes=sum((job.minutes for job in rows), ZERO),
    )


def _parts(job: Job) -> tuple[Decimal, Decimal]:
    """Tax in what was received, and the gallery's share that goes with it."""
    paid = job.base + job.tax
    if not paid:
        return ZERO, ZERO
    tax = round_money(job.received * job.tax / paid, currency=job.currency)
    if not job.base:
        return tax, ZERO
    return tax, round_money((job.received - tax) * job.share / job.base, currency=job.currency)


def by_kind(jobs: Iterable[Job], *, currency: str) -> tuple[Earned, ...]:
    """By the form of the pieces, what earned most first."""
    rows = _grouped(jobs, lambda job: job.kind)
    found = [earned(mine, words=str(kind), currency=currency) for kind, mine in rows.items()]
    return tuple(sorted(found, key=_most_first))


def by_gallery(jobs: Iterable[Job], *, currency: str) -> tuple[Earned, ...]:
    """Gallery by gallery, what earned most first; clients that are none together, at the end."""
    rows = _grouped(jobs, lambda job: job.gallery)
    others = rows.pop(None, [])
    found = [
        earned(mine, words=mine[0].gallery[1] if mine[0].gallery else "", currency=currency)
        for mine in rows.values()
    ]
    found.sort(key=_most_first)
    return (*found, *([earned(others, words=NO_GALLERY, currency=currency)] if others else []))


def _grouped(jobs: Iterable[Job], key: Callable[[Job], Hashable]) -> dict[Hashable, list[Job]]:
    found: defaultdict[Hashable, list[Job]] = defaultdict(list)
    for job in jobs:
        found[key(job)].append(job)
    return found


def _most_first(row: Earned) -> tuple[Decimal, Decimal, str]:
    return -row.earned, -row.minutes, row.words


def kind_of(forms: Iterable[str]) -> str:
    """The kind of piece that a commission is of, by the forms of its pieces in the log."""
    words = {form.strip().lower() for form in forms} - {""}
    if not words:
        return NO_KIND
    return words.pop() if len(words) == 1 else SEVERAL_KINDS


@dataclass(frozen=True, slots=True)
class Cut:
    """Boards cut, or offcuts that came back: how many, one's volume in mm³ and its price."""

    wood: int
    name: str
    colour: str
    came_back: bool
    count: int
    volume: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True)
class WoodUsed:
    """One wood as it left the rack to be cut, mm³: used = cut - came back; what it cost likewise."""

    name: str
    colour: str
    cut: Decimal
    came_back: Decimal
    cost: Decimal

    @property
    def used(self) -> Decimal:
        """What did not come back, mm³."""
        return self.cut - self.came_back


def woods_used(cuts: Iterable[Cut]) -> tuple[WoodUsed, ...]:
    """By wood, what was used most first."""
    rows: defaultdict[int, list[Cut]] = defaultdict(list)
    for cut in cuts:
        rows[cut.wood].append(cut)
    found = [
        WoodUsed(
            name=mine[0].name,
            colour=mine[0].colour,
            cut=sum((one.count * one.volume for one in mine if not one.came_back), ZERO),
            came_back=sum((one.count * one.volume for one in mine if one.came_back), ZERO),
            cost=sum(((-1 if one.came_back else 1) * one.count * one.price for one in mine), ZERO),
        )
        for mine in rows.values()
    ]
    return tuple(sorted(found, key=lambda wood: (-wood.used, wood.name)))


def woods_in_all(woods: Sequence[WoodUsed], *, words: str) -> WoodUsed:
    """All woods as one, of no colour."""
    return WoodUsed(
        name=words,
        colour="",
        cut=sum((wood.cut for wood in woods), ZERO),
        came_back=sum((wood.came_back for wood in woods), ZERO),
        cost=sum((wood.cost for wood in woods), ZERO),
    )


@dataclass(frozen=True, slots=True)
class Compared:
    """One piece of the log: its year, and its hours as estimated and as taken, in minutes."""

    year: int
    estimated: Decimal
    taken: Decimal


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How estimates of hours did in a year: the median of taken / estimated, and how many pieces were near."""

    year: int
    pieces: int
    estimated: Decimal
    taken: Decimal
    ratio: Decimal
    near: int


def accuracy(pieces: Iterable[Compared]) -> tuple[Accuracy, ...]:
    """Year by year, the earliest first; pieces without an estimate or without hours say nothing and are left out."""
    years: defaultdict[int, list[Compared]] = defaultdict(list)
    for piece in pieces:
        if piece.estimated > 0 and piece.taken > 0:
            years[piece.year].append(piece)
    return tuple(_accuracy(year, years[year]) for year in sorted(years))


def _accuracy(year: int, pieces: Sequence[Compared]) -> Accuracy:
    return Accuracy(
        year=year,
        pieces=len(pieces),
        estimated=sum((one.estimated for one in pieces), ZERO),
        taken=sum((one.taken for one in pieces), ZERO),
        ratio=median(one.taken / one.estimated for one in pieces).quantize(
            Decimal("0.01"), rounding=ROUND_HALF_UP
        ),
        near=sum(abs(one.taken - one.estimated) <= NEAR * one.estimated for one in pieces),
    )


@dataclass(frozen=True, slots=True)
class Open:
    """What is still to come from a gallery for one commission, or for one piece that was sold and is of none.

    `sold` is for pieces sold, `out` for the others of the commission; below nothing where the studio owes it back.
    """

    gallery: tuple[int, str]
    sold: Decimal
    overdue: Decimal = ZERO
    out: Decimal = ZERO
    is_job: bool = True


@dataclass(frozen=True, slots=True)
class Unpaid:
    """Still to come from one gallery: for what is sold, what of all is overdue, and for what is not sold yet.

    For so many commissions, and `pieces` that are of none of its own.
    """

    name: str
    jobs: int
    pieces: int
    sold: Decimal
    overdue: Decimal
    out: Decimal


def unpaid(rows: Iterable[Open]) -> tuple[Unpaid, ...]:
    """By gallery, what is most for pieces sold first."""
    whose: defaultdict[tuple[int, str], list[Open]] = defaultdict(list)
    for row in rows:
        whose[row.gallery].append(row)
    found = [
        Unpaid(
            name=gallery[1],
            jobs=sum(one.is_job for one in mine),
            pieces=sum(not one.is_job for one in mine),
            sold=sum((one.sold for one in mine), ZERO),
            overdue=sum((one.overdue for one in mine), ZERO),
            out=sum((one.out for one in mine), ZERO),
        )
        for gallery, mine in whose.items()
    ]
    return tuple(sorted(found, key=lambda row: (-row.sold, -row.out, row.name)))


def unpaid_in_all(rows: Sequence[Unpaid], *, words: str) -> Unpaid:
    """All galleries as one."""
    return Unpaid(
        name=words,
        jobs=sum(row.jobs for row in rows),
        pieces=sum(row.pieces for row in rows),
        sold=sum((row.sold for row in rows), ZERO),
        overdue=sum((row.overdue for row in rows), ZERO),
        out=sum((row.out for row in rows), ZERO),
    )


def last_day(year: int, *, today: datetime.date) -> datetime.date:
    """The last day of a year, or today where that comes first."""
    return min(datetime.date(year, 12, 31), today)
