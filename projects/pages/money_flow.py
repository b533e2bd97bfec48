"""The section "Where the money goes": the picture, what is left an hour, and whether to take the work."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from projects.free_hours import free_hours
from projects.models import Commission, Studio
from projects.pages.carriage_words import carriage_rows
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.price.split import Part

AT_COST = ("freight", "crate", "stand")
WORDS = {
    "gallery": "the gallery",
    "fee": "payment fee",
    "wood": "wood",
    "adhesive": "adhesive",
    "consumables": "consumables",
    "overhead": "overhead",
    "failures": "failures",
    "work": "left for the work",
}


def money_flow(estimate: "Estimate", *, studio: Studio, job: Commission | None) -> dict[str, Any]:
    """Pictures lying and upright, none where the price leaves less than nothing; what is left an hour; a verdict."""
    from estimating.price.pricing import left_at
    from estimating.price.split import split

    parts = split(estimate.price, estimate.cost)
    drawable = all(part.amount >= 0 for part in parts) and sum(part.amount for part in parts) > 0
    labour, pricing = estimate.labour, estimate.sheet.pricing
    left = {
        name: left_at(
            minutes / 60,
            price=estimate.price,
            cost=estimate.cost,
            mean_hours=labour.mean_hours,
            pricing=pricing,
        )
        for name, minutes in (("median", labour.median), ("slow", labour.high))
    }
    pictures = (
        [_picture(parts, estimate, studio, upright=upright) for upright in (False, True)] if drawable else []
    )
    shown = {
        "money_pictures": pictures,
        "money_left": left,
        "money_work": parts[-1].amount,
        "carriage_rows": carriage_rows(estimate, studio),
    }
    return shown if job is None else shown | _verdict(estimate, job, left)


def _verdict(estimate: "Estimate", job: Commission, left: dict[str, Decimal]) -> dict[str, Any]:
    """Should I take it: against the wanted earning, which is the labour rate where none is set, and the free hours."""
    from estimating.price.take import verdict

    labour, pricing = estimate.labour, estimate.sheet.pricing
    wanted = pricing.labour_rate if pricing.wanted_hourly is None else pricing.wanted_hourly
    bench = None
    if job.promised_on is not None:
        bench = free_hours(job.studio, until=job.promised_on, now=timezone.now(), besides=job)
    found = verdict(
        **left,
        wanted=wanted,
        hours=(labour.median / 60, labour.high / 60),
        free=None if bench is None else bench.free,
    )
    return {"take": found, "wanted": wanted, "bench_hours": bench}


def _picture(parts: "tuple[Part, ...]", estimate: "Estimate", studio: Studio, *, upright: bool) -> SafeString:
    from estimating.picture.money import Slice, draw_money

    currency = estimate.sheet.pricing.currency
    at_cost = zip(AT_COST, estimate.price.pass_through, strict=True)
    words = {
        **WORDS,
        "tax": studio.pricing.tax_name,
        "at_cost": ", ".join(name for name, amount in at_cost if amount),
    }
    slices = [Slice(words[part.key], show.money(part.amount, currency), float(part.amount)) for part in parts]
    paid = sum((part.amount for part in parts), estimate.price.tax * 0)
    said = "; ".join(f"{one.words} {one.printed}" for one in slices if one.amount)
    drawn = draw_money(
        slices,
        begins=Slice("what is paid", show.money(paid, currency), float(paid)),
        title="Where the money goes",
        description=f"Of {show.money(paid, currency)}: {said}.",
        upright=upright,
        prefix="mo-up" if upright else "mo",
    )
    return mark_safe(drawn)  # made of escaped text
