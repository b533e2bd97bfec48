"""The options of a quote as its papers say them, and a quote read as if one of them were the piece."""

from collections.abc import Iterable
from dataclasses import dataclass

from projects.models import Quote, QuoteOption
from projects.papers import words
from projects.templatetags.turnery import money

KEPT = (
    *("studio", "commission", "state", "number", "revision", "issued_at", "valid_until", "lead_time"),
    *("message", "terms", "care", "title", "letterhead", "addressee"),
)
OTHER = ("sheet", "estimate", "drawing", "species", "finish")


@dataclass(frozen=True, slots=True)
class Offered:
    """One option as it is printed: what it is called, what is other, its size, and what it comes to in all."""

    title: str
    says: tuple[str, ...]
    size: str
    total: str


def offered(quote: Quote) -> list[Offered]:
    """The options frozen on a quote, in their order; none on one that is not saved."""
    return [_offered(option, quote) for option in options_on(quote)]


def options_on(quote: Quote) -> Iterable[QuoteOption]:
    """The options that are frozen."""
    return quote.options.exclude(sheet={}).order_by("position") if quote.pk else ()


def _offered(option: QuoteOption, quote: Quote) -> Offered:
    price, letterhead = option.estimate["price"], quote.letterhead
    return Offered(
        title=option.title,
        says=tuple(says_more(option)),
        size=words.size(
            option.estimate["form"],
            unit=letterhead.get("length_unit", "mm"),
            inches=letterhead.get("inch_style", "fraction"),
        ),
        total=money(price["total"], price["currency"]),
    )


def says_more(option: QuoteOption) -> list[str]:
    """What is other in an option, where its title does not say just that."""
    said = ", ".join(option.says)
    return [] if said.casefold() == option.title.casefold() else list(option.says)


def as_chosen(quote: Quote, option: QuoteOption | None) -> Quote:
    """The quote with an option in the place of the piece as drawn: a copy that is never saved."""
    if option is None:
        return quote
    kept = {name: getattr(quote, name) for name in KEPT}
    return Quote(**kept, **{name: getattr(option, name) for name in OTHER})
