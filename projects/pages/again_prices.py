"""From the price of then to that of a piece made again, as lines of a table, each with what it adds."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from projects.again import Again
from projects.again_price import Reason, price_of_one
from projects.pages.beside import signed
from projects.templatetags.turnery import money

UNKNOWN = "Rates, prices and terms since; how much of it is which is not known"


@dataclass(frozen=True, slots=True)
class Line:
    """One line: a price in full where `is_price`, else what it adds to those above."""

    words: str
    amount: str
    is_price: bool


def prices(shown: Again) -> dict[str, Any]:
    """The prices of one piece, as it was and made again, both today; and the lines between them and that of then."""
    currency = shown.after.sheet.pricing.currency
    was, now = price_of_one(shown.before), price_of_one(shown.after)
    lines = list(_lines(shown, currency))
    return {
        "was": money(was, currency),
        "now": money(now, currency),
        "lines": lines if len(lines) > 1 else [],
        "in_turn": len(shown.apart) > 1,
    }


def _lines(shown: Again, currency: str) -> Iterator[Line]:
    was, then = price_of_one(shown.before), shown.start.then
    if then is not None and then.currency == currency:
        yield Line(f"Then: {then.words}", money(then.price, currency), True)
        since = shown.since or ((Reason(UNKNOWN, was - then.price),) if was != then.price else ())
        yield from _added(since, currency)
    yield Line("As it was, today", money(was, currency), True)
    yield from _added(shown.apart, currency)
    if shown.apart:
        yield Line("Made again, today", money(price_of_one(shown.after), currency), True)


def _added(reasons: Sequence[Reason], currency: str) -> Iterator[Line]:
    for one in reasons:
        words = one.words[:1].upper() + one.words[1:]
        yield Line(words, signed(one.amount, lambda value: money(value, currency)), False)
