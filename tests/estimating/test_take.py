"""Should I take it: each answer by figures that earn it and the nearest that do not."""

from decimal import Decimal

import pytest

from estimating.price.take import verdict


@pytest.mark.parametrize(
    ("median", "slow", "free", "pays", "fits", "taken"),
    [
        (50, 40, 30, "yes", "yes", "yes"),
        (50, 40, "29.9", "yes", "unless_slow", "unless_slow"),
        (50, "39.99", 30, "unless_slow", "yes", "unless_slow"),
        (40, 30, 20, "unless_slow", "unless_slow", "unless_slow"),
        (50, 40, "19.9", "yes", "no", "no"),
        ("39.99", 30, 30, "no", "yes", "no"),
        (50, 40, None, "yes", None, "yes"),
    ],
)
def test_it_pays_forty_an_hour_and_fits_twenty_hours_or_thirty(
    median: object, slow: object, free: object, pays: str, fits: str, taken: str
) -> None:
    found = verdict(
        median=Decimal(str(median)),
        slow=Decimal(str(slow)),
        wanted=Decimal(40),
        hours=(20.0, 30.0),
        free=None if free is None else float(str(free)),
    )
    assert (found.pays, found.fits, found.taken) == (pays, fits, taken)
