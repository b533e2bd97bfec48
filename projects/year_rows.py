"""The studio's records -> the rows that a year's figures are made of. As many queries for many rows as for one."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import OuterRef, Q, Subquery, Sum
from django.utils import timezone

from projects.consigned import Stay, dues_of, paid_for, stays_of
from projects.models import (
    Board,
    BoardEvent,
    ChangeOrder,
    Client,
    Commission,
    HoursEntry,
    Payment,
    PieceRecord,
    Place,
    PlacePayment,
    Studio,
    TakenLine,
)
from projects.models.agreements import Answer
from projects.models.commissions import Stage
from projects.models.issued import PaymentWay
from projects.models.quote_life import QuoteAct
from projects.models.rack import Happening
from projects.models.records import PlaceKind, TakenKind
from projects.models.studio import ClientKind
from projects.owed import gallery_mode, is_consigned, owed
from projects.statement import accepted_figures
from projects.year import Compared, Cut, Job, Open, kind_of
from projects.year_stock import Pile, Spent

ZERO = Decimal(0)
OVER = (Stage.DELIVERED, Stage.CLOSED, Stage.DECLINED)
"""Stages at which a commission's pieces are out of the house, so that what is not in the log is no stock."""

_IN_LOG = {"place__record__taken_out_at": None}
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Accepted:
    """What was accepted of a commission: when, in what currency, and of base and tax what is the gallery's share."""

    day: datetime.date
    quote: int
    currency: str
    base: Decimal
    tax: Decimal
    share: Decimal
    from_base: bool


def jobs_of(studio: Studio, year: int) -> list[Job]:
    """The commissions that a year's money or hours are of, in the order they were asked for."""
    minutes, received = _minutes(studio, worked_on__year=year), _received(studio, year)
    agreed_then = Q(quotes__events__what=QuoteAct.ACCEPTED, quotes__events__at__year=year) | Q(
        change_orders__answer=Answer.AGREED, change_orders__answered_at__year=year
    )
    agreed_in = Commission.objects.for_studio(studio).filter(agreed_then).values("pk")
    rows = Commission.objects.for_studio(studio).filter(Q(pk__in=[*minutes, *received]) | Q(pk__in=agreed_in))
    commissions = list(rows.select_related("client").order_by("asked_on", "pk"))
    accepted, forms = _accepted(commissions), _forms(studio)
    changed = _changed(studio, year)
    found = []
    for job in commissions:
        agreed = accepted.get(job.pk)
        row = Job(
            kind=kind_of(forms[job.pk]),
            gallery=_whose(job.client),
            currency=agreed.currency if agreed else studio.currency,
            minutes=minutes.get(job.pk, ZERO),
            received=received.get(job.pk, ZERO),
            agreed=_agreed(agreed, changed, year),
            base=agreed.base if agreed else ZERO,
            tax=agreed.tax if agreed else ZERO,
            share=agreed.share if agreed else ZERO,
            from_base=agreed is not None and agreed.from_base,
        )
        if row.minutes or row.received or row.agreed:
            found.append(row)
    return found


def _whose(client: Client) -> tuple[int, str] | None:
    return (client.pk, client.name) if client.kind == ClientKind.GALLERY else None


def _agreed(agreed: Accepted | None, changed: Mapping[int, Decimal], year: int) -> Decimal:
    """Before tax: the quote in the year it was accepted, each change to it in its own."""
    if agreed is None:
        return ZERO
    quoted = agreed.base if agreed.day.year == year else ZERO
    return quoted + changed.get(agreed.quote, ZERO)


def _accepted(commissions: Iterable[Commission]) -> dict[int, Accepted]:
    found = {}
    for key, (event, quote, figures) in accepted_figures(commissions).items():
        pricing = figures["pricing"]
        paid = owed(figures, pricing)
        buys = gallery_mode(figures, pricing) == "purchase"
        share = ZERO if buys else Decimal(str(figures["price"].get("gallery_share") or 0))
        found[key] = Accepted(
            day=timezone.localdate(event.at),
            quote=quote.pk,
            currency=paid.currency,
            base=paid.base,
            tax=paid.tax,
            share=share,
            from_base=bool(share) and not is_consigned(figures, pricing),
        )
    return found


