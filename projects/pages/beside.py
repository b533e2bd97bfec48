"""Two pieces beside each other: their drawings to one scale, and their figures with what is between them."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from projects.drawings import quote_drawing
from projects.models import Studio
from projects.templatetags.turnery import figure, grams, hours, money, size_unit, timber, timber_unit

if TYPE_CHECKING:
    from estimating.estimate import Estimate

VIEW = re.compile(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) [\d.]+"')
MANY_TIMES = 5
MINUS = "\u2212"


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of two pieces in words, and the difference: empty where there is none, or where it says nothing."""

    name: str
    was: str
    now: str
    apart: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing and its width as a share of the widest beside it, so that all are to one scale."""

    svg: SafeString
    share: float


def drawings(estimates: "Sequence[Estimate]", *, studio: Studio) -> list[Drawn]:
    """The drawings of several pieces, to one scale."""
    drawn = [
        quote_drawing(one, studio=studio, prefix=f"dw-{number}")
        for number, one in enumerate(estimates, start=1)
    ]
    widths = [float(found[1]) if (found := VIEW.search(svg)) else 1.0 for svg in drawn]
    return [
        Drawn(mark_safe(svg), round(width / max(widths), 4))  # made of escaped text
        for svg, width in zip(drawn, widths, strict=True)
    ]


def figures(was: "Estimate", now: "Estimate", *, studio: Studio) -> list[Row]:
    """Size, layers, segments, woods, mass, hours and price of two estimates."""
    return list(_figures(was, now, studio))


def _figures(was: "Estimate", now: "Estimate", studio: Studio) -> Iterator[Row]:
    from estimating.answer import finished_mass_of

    pair = (was, now)

    def row(name: str, values: Sequence[Any], say: Any, places: int = 6) -> Row:
        return _row(name, *(round(value, places) for value in values), say=say)

    def size(mm: Any) -> str:
        return size_unit(mm, studio)

    def wood(mm3: Any) -> str:
        return f"{timber(mm3, studio)} {timber_unit(studio)}"

    yield row("height", [one.height for one in pair], size, 3)
    yield row("largest diameter", [one.largest_diameter for one in pair], size, 3)
    yield row("layers", [one.layers for one in pair], figure)
    yield row("segments of one piece", [one.segments for one in pair], figure)
    for key, name in _woods(was, now):
        yield row(f"{name}, in one piece", [_turned(one, key) for one in pair], wood)
    yield row("wood from the boards, all pieces", [_boards(one) for one in pair], wood)
    yield row("mass of one piece, finished", [finished_mass_of(one) for one in pair], grams)
    yield row("pieces", [one.sheet.quantity for one in pair], figure)
    yield row("hours, all pieces", [one.labour.median for one in pair], lambda value: f"{hours(value)} h")
    currency = studio.currency

    def priced(amount: Any) -> str:
        return money(amount, currency)

    yield row("price of one, today", [one.price.retail / one.sheet.quantity for one in pair], priced, 2)
    if any(one.sheet.quantity > 1 for one in pair):
        yield row("price of all, today", [one.price.retail for one in pair], priced, 2)


def _row(name: str, was: Any, now: Any, *, say: Any) -> Row:
    """The difference is of the figures themselves; one too small to be seen in them is none."""
    before, after = say(was), say(now)
    if before == after:
        return Row(name, before, after, "")
    apart = now - was
    return Row(name, before, after, f"{signed(apart, say)}{_share(was, now)}")


def _share(was: Any, now: Any) -> str:
    """In per cent, as long as that says more than how many times as much it is."""
    if not was:
        return ""
    if now / was > MANY_TIMES:
        return f", {now / was:.0f} times as much"
    return f", {signed(now / was - 1, '{:.0%}'.format)}".replace("%", " %")


def signed(value: Any, say: Callable[[Any], str]) -> str:
    """A difference as `say` says it, with its sign before it."""
    return f"{'+' if value > 0 else MINUS}{say(abs(value))}"


def _woods(was: "Estimate", now: "Estimate") -> list[tuple[str, str]]:
    keys = dict.fromkeys([*was.wood, *now.wood])
    known = {**was.workshop.woods, **now.workshop.woods}
    return [(key, known[key].name if key in known else key) for key in keys]


def _turned(one: "Estimate", key: str) -> float:
    account = one.wood.get(key)
    return account.turned / one.sheet.quantity if account else 0.0


def _boards(one: "Estimate") -> float:
    return sum(account.boards for account in one.wood.values())
