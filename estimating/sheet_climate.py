"""The section of the piece sheet that says what air the piece is made in and will live in."""

from estimating.reading import Section
from estimating.rooms import Air, Climate
from estimating.wood.climate import HUMIDITIES, TEMPERATURES


def read_climate(top: Section) -> Climate | None:
    """The shop's and the client's air; None where the sheet has no climate.

    What is out of range is refused: the published table of moistures ends there, and 0.45 is not 45 %.
    """
    section = top.section("climate")
    if section is None:
        return None
    climate = Climate(shop=_read_air(section, "shop"), client=_read_air(section, "client"))
    section.close()
    return climate


def _read_air(climate: Section, key: str) -> Air:
    section = climate.section(key, required=True)
    if section is None:
        return Air(temperature_c=20.0, humidity=50.0)  # a stand-in: the sheet is refused already
    air = Air(
        temperature_c=section.number("temperature_c", low=TEMPERATURES[0], high=TEMPERATURES[1]),
        humidity=section.number("humidity", low=HUMIDITIES[0], high=HUMIDITIES[1]),
    )
    section.close()
    return air
