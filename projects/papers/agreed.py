"""What a client agrees to by accepting a quote: the whole of what was shown, as plain text to be signed and kept."""

from collections.abc import Iterator
from typing import Any

from projects.models import Quote, QuoteOption
from projects.models.studio import ClientKind
from projects.papers.offered import as_chosen
from projects.papers.prices import Line
from projects.papers.quote import Copy, quote_context
from projects.papers.terms import Clause


def copy_for(quote: Quote) -> Copy:
    """Which copy says all that is agreed with whom the quote is addressed to."""
    return "trade" if quote.addressee.get("kind") == ClientKind.GALLERY else "client"


def agreed_text(quote: Quote, option: QuoteOption | None) -> str:
    """The quote as drawn, or with one of its options, in words: parties, piece, price, payments and terms.

    The same quote gives the same text, which holds the SHA-256 of the papers that were handed out with it.
    """
    context = quote_context(as_chosen(quote, option), copy=copy_for(quote))
    parts = (_head(context), _piece(context, option), _money(context), _terms(context), _papers(quote))
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _head(context: dict[str, Any]) -> Iterator[str]:
    letterhead = context["letterhead"]
    yield f"Quote {context['quote'].reference} of {context['issued']}, open until {context['valid_until']}"
    yield "; ".join([f"From {letterhead['name']}", *context["contact"]])
    yield f"For {'; '.join(context['addressee'])}"


def _piece(context: dict[str, Any], option: QuoteOption | None) -> Iterator[str]:
    yield context["quote"].title
    yield f"Chosen: {option.title} ({', '.join(option.says)})" if option else "Chosen: as drawn"
    yield from (context["summary"], *context["message"])
    for head, said in context["facts"]:
        woods = ", ".join(map(_wood, context["woods"])) if head == "Woods" else ", ".join(said)
        yield f"{head}: {woods}"


def _wood(wood: dict[str, Any]) -> str:
    named = f"{wood['name']} ({wood['botanical']})" if wood.get("botanical") else str(wood["name"])
    return f"{named} from {wood['origin']}" if wood.get("origin") else named


def _money(context: dict[str, Any]) -> Iterator[str]:
    prices = context["prices"]
    yield from map(_line, [*prices.lines, prices.total])
    yield from map(_line, prices.payments) if prices.payments else [prices.deposit]
    yield from filter(None, (context["untaxed"], context["currency"]))
    if context["copy"] == "trade" and context["has_gallery"]:
        yield "Between gallery and studio:"
        yield from map(_line, [*prices.account, prices.net])
        yield from context["between"]


def _line(line: Line) -> str:
    return f"{line.words}: {line.amount}"


def _terms(context: dict[str, Any]) -> Iterator[str]:
    yield "Agreed between us:"
    yield from map(_clause, [*context["terms"], *context["protected"]])
    yield from (f"Care. {_clause(clause)}" for clause in context["care"])


def _clause(clause: Clause) -> str:
    return f"{clause.head} {clause.body}".strip()


def _papers(quote: Quote) -> Iterator[str]:
    yield f"The client copy of the quote (PDF) has the SHA-256 {quote.client_sha256}."
    if copy_for(quote) == "trade":
        yield f"Its trade copy has the SHA-256 {quote.trade_sha256}."
