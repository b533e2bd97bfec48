"""What galleries have or had on consignment and what they owe for it, from the studio's rows. Reads only.

As many queries for many pieces as for one. Whoever says what a gallery owes asks here: the list it is sent, the pages,
and the year's figures.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import groupby
from typing import Any

from django.db.models import JSONField, Q, TextField

from estimating.price.money import round_money
from estimating.price.tax import tax_in
from projects.gallery_account import Account, allotted, shared
from projects.models import Client, Commission, PieceRecord, Place, PlacePayment, Studio
from projects.models.issued import PaymentWay
from projects.models.paper_terms import ClientTax, StudioTax
from projects.models.quote_life import QuoteAct
from projects.models.records import PlaceKind
from projects.models.studio import ClientKind
from projects.owed import is_consigned
from projects.pricing_data import gallery_share, is_taxed
from projects.statement import Statement, accepted_figures, statements

ZERO = Decimal(0)
STUDIOS = (PlaceKind.STUDIO, PlaceKind.CONSIGNED, PlaceKind.LENT)
"""Where a piece is the studio's, so that a sale before it holds no more."""

_LONG = [
    field.name for field in PieceRecord._meta.concrete_fields if isinstance(field, TextField | JSONField)
]
"""What of a record is text for its own page."""


@dataclass(frozen=True, slots=True)
class Part:
    """How a price that a gallery's buyer pays is shared, before tax, and the tax that comes on the studio's part."""

    studios: Decimal
    gallerys: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Stay:
    """One piece with a gallery: since when, until when and where it went then; None and empty while it is there.

    `price` is what the buyer pays, as sold, else as asked there, else the record's; `part` how it is shared; None where
    nobody knows. `sale` is the place that says it was sold, `came_back` whether it was the studio's again after that.
    `account` has what is to be paid for a sold one, by the account of the commission `job` where that has it.
    """

    record: PieceRecord
    client: Client
    since: datetime.date
    price: Decimal | None
    part: Part | None
    due_back: datetime.date | None = None
    until: datetime.date | None = None
    went: str = ""
    where: str = ""
    sale: Place | None = None
    came_back: bool = False
    job: Commission | None = None
    account: Account | None = None

    def is_late(self, today: datetime.date) -> bool:
        """Whether it is there and should be back."""
        return self.until is None and self.due_back is not None and self.due_back < today


@dataclass(frozen=True, slots=True)
class JobDues:
    """A gallery's commission: accounts of its sold pieces by record, what is open for these and for the others."""

    job: Commission
    currency: str
    accounts: Mapping[int, Account]
    sold: Decimal
    unsold: Decimal
    overdue: Decimal


@dataclass(frozen=True, slots=True)
class Dues:
    """Every stay with its account, by the day it began; and the galleries' commissions of which money was asked."""

    stays: list[Stay]
    jobs: list[JobDues]


def dues_of(studio: Studio, *, today: datetime.date, client: Client | None = None) -> Dues:
    """What a studio's galleries have, had and owe; one's alone where it is given."""
    stays = stays_of(studio, client=client)
    jobs = _jobs(studio, client, {stay.job.pk for stay in stays if stay.job})
    by_job = _job_dues(jobs, stays, today=today)
    paid = paid_for(PlacePayment.objects.for_studio(studio).filter(place__in=_sales(stays)))
    return Dues(
        [replace(stay, account=_account(stay, by_job, paid)) for stay in stays], list(by_job.values())
    )


def stays_of(
    studio: Studio, *, client: Client | None = None, record: PieceRecord | None = None
) -> list[Stay]:
    """Every stay on consignment with a client of the studio, by the day it began; one client's or one piece's alone."""
    standing = Place.objects.for_studio(studio).filter(takes_back=None, taken_back_by=None)
    whose = {"client": client} if client else {"client__isnull": False}
    there = PieceRecord.objects.for_studio(studio).filter(
        pk__in=standing.filter(kind=PlaceKind.CONSIGNED, **whose).values("record")
    )
    if record is not None:
        there = there.filter(pk=record.pk)
    places = standing.filter(record__in=there.order_by().values("pk")).order_by("record", "since", "pk")
    known = _known(places, there, studio)
    stays = [
        stay
        for _, been in groupby(known, lambda place: place.record_id)
        for stay in _stays(list(been), studio)
        if client is None or stay.client == client
    ]
    return sorted(stays, key=lambda stay: (stay.since, stay.record.pk))


