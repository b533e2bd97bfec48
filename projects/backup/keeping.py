"""Which backups are kept: the last of each of so many days, weeks and months that have one, and the newest always."""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass

_PERIODS: dict[str, Callable[[datetime.datetime], tuple[int, ...]]] = {
    "daily": lambda at: (at.year, at.month, at.day),
    "weekly": lambda at: at.isocalendar()[:2],
    "monthly": lambda at: (at.year, at.month),
}
MOST = 10_000


@dataclass(frozen=True)
class Rule:
    """How many days, weeks and months keep their last backup. Days and weeks are those of UTC, from Monday."""

    daily: int = 0
    weekly: int = 0
    monthly: int = 0


def rule_of(text: str) -> Rule:
    """A rule as it is typed: `daily=7,weekly=5,monthly=12`. Errors: ValueError in words.

    >>> rule_of("daily=7, monthly=12")
    Rule(daily=7, weekly=0, monthly=12)
    """
    counts: dict[str, int] = {}
    for part in text.split(","):
        name, _, number = (piece.strip() for piece in part.partition("="))
        if name not in _PERIODS or name in counts:
            raise ValueError(f"{part.strip()!r}: write daily=7,weekly=5,monthly=12, each once at the most.")
        if not (number.isascii() and number.isdecimal()) or int(number) > MOST:
            raise ValueError(f"{part.strip()!r}: must be a whole number up to {MOST}.")
        counts[name] = int(number)
    return Rule(**counts)


def going(made: Iterable[datetime.datetime], rule: Rule) -> list[datetime.datetime]:
    """Those backups, by the moment they were made, that the rule does not keep; the oldest first."""
    moments = sorted(set(made), reverse=True)
    kept = set(moments[:1])
    for name, period in _PERIODS.items():
        last: dict[tuple[int, ...], datetime.datetime] = {}
        for moment in moments:
            last.setdefault(period(moment), moment)
        kept |= set(list(last.values())[: getattr(rule, name)])
    return [moment for moment in reversed(moments) if moment not in kept]