def _changed(studio: Studio, year: int) -> dict[int, Decimal]:
    """What was agreed by changes in a year, before tax, by the quote's key."""
    rows = ChangeOrder.objects.for_studio(studio).filter(answer=Answer.AGREED, answered_at__year=year)
    found: defaultdict[int, Decimal] = defaultdict(Decimal)
    for quote, base in rows.values_list("quote", "base"):
        found[quote] += base
    return found


def _minutes(studio: Studio, **when: Any) -> dict[int, Decimal]:
    """Minutes logged by commission, `when` as a filter has it. A clock that still runs counts for nothing."""
    rows = HoursEntry.objects.for_studio(studio).filter(minutes__isnull=False, **when)
    sums = rows.order_by().values_list("commission").annotate(Sum("minutes"))
    # SQLite adds decimals as binary fractions.
    return {key: minutes.quantize(_HUNDREDTH) for key, minutes in sums}


def _received(studio: Studio, year: int) -> dict[int, Decimal]:
    """What came in less what went back by commission; what was struck counts for nothing."""
    rows = Payment.objects.for_studio(studio).filter(struck_at=None, paid_on__year=year)
    found: defaultdict[int, Decimal] = defaultdict(Decimal)
    for commission, way, amount in rows.values_list("commission", "way", "amount"):
        found[commission] += amount if way == PaymentWay.IN else -amount
    return found


def _forms(studio: Studio) -> defaultdict[int, list[str]]:
    rows = PieceRecord.objects.for_studio(studio).filter(commission__isnull=False).order_by()
    found: defaultdict[int, list[str]] = defaultdict(list)
    for commission, form in rows.values_list("commission", "form"):
        found[commission].append(form)
    return found


def cuts_of(studio: Studio, year: int) -> list[Cut]:
    """What was cut from the rack in a year, and what came back of it."""
    return [_cut(event) for event in _cut_events(studio).filter(at__year=year)]


def _cut_events(studio: Studio) -> Any:
    rows = BoardEvent.objects.for_studio(studio).filter(what__in=(Happening.CUT, Happening.OFFCUT))
    return rows.select_related("board__wood").order_by("at", "pk")


def _cut(event: BoardEvent) -> Cut:
    board = event.board
    return Cut(
        wood=board.wood.pk,
        name=board.wood.name,
        colour=board.wood.colour,
        came_back=event.what == Happening.OFFCUT,
        count=event.count,
        volume=board.length * board.width * board.thickness,
        price=board.price,
    )


def compared_of(studio: Studio, until: int) -> list[Compared]:
    """Hours as estimated and as taken of each piece in the log of a year up to `until`."""
    lines = TakenLine.objects.for_studio(studio).filter(kind=TakenKind.OPERATION, record__year__lte=until)
    lines = lines.filter(record__taken_out_at=None)
    sums = lines.order_by().values_list("record", "record__year").annotate(Sum("estimated"), Sum("taken"))
    return [
        Compared(year, *((one or ZERO).quantize(_HUNDREDTH) for one in (estimated, taken)))
        for _, year, estimated, taken in sums
    ]


def sales_of(studio: Studio, year: int) -> list[Job]:
    """Pieces sold on consignment that are of no commission of their gallery, as a year's money has them.

    Those sold in the year or paid for in it. One whose stay is known no more brings what was paid and no more.
    """
    payments = PlacePayment.objects.for_studio(studio).filter(paid_on__year=year, **_IN_LOG)
    received, form_of = paid_for(payments), {}
    for place, form, currency in payments.values_list("place", "place__record__form", "currency"):
        form_of[place] = (form, currency)
    found = []
    for stay in stays_of(studio):
        if stay.sale is None or stay.job is not None:
            continue
        sold_then = stay.sale.since.year == year and not stay.came_back
        if sold_then or stay.sale.pk in received:
            found.append(_sale(stay, received.pop(stay.sale.pk, ZERO), sold_then=sold_then))
    for place, amount in received.items():
        form, currency = form_of[place]
        found.append(Job(kind=kind_of([form]), gallery=None, currency=currency, received=amount))
    return found


def _sale(stay: Stay, received: Decimal, *, sold_then: bool) -> Job:
    part = stay.part
    return Job(
        kind=kind_of([stay.record.form]),
        gallery=_whose(stay.client),
        currency=stay.record.currency,
        received=received,
        agreed=part.studios if part and sold_then else ZERO,
        base=part.studios if part else ZERO,
        tax=part.tax if part else ZERO,
        share=part.gallerys if part else ZERO,
    )


