"""The movement of a piece in words: every figure of a layer with its working, for whoever wants to check it."""

from collections.abc import Iterator, Mapping
from math import degrees

from estimating.piece import DISCS, Air
from estimating.wood.movement import COEFFICIENTS_HOLD, Closing, coefficient_of
from estimating.wood.species import Species
from estimating.wood.weather import LayerMovement, Movement

LITTLE = 0.001
"""Strain along the grain below which a closed ring is hardly strained. Wood breaks along the grain at about 1 %, glued
end grain far sooner (from memory); this mark and the next are our own rule, no source."""

MUCH = 0.003
"""Strain along the grain from which joints of a closed ring are likely to open."""


def stress_word(forced: float) -> str:
    """How strained a closed ring is: `little`, `some` or `much`. An indicator: no figure of a stress stands behind it.

    >>> stress_word(0.0004), stress_word(0.002), stress_word(0.004)
    ('little', 'some', 'much')
    """
    if forced < LITTLE:
        return "little"
    return "some" if forced < MUCH else "much"


def working(movement: Movement, number: int, *, woods: Mapping[str, Species]) -> tuple[str, ...]:
    """The working of one layer's change, a sentence a step, from the two rooms to millimetres.

    Errors: IndexError for a layer that the piece does not have.
    """
    if not 1 <= number <= len(movement.layers):
        raise IndexError(f"the piece has layers 1 to {len(movement.layers)}, not {number}")
    return tuple(_working(movement, movement.layer(number), woods))


def _working(movement: Movement, layer: LayerMovement, woods: Mapping[str, Species]) -> Iterator[str]:
    shop, client = movement.emc_shop, movement.emc_client
    yield f"In the shop, {_air(movement.climate.shop)}, wood comes to {shop:.1f} % moisture (Wood Handbook, eq. 4-5)."
    yield f"In the client's room, {_air(movement.climate.client)}, it comes to {client:.1f} %."
    for wood, strains in layer.woods.items():
        yield from _strain_of(woods[wood], strains, shop=shop, client=client)
    for wood in layer.unknown:
        yield f"No shrinkage of {woods[wood].name} is published here: nothing is known of how it moves."
    if not layer.unknown:
        yield from _sizes(layer)
    if layer.closing is not None:
        yield _closing(layer.closing)


def _air(air: Air) -> str:
    return f"{air.temperature_c:g} degrees C and {air.humidity:g} % humidity"


def _strain_of(wood: Species, strains: tuple[float, float], *, shop: float, client: float) -> Iterator[str]:
    shrinkages = sorted((wood.shrink_tangential_pct or 0.0, wood.shrink_radial_pct or 0.0), reverse=True)
    for name, shrink, strain in zip(
        ("along its growth rings", "across them"), shrinkages, strains, strict=True
    ):
        yield (
            f"{wood.name.capitalize()} shrinks {shrink:g} % {name} from green to ovendry, so from {shop:.2f} to "
            f"{client:.2f} % it changes by ({client:.2f} - {shop:.2f}) / (3000 / {shrink:g} - 30 + {shop:.2f}) = "
            f"{100 * strain:+.2f} % (eq. 13-3){_by_coefficient(shrink, shop, client)}."
        )


def _by_coefficient(shrink: float, shop: float, client: float) -> str:
    low, high = COEFFICIENTS_HOLD
    if not (low <= shop <= high and low <= client <= high):
        return ""
    coefficient = coefficient_of(shrink)
    return f"; by its coefficient {coefficient:.5f} for 1 %, {100 * coefficient * (client - shop):+.2f} % (eq. 13-2)"


def _sizes(layer: LayerMovement) -> Iterator[str]:
    across = f"{layer.width:.1f} mm wide where it is turned"
    if layer.made in DISCS:
        across = f"a disc {layer.width:.1f} mm across, which moves square to its grain and hardly along it"
    yield f"Layer {layer.number} is {across}, and {layer.height:.1f} mm high."
    yield (
        f"Its width changes by {_mm(layer.width_change)}, its height by {_mm(layer.height_change)} if the growth rings "
        f"lie so that it moves most; by {_mm(layer.width_change_least)} and {_mm(layer.height_change_least)} if they "
        "lie so that it moves least. Which way they lie is not known unless the boards are sorted."
    )


def _mm(change: float | None) -> str:
    return f"{change or 0.0:+.3f} mm"


def _closing(closed: Closing) -> str:
    if closed.opens == "nowhere":
        return "Its joints keep their angle."
    word = {"little": "A little", "some": "Some", "much": "Much"}[stress_word(closed.forced)]
    return (
        f"Its segments keep their length and change their width, so each joint would open by "
        f"{degrees(abs(closed.joint)):.2f} degrees at the {closed.opens}, {closed.opening:.3f} mm, were it free "
        f"({degrees(abs(closed.all_joints)):.1f} degrees all round). {word} stress stays in the ring while the glue "
        "holds."
    )
