"""The learned rates as rows of their page, with how each came about in words. Says; does not reckon."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import add
from typing import TYPE_CHECKING

from projects.models import Commission, LearningSettings, Studio
from projects.rates import learned_of, method_of, record_of, settings_of, standing_of, untaught_of
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.work.labour import StandingRate
    from estimating.work.learning import Learned, Record, Weighed


@dataclass(frozen=True)
class Row:
    """One operation: as it stands, as it was learned (or not), how past estimates did, and what teaches nothing."""

    standing: "StandingRate"
    learned: "Learned | None" = None
    record: "Record | None" = None
    working: str = ""
    untaught: int = 0


@dataclass(frozen=True)
class Outlier:
    """A job that took far more or far less than the others say."""

    operation: str
    job: str
    day: date
    minutes: float
    score: float
    weight: float

    @property
    def is_slow(self) -> bool:
        return self.score > 0


@dataclass(frozen=True)
class RatesShown:
    """All that the page shows of the rates."""

    rows: Sequence[Row]
    outliers: Sequence[Outlier] = ()
    record: "Record | None" = None
    untaught: int = 0
    taught: int = 0


def rates_shown(studio: Studio) -> RatesShown:
    """The studio's rates by operation, those first that the log has taught, each kind in the order of the work."""
    settings, standing = settings_of(studio), standing_of(studio)
    learned, untaught = learned_of(studio, settings, standing), untaught_of(studio)
    rows = [
        _row(rate, learned.get(name), untaught.get(name, 0), settings=settings)
        for name, rate in standing.items()
    ]
    records = [row.record for row in rows if row.record is not None]
    return RatesShown(
        rows=sorted(rows, key=lambda row: row.learned is None),
        outliers=_outliers(studio, learned),
        record=reduce(add, records) if records else None,
        untaught=sum(untaught.values()),
        taught=len(learned),
    )


def _row(
    rate: "StandingRate", learned: "Learned | None", untaught: int, *, settings: LearningSettings
) -> Row:
    if learned is None:
        return Row(rate, untaught=untaught)
    record = record_of(learned, method_of(settings))
    return Row(rate, learned, record, _working(learned, settings), untaught)


def _working(learned: "Learned", settings: LearningSettings) -> str:
    """How a rate was learned, in words."""
    jobs = len(learned.jobs)
    counted = (
        f"{jobs} job{'' if jobs == 1 else 's'}, which count as {learned.weight:.1f} for their age, stand against the "
        f"standing rate, which counts as {show.plain(settings.standing_weight)}."
    )
    told = learned.split
    if told.is_apart:
        parts = (
            f"Your log tells set-ups and units apart: before that, set-ups were taken times {told.setup:.2f} and units "
            f"times {told.unit:.2f}."
        )
    else:
        parts = f"Set-up and unit are not told apart: {told.why_not}."
    return (
        f"The standing minutes times {learned.factor:.2f}: {counted} {parts} Four jobs in five are expected to take "
        f"{learned.low:.2f} to {learned.high:.2f} times the median."
    )


def _outliers(studio: Studio, learned: "Mapping[str, Learned]") -> list[Outlier]:
    found = [(name, one) for name, of in learned.items() for one in of.outliers]
    if not found:
        return []
    titles = _titles(studio, (one for _, one in found))
    return [
        Outlier(
            name,
            titles.get(one.job.name, ""),
            date.fromordinal(int(one.job.day)),
            one.job.minutes,
            one.score,
            one.weight,
        )
        for name, one in found
    ]


def _titles(studio: Studio, jobs: "Iterable[Weighed]") -> Mapping[str, str]:
    keys = {int(one.job.name) for one in jobs}
    rows = Commission.objects.for_studio(studio).filter(pk__in=keys).values_list("pk", "title")
    return {str(pk): title for pk, title in rows}