def _known(places: Any, records: Any, studio: Studio) -> Iterator[Place]:
    """Places with the rows that they name, each of which is read once however many places name it."""
    clients = Client.objects.for_studio(studio).in_bulk()
    whose = {record.pk: record for record in records.order_by().select_related("commission").defer(*_LONG)}
    for record in whose.values():
        if record.commission is not None:
            record.commission.studio, record.commission.client = studio, clients[record.commission.client_id]
    for place in places:
        place.record, place.client = whose[place.record_id], clients.get(place.client_id)
        yield place


def _stays(been: Sequence[Place], studio: Studio) -> Iterator[Stay]:
    """Entries with the same gallery after one another are one stay, at the price and the return of the last."""
    runs = [list(run) for _, run in groupby(been, _with_whom)]
    for at, there in enumerate(runs):
        client = there[0].client
        if client is not None and _with_whom(there[0]) is not None:
            yield _stay(there, [place for run in runs[at + 1 :] for place in run], client, studio)


def _with_whom(place: Place) -> int | None:
    return place.client_id if place.kind == PlaceKind.CONSIGNED else None


def _stay(there: Sequence[Place], after: Sequence[Place], client: Client, studio: Studio) -> Stay:
    record = there[-1].record
    then = after[0] if after else None
    sale = then if then is not None and then.kind == PlaceKind.SOLD else None
    said = [place.price for place in (*([sale] if sale else []), *reversed(there))]
    price = next((amount for amount in (*said, record.price) if amount is not None), None)
    return Stay(
        record=record,
        client=client,
        since=there[0].since,
        price=price,
        part=None if price is None else part_of(price, record=record, client=client, studio=studio),
        due_back=due_back_of(there),
        until=then.since if then else None,
        went=then.kind if then else "",
        where=str(then) if then else "",
        sale=sale,
        came_back=sale is not None and any(place.kind in STUDIOS for place in after),
        job=made_for(client, record),
    )


def due_back_of(there: Sequence[Place]) -> datetime.date | None:
    """By when a piece is to be back, from entries of one stay in their order: the last of them that says it."""
    return next((place.due_back for place in reversed(there) if place.due_back), None)


def made_for(client: Client, record: PieceRecord) -> Commission | None:
    """The commission that a piece was made for a client by: its money is taken down with that."""
    job = record.commission
    return job if job is not None and job.client_id == client.pk else None


def part_of(price: Decimal, *, record: PieceRecord, client: Client, studio: Studio) -> Part | None:
    """How a price that a gallery's buyer pays is shared; None where no share is known.

    The share is the commission's where the piece was made for this client, else the client's own, else the usual one of
    a gallery. A price that holds tax is taken without it first; tax comes on the studio's part as on a quote's.
    """
    job = made_for(client, record)
    share = _share(client, job, studio)
    if share is None:
        return None
    usual = studio.pricing
    rate = usual.tax if job is None or job.tax is None else job.tax
    inclusive = usual.tax_inclusive if job is None or job.tax_inclusive is None else job.tax_inclusive
    held = inclusive and is_taxed(studio, job)
    before_tax = price - tax_in(price, rate=rate, currency=record.currency) if held else price
    studios = round_money((1 - share) * before_tax, currency=record.currency)
    charged = studio.tax_status != StudioTax.NONE and client.tax_status == ClientTax.USUAL
    tax = round_money(studios * rate, currency=record.currency) if charged else ZERO
    return Part(studios, before_tax - studios, tax)


def _share(client: Client, job: Commission | None, studio: Studio) -> Decimal | None:
    is_gallery = client.kind == ClientKind.GALLERY
    if job is not None:
        share = gallery_share(job)
        return share if is_gallery or share else None
    if client.gallery_share is not None:
        return Decimal(client.gallery_share)
    return studio.pricing.gallery_share if is_gallery else None


def _jobs(studio: Studio, client: Client | None, besides: Iterable[int]) -> list[Commission]:
    """Commissions of galleries, or of one, by which money is owed, and some besides."""
    touched = Q(quotes__events__what=QuoteAct.ACCEPTED) | Q(papers__amount__isnull=False)
    whose = {"client": client} if client else {"client__kind": ClientKind.GALLERY}
    theirs = Commission.objects.for_studio(studio).filter(touched, **whose)
    rows = Commission.objects.for_studio(studio).filter(
        Q(pk__in=theirs.values("pk")) | Q(pk__in=list(besides))
    )
    return list(rows.select_related("client", "studio", "design").order_by("pk"))


