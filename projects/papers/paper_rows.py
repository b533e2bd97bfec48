"""What a paper handed out beside the quote says, in words and rows, from its frozen row alone."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from projects.models import IssuedPaper
from projects.models.issued import ASKS_FOR_MONEY, PaperKind
from projects.papers import words
from projects.papers.clauses import protected_clauses
from projects.papers.parties import client_lines, studio_lines
from projects.papers.terms import STANDARD_CARE, Clause, clauses
from projects.templatetags.turnery import money

Copy = Literal["client", "trade"]

ON_DELIVERY = ("delivery.", "damage.", "returns.", "joints.", "repairs.")
"""Heads of the terms that a delivery note repeats: what matters when the parcel is opened."""


@dataclass(frozen=True)
class Row:
    """A row of the money table: what, before tax, tax and both; `kind` is line, sum, rate, off or due."""

    words: str
    base: str
    tax: str = ""
    both: str = ""
    kind: str = "line"


def paper_context(paper: IssuedPaper, *, copy: Copy) -> dict[str, Any]:
    """All that a copy says, in words and rows: what is printed, and what the preview shows."""
    content = paper.content
    is_trade = copy == "trade" and bool(content.get("two_copies"))
    asks = paper.kind in ASKS_FOR_MONEY
    context: dict[str, Any] = {
        "paper": content["paper"],
        "kind": paper.kind,
        "copy": copy,
        "is_trade": is_trade,
        "head": content["head"],
        "number": paper.number,
        "dated": words.day(paper.issued_on),
        "letterhead": content["studio"],
        "contact": studio_lines(content["studio"]),
        "addressee": client_lines(content["client"]),
        "title": content["title"],
        "facts": list(_facts(paper, content)),
        "piece": content.get("piece"),
        "reason": words.lines(content.get("reason", "")),
        "notes": list(_notes(paper, content)),
        "bank": words.lines(content.get("bank", "")) if asks else [],
        "terms": _terms(paper.kind, content),
        "due_on": words.day(paper.due_on) if paper.due_on else "",
        "tax_name": content.get("tax_name", ""),
    }
    return context | _money(paper, content, is_trade=is_trade) | _for_trade(content, is_trade=is_trade)


def _facts(paper: IssuedPaper, content: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Which order it is of, and its days."""
    order = content["order"]
    yield "Order", f"Quote {order['quote']} of {_day(order['quoted'])}"
    yield "Accepted", f"{_day(order['accepted'])} by {order['by']}"
    if order["option"]:
        yield "Chosen", order["option"]
    if content.get("corrects"):
        yield "Corrects", _named(content["corrects"])
    if content.get("changes"):
        yield "Changes", "; ".join(content["changes"])
    if content.get("replaces"):
        yield "Replaces", content["replaces"]
    if paper.due_on:
        yield "Due by", words.day(paper.due_on)
    piece = content.get("piece")
    if piece and piece["ready"] and paper.kind == PaperKind.CONFIRMATION:
        days = int(content.get("later_days") or 0)
        more = (
            f"; changes agreed make it {abs(days)} days {'later' if days > 0 else 'earlier'}" if days else ""
        )
        yield "Ready", f"{piece['ready'][:1].upper()}{piece['ready'][1:]}{more}"


def _notes(paper: IssuedPaper, content: Mapping[str, Any]) -> Iterator[str]:
    """What the law or the reader may ask: why there is no tax, what the paper is not, and the currency."""
    if content.get("untaxed"):
        yield content["untaxed"]
    if paper.amount is not None:
        if not paper.is_invoice:
            yield "Not a tax invoice."
        yield words.currency(content["currency"], paper.issued_on)


def _terms(kind: str, content: Mapping[str, Any]) -> list[Clause]:
    """The terms agreed, as the quote has them; on a delivery note those of the parcel alone."""
    found = clauses(content.get("terms", ""))
    if kind == PaperKind.DELIVERY:
        found = [clause for clause in found if clause.head.casefold() in ON_DELIVERY]
    if content.get("piece"):
        found += protected_clauses(content["piece"]["woods"])
        care = clauses(content.get("care") or STANDARD_CARE)
        found += [Clause("Care.", f"{clause.head} {clause.body}".strip()) for clause in care]
    return found


