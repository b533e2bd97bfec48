"""Moisture that wood comes to: the Wood Handbook's table, its equation a second time, and back to the humidity."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.wood.climate import HUMIDITIES, TEMPERATURES, equilibrium_moisture, humidity_for
from tests.estimating.sheets import modest

# (degrees F, relative humidity %): equilibrium moisture %, Wood Handbook (FPL-GTR-282, 2021) Table 4-2, p. 4-4.
PRINTED = {
    (70, 5): 1.3, (70, 30): 6.2, (70, 50): 9.2, (70, 75): 14.4, (70, 85): 17.9, (70, 95): 23.9,
    (30, 75): 14.9, (30, 95): 24.3, (100, 50): 8.7, (100, 90): 19.5,
}  # fmt: skip
# The same table, from memory.
FROM_MEMORY = {
    (30, 5): 1.4, (30, 30): 6.3, (30, 60): 11.3, (30, 90): 21.0,
    (40, 25): 5.5, (40, 50): 9.5, (40, 80): 16.5, (40, 95): 24.3,
    (50, 10): 2.6, (50, 40): 7.9, (50, 65): 12.3, (50, 85): 18.4,
    (60, 15): 3.6, (60, 35): 7.0, (60, 55): 10.2, (60, 90): 20.7,
    (70, 10): 2.5, (70, 20): 4.5, (70, 25): 5.4,
    (100, 30): 5.8, (100, 45): 7.9, (100, 60): 10.3, (100, 80): 15.1, (100, 95): 22.9,
}  # fmt: skip
TABLE = PRINTED | FROM_MEMORY

temperatures = st.floats(*TEMPERATURES)
humidities = st.floats(*HUMIDITIES)


def in_c(fahrenheit: float) -> float:
    """The table prints degrees C to 0.1."""
    return round((fahrenheit - 32) / 1.8, 1)


@pytest.mark.parametrize(("air", "moisture"), TABLE.items(), ids=str)
def test_wood_comes_to_the_moisture_of_the_handbook_s_table(air: tuple[int, int], moisture: float) -> None:
    """Printed to 0.1, so 0.05 off; 0.02 more for coefficients printed to three digits."""
    found = equilibrium_moisture(temperature_c=in_c(air[0]), humidity=air[1])
    assert found == pytest.approx(moisture, abs=0.07)


# The rule that dealers and kilns go by, whole per cents of moisture by humidity in a room (woodworking trade press).
RULE_OF_THE_TRADE = {30: 6, 50: 9, 65: 12, 80: 16}


@pytest.mark.parametrize(("humidity", "moisture"), RULE_OF_THE_TRADE.items())
def test_the_rule_of_the_trade_is_met_to_the_whole_per_cent(humidity: int, moisture: int) -> None:
    for temperature in (18, 21, 24):
        found = equilibrium_moisture(temperature_c=temperature, humidity=humidity)
        assert found == pytest.approx(moisture, abs=0.5)


def in_fahrenheit(t: float, humidity: float) -> float:
    """Equation (4-5) with its coefficients for degrees F, written out as the handbook prints it."""
    w = 330 + 0.452 * t + 0.00415 * t * t
    k = 0.791 + 0.000463 * t - 0.000000844 * t * t
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t * t
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t * t
    h = humidity / 100
    first = k * h / (1 - k * h)
    second = (k1 * k * h + 2 * k1 * k2 * k**2 * h**2) / (1 + k1 * k * h + k1 * k2 * k**2 * h**2)
    return 1800 / w * (first + second)


@modest
@given(temperatures, humidities)
def test_both_of_the_handbook_s_sets_of_coefficients_give_one_moisture(
    temperature: float, humidity: float
) -> None:
    found = equilibrium_moisture(temperature_c=temperature, humidity=humidity)
    # Three digits a coefficient: the two sets part by 0.041 at most, at the hot and damp end of the table.
    assert found == pytest.approx(in_fahrenheit(temperature * 1.8 + 32, humidity), abs=0.05)


@modest
@given(temperatures, humidities, humidities)
def test_damper_air_makes_damper_wood(temperature: float, one: float, other: float) -> None:
    dry, damp = sorted((one, other))
    moistures = [equilibrium_moisture(temperature_c=temperature, humidity=h) for h in (dry, damp)]
    assert moistures[0] <= moistures[1]
    assert 0 < moistures[0] < 30  # never past fibre saturation


@modest
@given(temperatures, humidities)
def test_the_humidity_for_a_moisture_gives_that_moisture(temperature: float, humidity: float) -> None:
    moisture = equilibrium_moisture(temperature_c=temperature, humidity=humidity)
    found = humidity_for(moisture=moisture, temperature_c=temperature)
    assert found == pytest.approx(humidity, abs=1e-9)


INNER = {air: moisture for air, moisture in TABLE.items() if air[1] not in HUMIDITIES}
"""Points from which the table's rounding leads to no humidity beyond its ends."""


@pytest.mark.parametrize(("air", "moisture"), INNER.items(), ids=str)
def test_the_humidity_for_a_moisture_is_that_of_the_table(air: tuple[int, int], moisture: float) -> None:
    """0.07 % of moisture is up to 0.6 % of humidity where the curve is flattest."""
    found = humidity_for(moisture=moisture, temperature_c=in_c(air[0]))
    assert found == pytest.approx(air[1], abs=0.6)


@pytest.mark.parametrize(
    ("temperature", "humidity", "message"),
    [
        (21, 4.9, "humidity: must be from 5 to 95 %, not 4.9"),
        (21, 0.45, "humidity: must be from 5 to 95 %, not 0.45"),
        (21, 96, "humidity: must be from 5 to 95 %, not 96"),
        (21, float("nan"), "humidity: must be from 5 to 95 %, not nan"),
        (-2, 50, "temperature_c: must be from -1.1 to 132.2 degrees C, not -2"),
        (140, 50, "temperature_c: must be from -1.1 to 132.2 degrees C, not 140"),
        (float("inf"), 50, "temperature_c: must be from -1.1 to 132.2 degrees C, not inf"),
    ],
)
def test_air_outside_the_table_is_refused(temperature: float, humidity: float, message: str) -> None:
    with pytest.raises(InvalidInput, match=message):
        equilibrium_moisture(temperature_c=temperature, humidity=humidity)


@pytest.mark.parametrize("moisture", [1.0, 25.0, -3.0, float("nan")])
def test_a_moisture_that_no_humidity_gives_is_refused(moisture: float) -> None:
    with pytest.raises(InvalidInput, match=r"moisture: must be from 1\.\d+ to 23\.\d+ %, not"):
        humidity_for(moisture=moisture, temperature_c=21)


def test_a_humidity_is_not_looked_for_outside_the_table_s_temperatures() -> None:
    with pytest.raises(InvalidInput, match="temperature_c: must be from"):
        humidity_for(moisture=9, temperature_c=-10)