def open_of(studio: Studio, *, today: datetime.date) -> tuple[list[Open], int]:
    """What is still to come from galleries, and how many more commissions and pieces there are in another currency."""
    dues = dues_of(studio, today=today)
    found = [
        (job.currency, Open((job.job.client.pk, job.job.client.name), job.sold, job.overdue, job.unsold))
        for job in dues.jobs
        if job.sold + job.unsold > 0
    ]
    for stay in dues.stays:
        if stay.job is None and stay.account is not None and stay.account.open:
            row = Open((stay.client.pk, stay.client.name), stay.account.open, is_job=False)
            found.append((stay.record.currency, row))
    rows = [row for currency, row in found if currency == studio.currency]
    return rows, len(found) - len(rows)


def piles_of(studio: Studio, *, day: datetime.date) -> list[Pile]:
    """The rack as it lay at the end of a day, by the last entry of each board's history until then."""
    events = BoardEvent.objects.for_studio(studio).filter(board=OuterRef("pk"), at__lt=_end(day))
    last = Subquery(events.order_by("-at", "-pk").values("left")[:1])
    rows = Board.objects.for_studio(studio).annotate(then=last).filter(then__gt=0).order_by("pk")
    plain = rows.values_list("from_board", "then", "price")
    return [Pile(origin is not None, then, price) for origin, then, price in plain]


def _end(day: datetime.date) -> datetime.datetime:
    return timezone.make_aware(datetime.datetime.combine(day + datetime.timedelta(1), datetime.time()))


def spent_of(studio: Studio, *, day: datetime.date) -> tuple[list[Spent], list[str]]:
    """What was spent on each commission until the end of a day, and where pieces are that are of none."""
    minutes, wood = _minutes(studio, worked_on__lte=day), _wood(studio, day)
    finished, later, unknown = _finished(studio, day)
    usual = studio.pricing.labour_rate
    rows = Commission.objects.for_studio(studio).order_by("pk")
    found = []
    for pk, stage, own, usually, rate in rows.values_list(
        "pk", "stage", "quantity", "design__quantity", "labour_rate"
    ):
        if pk not in minutes and pk not in wood and pk not in finished:
            continue
        found.append(
            Spent(
                minutes=minutes.get(pk, ZERO),
                rate=usual if rate is None else rate,
                wood=wood.get(pk, ZERO),
                pieces=own or usually or 1,
                places=tuple(finished.get(pk, ())),
                is_over=stage in OVER and pk not in later,
            )
        )
    return found, unknown


def _wood(studio: Studio, day: datetime.date) -> dict[int, Decimal]:
    """What the boards cost that were cut for each commission, less the offcuts that came back."""
    found: defaultdict[int, Decimal] = defaultdict(Decimal)
    for event in _cut_events(studio).filter(commission__isnull=False, at__lt=_end(day)):
        cost = event.count * event.board.price
        found[event.commission_id] += cost if event.what == Happening.CUT else -cost
    return found


def _finished(studio: Studio, day: datetime.date) -> tuple[dict[int, list[str]], set[int], list[str]]:
    """Where the pieces were that were finished by a day, by commission; commissions of later ones; those of none."""
    standing = Place.objects.for_studio(studio).filter(takes_back__isnull=True, taken_back_by__isnull=True)
    dated = standing.filter(since__lte=day).order_by("since", "pk").values_list("record", "kind")
    where: dict[int, str] = dict(dated)  # the last one of a piece stays
    found: defaultdict[int, list[str]] = defaultdict(list)
    later, unknown = set(), []
    rows: Any = PieceRecord.objects.for_studio(studio).order_by("commission", "piece", "pk")
    for pk, commission, made_on, year, at in rows.values_list(
        "pk", "commission", "made_on", "year", "created_at"
    ):
        if _made(made_on, year, at) > day:
            later.add(commission)
            continue
        place = where.get(pk, PlaceKind.STUDIO.value)
        if commission is None:
            unknown.append(place)
        else:
            found[commission].append(place)
    return found, later, unknown


def _made(made_on: datetime.date | None, year: int | None, at: datetime.datetime) -> datetime.date:
    """The day a piece counts as finished: its own, else the last of its year, else the day it was written down."""
    return made_on or (datetime.date(year, 12, 31) if year else timezone.localdate(at))