def _for_trade(content: Mapping[str, Any], *, is_trade: bool) -> dict[str, Any]:
    """What stands on a gallery's copy alone."""
    if not is_trade:
        return {"account": [], "between": [], "packed": "", "insured": ""}
    insured = content.get("insured")
    return {
        "account": content.get("account", []),
        "between": content.get("between", []),
        "packed": content.get("packed", ""),
        "insured": f"{money(insured, content['currency'])}, before tax" if insured else "",
    }


def _money(paper: IssuedPaper, content: Mapping[str, Any], *, is_trade: bool) -> dict[str, Any]:
    """The rows of the money table, the payments, and the figure at its foot; none on a delivery note."""
    nothing: dict[str, Any] = {"rows": [], "payments": [], "retail": [], "due": None, "several": False}
    if paper.amount is None:
        return nothing
    if content.get("two_copies") and not is_trade:
        # The buyer's copy has the price as it is on the buyer's quote, and nothing of what the gallery pays.
        return nothing | {"retail": content["retail"]}
    currency = content["currency"]
    due = money(paper.amount, currency)
    words_ = {PaperKind.CREDIT: "Credited", PaperKind.CONFIRMATION: "In all"}.get(
        PaperKind(paper.kind), "To pay"
    )
    return {
        "rows": list(_rows(paper, content)),
        "payments": [
            {"words": row["words"], "amount": money(row["amount"], currency)}
            for row in content.get("payments", [])
        ],
        "retail": [],
        "due": {"words": f"{words_} by {words.day(paper.due_on)}" if paper.due_on else words_, "amount": due},
        "tax_head": _tax_head(content),
    }


def _tax_head(content: Mapping[str, Any]) -> str:
    """The tax by its name, with its rate where there is but one."""
    rates = {row["rate"] for part in _all_rates(content) for row in part}
    name = content.get("tax_name") or "Tax"
    return f"{name}, {words.percent(Decimal(rates.pop()))}" if len(rates) == 1 else name


def _all_rates(content: Mapping[str, Any]) -> Iterator[Sequence[Mapping[str, str]]]:
    yield content["rates"]
    yield content.get("whole", [])
    yield from (earlier["rates"] for earlier in content.get("taken_off", []))


def _rows(paper: IssuedPaper, content: Mapping[str, Any]) -> Iterator[Row]:
    currency = content["currency"]
    if content.get("corrects"):
        yield from _sums(f"Credited of {_named(content['corrects'])}", content["rates"], currency, kind="sum")
    elif "asked" in content:
        whole = content["whole"]
        yield from _sums("The order in all", whole, currency, kind="plain")
        yield from _sums(content["asked"], content["rates"], currency, kind="sum")
    else:
        several = len(content["whole"]) > 1
        for line in content["lines"]:
            rate = f", at {words.percent(Decimal(line['rate']))}" if several else ""
            yield Row(f"{line['words']}{rate}", money(line["base"], currency))
        yield from _sums("The order in all", content["whole"], currency, kind="sum")
        for earlier in content.get("taken_off", []):
            yield from _sums(f"Less {_named(earlier)}", earlier["rates"], currency, kind="off", sign=-1)
        if content.get("taken_off"):
            yield from _sums("Left to pay", content["rates"], currency, kind="sum")


def _sums(
    said: str, rates: Sequence[Mapping[str, str]], currency: str, *, kind: str, sign: int = 1
) -> Iterator[Row]:
    """A row with base, tax and both; where there are several rates, a row for each below it."""
    parts = [(row["rate"], sign * Decimal(row["base"]), sign * Decimal(row["tax"])) for row in rates]
    base, tax = sum(part[1] for part in parts), sum(part[2] for part in parts)
    yield Row(said, money(base, currency), money(tax, currency), money(base + tax, currency), kind)
    if len(parts) > 1:
        for rate, at_base, at_tax in parts:
            base_at, tax_at, both_at = (money(part, currency) for part in (at_base, at_tax, at_base + at_tax))
            yield Row(f"of which at {words.percent(Decimal(rate))}", base_at, tax_at, both_at, "rate")


def _named(earlier: Mapping[str, Any]) -> str:
    title = earlier["title"]
    return f"{title[:1].lower()}{title[1:]} {earlier['number']} of {_day(earlier['date'])}"


def _day(written: str) -> str:
    return words.day(datetime.date.fromisoformat(written))
