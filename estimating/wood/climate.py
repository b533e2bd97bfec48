"""The moisture that wood comes to in a room's air, and the humidity that would keep it at a moisture."""

from dataclasses import dataclass
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
    return isotherm_at(temperature_c).moisture(humidity)


def humidity_for(*, moisture: float, temperature_c: float) -> float:
    """Relative humidity, %, that keeps wood at `moisture` % in air of `temperature_c`.

    The moisture rises with the humidity, so that halving the span again and again finds it.
    Errors: InvalidInput at `temperature_c` outside the table, at `moisture` for one that no humidity of it gives.

    >>> round(humidity_for(moisture=12.0, temperature_c=20.0))
    65
    """
    _check("temperature_c", temperature_c, TEMPERATURES, "degrees C")
    low, high = HUMIDITIES
    isotherm = isotherm_at(temperature_c)
    reached = (isotherm.moisture(low), isotherm.moisture(high))
    _check("moisture", moisture, reached, "%")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if isotherm.moisture(middle) < moisture:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@dataclass(frozen=True, slots=True)
class Isotherm:
    """Equation (4-5) at one temperature: its four coefficients."""

    w: float
    k: float
    k1: float
    k2: float

    def terms(self, humidity: float) -> tuple[float, float]:
        """The two terms of its bracket at a relative humidity, %: dissolved water, and water held at sites."""
        kh = self.k * humidity / 100
        two = self.k1 * self.k2 * kh**2
        return kh / (1 - kh), (self.k1 * kh + 2 * two) / (1 + self.k1 * kh + two)

    def moisture(self, humidity: float) -> float:
        """Moisture, %, at a relative humidity, %."""
        return 1800 / self.w * sum(self.terms(humidity))


def isotherm_at(temperature_c: float) -> Isotherm:
    """The coefficients of equation (4-5) for a temperature in degrees C, of which nothing is checked here."""
    t = temperature_c
    return Isotherm(
        w=349 + 1.29 * t + 0.0135 * t**2,
        k=0.805 + 0.000736 * t - 0.00000273 * t**2,
        k1=6.27 - 0.00938 * t - 0.000303 * t**2,
        k2=1.91 + 0.0407 * t - 0.000293 * t**2,
    )


def _check(place: str, value: float, span: tuple[float, float], unit: str) -> None:
    low, high = span
    if not (isfinite(value) and low - 1e-9 <= value <= high + 1e-9):
        raise InvalidInput(place, f"must be from {low:.3g} to {high:.4g} {unit}, not {value:g}")
