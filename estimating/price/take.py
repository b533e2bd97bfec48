"""Whether to take the work: what it leaves an hour beside what is wanted, its hours beside those that are free."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Answer = Literal["yes", "unless_slow", "no"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """`pays`: whether it leaves what is wanted; `fits`: whether the bench has the hours, None where no day is set."""

    pays: Answer
    fits: Answer | None

    @property
    def taken(self) -> Answer:
        """The worse of the two."""
        answers = {self.pays, self.fits}
        return "no" if "no" in answers else "unless_slow" if "unless_slow" in answers else "yes"


def verdict(
    *, median: Decimal, slow: Decimal, wanted: Decimal, hours: tuple[float, float], free: float | None
) -> Verdict:
    """Compare what is left an hour at the median and at the slow end with the wanted earning, and hours with free ones.

    `hours` are those at the median and at the slow end, `free` the bench's before the promised day.
    """
    fits: Answer | None = None
    if free is not None:
        fits = "yes" if hours[1] <= free else "unless_slow" if hours[0] <= free else "no"
    return Verdict("yes" if slow >= wanted else "unless_slow" if median >= wanted else "no", fits)
