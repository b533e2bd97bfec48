"""The day that is promised: the likely one, and a share of the time until then in hand."""

from collections.abc import Callable
from datetime import date, timedelta
from math import ceil

from estimating.errors import InvalidInput

FURTHEST = 60
"""Days after the reckoned one in which a day with somebody at the bench is looked for."""


def promise_day(
    *, planned_on: date, likely: date, buffer: float, is_open: Callable[[date], bool] = lambda day: True
) -> date:
    """The day to promise: the 80 % date and `buffer` of the time until then, on a day that the bench is open.

    Shape: the share of the days from `planned_on` to `likely` is rounded up to whole days. Where no day is open within
        two months after that, the reckoned day itself.
    Errors: InvalidInput at `buffer` below 0 or above 1, at `likely` for a day before the planning.
    Source: the share is `date_buffer` of tables/shop_defaults.csv: common practice, no source.

    >>> promise_day(planned_on=date(2027, 3, 1), likely=date(2027, 3, 21), buffer=0.15).isoformat()
    '2027-03-24'
    """
    if not 0 <= buffer <= 1:
        raise InvalidInput("buffer", f"must be 0 to 1, got {buffer}")
    if likely < planned_on:
        raise InvalidInput("likely", f"must not lie before the planning on {planned_on}, got {likely}")
    # A share that is whole days is not made one more by its binary rounding: 20 days x 0.15 are 3.
    in_hand = ceil(round((likely - planned_on).days * buffer, 9))
    reckoned = likely + timedelta(days=in_hand)
    ahead = (reckoned + timedelta(days=more) for more in range(FURTHEST))
    return next((day for day in ahead if is_open(day)), reckoned)
