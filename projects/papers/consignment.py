"""What a gallery has or had on consignment, as page and paper say it: out, sold and paid for, back, and to be back."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from projects.consigned import Stay
from projects.models import Client
from projects.models.records import PlaceKind
from projects.papers import words
from projects.papers.parties import client_lines
from projects.templatetags.turnery import money


@dataclass(frozen=True, slots=True)
class Cell:
    """What a row says in a column, with a word besides that must not be missed: late, came back."""

    text: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """The head of a column; whether it holds amounts, which stand to the right."""

    head: str
    is_amount: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One piece and its cells in the order of the columns; `job` is the commission that has its money."""

    stay: Stay
    cells: list[Cell]

    @property
    def job(self) -> int | None:
        """The key of the commission that has the money of a sold piece."""
        return self.stay.job.pk if self.stay.job and self.stay.sale else None


@dataclass(frozen=True, slots=True)
class Group:
    """Stays of one kind as they are shown, and what their amounts come to, each currency by itself."""

    head: str
    kind: str
    columns: list[Column]
    rows: list[Row]
    sums: list[str]

    @property
    def lines(self) -> list[tuple[Row, list[tuple[Column, Cell]]]]:
        """Each row with its cells and their columns."""
        return [(row, list(zip(self.columns, row.cells, strict=True))) for row in self.rows]

    @property
    def foot(self) -> list[tuple[Column, str]]:
        """The sums with their columns; none where nothing adds up."""
        return list(zip(self.columns, self.sums, strict=True)) if any(self.sums) else []


@dataclass(frozen=True, slots=True)
class Summary:
    """In short: how many pieces are out, how many of them have a day to be back by or are late, and what is due."""

    out: int
    to_come: int
    late: int
    due: str


def summary(stays: Sequence[Stay], *, on: datetime.date) -> Summary:
    """What matters most of a gallery's stays."""
    out = [stay for stay in stays if stay.until is None]
    return Summary(
        out=len(out),
        to_come=sum(stay.due_back is not None for stay in out),
        late=sum(stay.is_late(on) for stay in out),
        due=_sum((amount, stay.record.currency) for stay in stays if (amount := _open(stay))),
    )


_KINDS = (
    ("Out", ""),
    ("Sold", PlaceKind.SOLD),
    ("Returned", PlaceKind.STUDIO),
    ("Gone elsewhere", "elsewhere"),
)


def groups(stays: Sequence[Stay], *, on: datetime.date) -> list[Group]:
    """What is out, what was sold, what came back, and what went on elsewhere; kinds without any are left out."""
    found = []
    for head, kind in _KINDS:
        if mine := [stay for stay in stays if _kind(stay) == kind]:
            columns = _columns(mine, kind, on)
            rows = [Row(stay, [say(stay) for _, say, _ in columns]) for stay in mine]
            sums = [
                _sum((amount(stay), stay.record.currency) for stay in mine) if amount else ""
                for _, _, amount in columns
            ]
            found.append(Group(head, kind, [column for column, _, _ in columns], rows, sums))
    return found


def _kind(stay: Stay) -> str:
    return stay.went if stay.went in ("", PlaceKind.SOLD, PlaceKind.STUDIO) else "elsewhere"


def _columns(stays: Sequence[Stay], kind: str, on: datetime.date) -> list[Any]:
    """The columns of a group: the head, what a stay says there, and the amount that adds up."""
    since = (Column("out since"), lambda stay: Cell(words.day(stay.since)), None)
    shared = [_amounts("price", _price), _amounts("studio’s part", _part)]
    match kind:
        case "":
            back = [(Column("to be back by"), lambda stay: _back(stay, on), None)]
            return [since, *(back if any(stay.due_back for stay in stays) else []), *shared]
        case PlaceKind.SOLD:
            taxed = any(_asked(stay) not in (None, _part(stay)) for stay in stays if not stay.came_back)
            asked = [_amounts("to be paid", _asked)] if taxed else []
            paid = [_amounts("paid", _paid), _amounts("still due", _open)]
            return [(Column("sold"), _sold, None), *shared, *asked, *paid]
        case PlaceKind.STUDIO:
            return [since, (Column("returned"), _until, None)]
    left = (Column("left"), _until, None)
    return [since, left, (Column("where to"), lambda stay: Cell(stay.where), None)]


def _amounts(head: str, amount: Any) -> tuple[Column, Any, Any]:
    def say(stay: Stay) -> Cell:
        found = amount(stay)
        return Cell("" if found is None else money(found, stay.record.currency))

    return Column(head, is_amount=True), say, amount


def _until(stay: Stay) -> Cell:
    return Cell(words.day(stay.until) if stay.until else "")


def _sold(stay: Stay) -> Cell:
    return Cell(_until(stay).text, "came back since" if stay.came_back else "")


def _back(stay: Stay, on: datetime.date) -> Cell:
    return Cell(words.day(stay.due_back) if stay.due_back else "", "late" if stay.is_late(on) else "")


def _price(stay: Stay) -> Decimal | None:
    # A sale that holds no more has no price: its sum would be of what nobody bought.
    return None if stay.came_back else stay.price


def _part(stay: Stay) -> Decimal | None:
    return stay.part.studios if stay.part and not stay.came_back else None


def _asked(stay: Stay) -> Decimal | None:
    return stay.account.asked if stay.account else None


def _paid(stay: Stay) -> Decimal | None:
    return stay.account.paid if stay.account else None


def _open(stay: Stay) -> Decimal | None:
    return stay.account.open if stay.account else None


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
        "groups": groups(stays, on=on),
        "summary": summary(stays, on=on),
        "unknown": any(stay.price is not None and stay.part is None for stay in stays),
        "by_order": any(stay.job and stay.sale for stay in stays),
    }
    made_at = max(stay.record.updated_at for stay in stays)
    return print_piece_paper("consignment.html", context, letterhead=letterhead, made_at=made_at)
