"""The moisture that wood comes to in a room's air, and the humidity that would keep it at a moisture."""

from math import isfinite

from estimating.errors import InvalidInput

TEMPERATURES = (-1.1, 132.2)
"""Degrees C that the handbook's table of equilibrium moisture spans (30 to 270 degrees F)."""

HUMIDITIES = (5.0, 95.0)
"""Relative humidity, %, that the table spans. Its low end also catches 0.45 written for 45 %."""

_HALVINGS = 60
"""Halvings of the table's span of humidity until nothing is left to halve in a float."""


def equilibrium_moisture(*, temperature_c: float, humidity: float) -> float:
    """Moisture, % of the ovendry mass, that wood comes to in still air of `temperature_c` and `humidity` %.

    The same formula for every wood: a real board lies up to a per cent off it, by its species and by whether it has
    been drying or wetting. 0.1 % is a trend, no more.
    Errors: InvalidInput at `temperature_c` or `humidity` outside the published table.
    Source: Wood Handbook (FPL-GTR-282, 2021) ch. 4, equation (4-5), coefficients for degrees C.

    >>> round(equilibrium_moisture(temperature_c=21.1, humidity=50), 1)
    9.2
    """
    _check("temperature_c", temperature_c, TEMPERATURES, "degrees C")
    _check("humidity", humidity, HUMIDITIES, "%")
    return _isotherm(temperature_c, humidity / 100)


def humidity_for(*, moisture: float, temperature_c: float) -> float:
    """Relative humidity, %, that keeps wood at `moisture` % in air of `temperature_c`.

    The moisture rises with the humidity, so that halving the span again and again finds it.
    Errors: InvalidInput at `temperature_c` outside the table, at `moisture` for one that no humidity of it gives.

    >>> round(humidity_for(moisture=12.0, temperature_c=20.0))
    65
    """
    _check("temperature_c", temperature_c, TEMPERATURES, "degrees C")
    low, high = HUMIDITIES
    reached = (_isotherm(temperature_c, low / 100), _isotherm(temperature_c, high / 100))
    _check("moisture", moisture, reached, "%")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _isotherm(temperature_c, middle / 100) < moisture:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _isotherm(t: float, h: float) -> float:
    """Equation (4-5): temperature in degrees C, humidity a fraction."""
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    two = k1 * k2 * kh**2
    return 1800 / w * (kh / (1 - kh) + (k1 * kh + 2 * two) / (1 + k1 * kh + two))


def _check(place: str, value: float, span: tuple[float, float], unit: str) -> None:
    low, high = span
    if not (isfinite(value) and low - 1e-9 <= value <= high + 1e-9):
        raise InvalidInput(place, f"must be from {low:.3g} to {high:.4g} {unit}, not {value:g}")