def _job_dues(
    jobs: Sequence[Commission], stays: Sequence[Stay], *, today: datetime.date
) -> dict[int, JobDues]:
    standing, agreed, pieces = statements(jobs, today=today), accepted_figures(jobs), _pieces(jobs)
    sold: defaultdict[int, list[Stay]] = defaultdict(list)
    for stay in sorted(stays, key=lambda stay: stay.until or datetime.date.max):
        if stay.job and stay.sale and not stay.came_back:
            sold[stay.job.pk].append(stay)
    found = {}
    for job in jobs:
        stands = standing[job.pk]
        figures = agreed[job.pk][2] if job.pk in agreed else None
        on_sale = figures is not None and is_consigned(figures, figures["pricing"])
        found[job.pk] = (
            _by_agreement(job, stands, pieces[job.pk], on_sale=on_sale)
            if stands.lines
            else _by_the_log(job, stands, sold[job.pk])
        )
    return found


@dataclass(frozen=True, slots=True)
class _Piece:
    """A finished piece of a commission: its number there, whether it was on sale, and when it was sold."""

    record: int
    number: int
    was_out: bool
    sold_on: datetime.date | None


def _pieces(jobs: Iterable[Commission]) -> defaultdict[int, list[_Piece]]:
    """The finished pieces of commissions, by what their places say."""
    rows: Any = PieceRecord.objects.filter(commission__in=list(jobs)).order_by("commission", "piece")
    records = list(rows.values_list("pk", "commission", "piece"))
    been: defaultdict[int, list[tuple[str, datetime.date]]] = defaultdict(list)
    standing = Place.objects.filter(
        record__in=[pk for pk, _, _ in records], takes_back=None, taken_back_by=None
    )
    for record, kind, since in standing.order_by("since", "pk").values_list("record", "kind", "since"):
        been[record].append((kind, since))
    found: defaultdict[int, list[_Piece]] = defaultdict(list)
    for record, job, number in records:
        was_out = any(kind == PlaceKind.CONSIGNED for kind, _ in been[record])
        found[job].append(_Piece(record, number, was_out, _sold_on(been[record])))
    return found


def _sold_on(been: Sequence[tuple[str, datetime.date]]) -> datetime.date | None:
    """The day of the sale that holds."""
    sold = None
    for kind, since in been:
        if kind in STUDIOS:
            sold = None
        elif kind == PlaceKind.SOLD and sold is None:
            sold = since
    return sold


def _by_agreement(job: Commission, stands: Statement, pieces: Sequence[_Piece], *, on_sale: bool) -> JobDues:
    """By its statement. What a gallery ordered is owed whole; where it sells, each piece once it is sold."""
    of_it = {piece.number: piece.record for piece in pieces}
    count = job.quantity or (job.design.quantity if job.design else None) or 1
    if on_sale or any(piece.was_out for piece in pieces):
        by_day = sorted((piece.sold_on, piece.number) for piece in pieces if piece.sold_on)
        sold = [number for _, number in by_day]
    else:
        sold = list(range(1, max(count, *of_it, 1) + 1))
    found = shared(stands.due_in_all, stands.paid, pieces=count, sold=sold, currency=stands.currency)
    return JobDues(
        job=job,
        currency=stands.currency,
        accounts={of_it[at]: account for at, account in found.accounts.items() if at in of_it},
        sold=found.sold,
        unsold=found.unsold,
        overdue=stands.overdue,
    )


def _by_the_log(job: Commission, stands: Statement, sold: Sequence[Stay]) -> JobDues:
    """Where nothing was agreed or asked: what the log says of its sold pieces, and what was paid for it."""
    accounts = allotted([_asked(stay) for stay in sold], stands.paid)
    return JobDues(
        job=job,
        currency=stands.currency,
        accounts={stay.record.pk: account for stay, account in zip(sold, accounts, strict=True)},
        sold=sum((account.open or ZERO for account in accounts), ZERO),
        unsold=ZERO,
        overdue=ZERO,
    )


def _asked(stay: Stay) -> Decimal | None:
    return None if stay.part is None else stay.part.studios + stay.part.tax


def _sales(stays: Iterable[Stay]) -> list[Place]:
    return [stay.sale for stay in stays if stay.sale is not None and stay.job is None]


def paid_for(payments: Any) -> defaultdict[int, Decimal]:
    """What came in less what went back of payments that stand, by the key of the sale."""
    found: defaultdict[int, Decimal] = defaultdict(Decimal)
    standing = payments.filter(takes_back=None, taken_back_by=None)
    for place, way, amount in standing.values_list("place", "way", "amount"):
        found[place] += amount if way == PaymentWay.IN else -amount
    return found


def _account(stay: Stay, by_job: Mapping[int, JobDues], paid: Mapping[int, Decimal]) -> Account | None:
    if stay.sale is None:
        return None
    if stay.job is not None:
        return by_job[stay.job.pk].accounts.get(stay.record.pk)
    return Account(ZERO if stay.came_back else _asked(stay), paid.get(stay.sale.pk, ZERO))
