"""What a gallery has or had on consignment, as page and paper say it: out, sold, back, and the studio's part."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from projects.models import Client, PieceRecord
from projects.models.records import PlaceKind
from projects.papers import words
from projects.papers.parties import client_lines
from projects.templatetags.turnery import money


@dataclass(frozen=True)
class Stay:
    """One piece with a gallery: since when, until when and where it went then; None and empty while it is there.

    `price` is what the buyer pays, as sold, else as asked there, else the record's; `part` what of it is the studio's,
    before tax; None where nobody knows.
    """

    record: PieceRecord
    since: datetime.date
    price: Decimal | None
    part: Decimal | None
    until: datetime.date | None = None
    went: str = ""
    where: str = ""


@dataclass(frozen=True)
class Group:
    """Stays of one kind as they are shown: `rows`, and what they add up to, by currency."""

    head: str
    kind: str
    day: str
    rows: list[dict[str, Any]]
    prices: str
    parts: str


_GROUPS = (
    ("Out", "", ""),
    ("Sold", PlaceKind.SOLD, "sold"),
    ("Returned", PlaceKind.STUDIO, "returned"),
    ("Gone elsewhere", "elsewhere", "left"),
)


def groups(stays: Sequence[Stay]) -> list[Group]:
    """What is out, what was sold, what came back, and what went on elsewhere; kinds without any are left out."""
    found = []
    for head, kind, day in _GROUPS:
        mine = [stay for stay in stays if _kind(stay) == kind]
        if mine:
            counts = kind in ("", PlaceKind.SOLD)
            prices = _sum((stay.price, stay.record.currency) for stay in mine) if counts else ""
            parts = _sum((stay.part, stay.record.currency) for stay in mine) if counts else ""
            found.append(Group(head, kind, day, [_row(stay) for stay in mine], prices, parts))
    return found


def _kind(stay: Stay) -> str:
    return stay.went if stay.went in ("", PlaceKind.SOLD, PlaceKind.STUDIO) else "elsewhere"


def _row(stay: Stay) -> dict[str, Any]:
    record = stay.record
    return {
        "pk": record.pk,
        "serial": record.serial,
        "title": record.title,
        "since": words.day(stay.since),
        "until": words.day(stay.until) if stay.until else "",
        "where": stay.where,
        "price": "" if stay.price is None else money(stay.price, record.currency),
        "part": "" if stay.part is None else money(stay.part, record.currency),
    }


def _sum(amounts: Iterable[tuple[Decimal | None, str]]) -> str:
    """What amounts come to, each currency by itself; what is not known counts nothing."""
    sums: dict[str, Decimal] = {}
    for amount, currency in amounts:
        if amount is not None:
            sums[currency] = sums.get(currency, Decimal(0)) + amount
    return ", ".join(money(total, currency) for currency, total in sorted(sums.items()))


def consignment_pdf(
    stays: Sequence[Stay], *, client: Client, letterhead: Mapping[str, Any], on: datetime.date
) -> bytes:
    """The list for a gallery. Same records on the same day, same bytes. `stays` is not empty."""
    from projects.papers.of_piece import (
        print_piece_paper,
    )  # brings the PDF library, which the page does without

    addressee = {name: getattr(client, name) for name in ("name", "contact", "legal_name", "address")}
    context = {
        "head": "Consignment list",
        "title": client.name,
        "dated": words.day(on),
        "addressee": client_lines(addressee),
        "groups": groups(stays),
        "unknown": any(stay.price is not None and stay.part is None for stay in stays),
    }
    made_at = max(stay.record.updated_at for stay in stays)
    return print_piece_paper("consignment.html", context, letterhead=letterhead, made_at=made_at)
