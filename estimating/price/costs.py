"""What the pieces cost to make: wood, glue, consumables, hours, overhead, failures."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from estimating.piece import Finish, Pricing
from estimating.price.failures import STAGES_BEFORE, Losses
from estimating.price.money import round_money

_MM2_IN_DM2 = 10_000.0


@dataclass(frozen=True, slots=True)
class Cost:
    """Lines of cost for all pieces, each rounded to the currency; `total` is their sum.

    `by_stage` says what the failures are made of, by `segment`, `ring`, `glue_up` and `lathe`, where losses are set so.
    """

    wood: Decimal
    adhesive: Decimal
    consumables: Decimal
    labour: Decimal
    overhead: Decimal
    failures: Decimal
    by_stage: Mapping[str, Decimal] = field(default_factory=dict)

    @property
    def total(self) -> Decimal:
        return self.wood + self.adhesive + self.consumables + self.labour + self.overhead + self.failures

    @property
    def all_but_labour(self) -> Decimal:
        return self.total - self.labour


def finish_ml(finish: Finish, *, surface: float) -> float:
    """Finish for all its coats on a surface in mm2, ml."""
    return finish.coats * finish.ml_per_dm2 * surface / _MM2_IN_DM2


def exact(number: float) -> Decimal:
    """The decimal a float prints as: what a person would carry over."""
    return Decimal(repr(float(number)))


def add_costs(
    *,
    wood: float,
    adhesive_ml: float,
    finish: Decimal,
    mean_hours: float,
    pricing: Pricing,
    staged: Callable[[Decimal, Decimal], Losses] | None = None,
) -> Cost:
    """Cost of all pieces.

    Units: `wood` and `finish` in money, hours as their mean, since a studio pays for its slow jobs too.
    Failures are p / (1 - p) of the other lines: of every job begun, a share p is made again. Where `staged` is given,
    it says from the lines of wood and adhesive what failures cost by stage, in the place of that share.
    """

    def rounded(amount: Decimal) -> Decimal:
        return round_money(amount, currency=pricing.currency)

    hours = exact(mean_hours)
    lines: dict[str, Any] = {
        "wood": rounded(exact(wood)),
        "adhesive": rounded(exact(adhesive_ml) * pricing.adhesive_per_ml),
        "consumables": rounded(pricing.consumables + finish + hours * pricing.consumables_rate),
        "labour": rounded(hours * pricing.labour_rate),
        "overhead": rounded(hours * pricing.overhead_rate),
    }
    if staged is not None:
        lost = staged(lines["wood"], lines["adhesive"])
        each = dict(zip(STAGES_BEFORE, map(rounded, lost.each), strict=True))
        return Cost(by_stage=each, failures=sum(each.values(), Decimal(0)), **lines)
    failing = pricing.failure_share
    rest = sum(lines.values(), Decimal(0))
    return Cost(**lines, failures=rounded(rest * failing / (1 - failing)))
