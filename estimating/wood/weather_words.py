"""The movement of a piece in words: every figure of a layer with its working, for whoever wants to check it."""

from collections.abc import Iterator, Mapping
from math import degrees

from estimating.piece import DISCS
from estimating.rooms import Air
from estimating.wood.climate import isotherm_at
from estimating.wood.movement import COEFFICIENTS_HOLD, Closing, Free, coefficient_of
from estimating.wood.species import Species
from estimating.wood.weather import (
    BREAKS,
    FELT,
    OPENS,
    Joint,
    LayerMovement,
    Movement,
    touching,
    worst_way,
)

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


def moisture_working(air: Air) -> tuple[str, ...]:
    """The working of the moisture that wood comes to in a room's air, a sentence a step."""
    at = isotherm_at(air.temperature_c)
    dissolved, held = at.terms(air.humidity)
    return (
        "Wood Handbook (FPL-GTR-282), eq. 4-5: M = 1800 / W × [K h / (1 - K h) + (K1 K h + 2 K1 K2 K² h²) / "
        "(1 + K1 K h + K1 K2 K² h²)], the same for every wood.",
        f"At t = {air.temperature_c:g} degrees C: W = 349 + 1.29 t + 0.0135 t² = {at.w:.2f}, "
        f"K = 0.805 + 0.000736 t - 0.00000273 t² = {at.k:.5f}, K1 = 6.27 - 0.00938 t - 0.000303 t² = {at.k1:.4f}, "
        f"K2 = 1.91 + 0.0407 t - 0.000293 t² = {at.k2:.4f}.",
        f"At {air.humidity:g} % humidity, h = {air.humidity / 100:g}: M = 1800 / {at.w:.2f} × "
        f"({dissolved:.4f} + {held:.4f}) = {at.moisture(air.humidity):.2f} %.",
        "A real board lies up to a per cent off it; a tenth is a trend.",
    )


def joint_working(movement: Movement, joint: Joint) -> tuple[str, ...]:
    """The working of one glue line's mismatch, a sentence a step."""
    return tuple(_joint_working(movement, joint))


def _joint_working(movement: Movement, joint: Joint) -> Iterator[str]:
    if joint.strained is None:
        yield "Veneer follows what it is glued to (common practice, no source), and ends here: nothing pulls at it."
        return
    lower, upper = (movement.layer(number) for number in joint.strained)
    if (lower.number, upper.number) != (joint.below, joint.above):
        yield f"Veneer follows what it is glued to: layers {lower.number} and {upper.number} pull at this line."
    if lower.unknown or upper.unknown:
        yield "Nothing is published of how one of their woods moves."
        return
    outer, inner = touching(lower, upper)
    one, other, radius = worst_way(lower, upper)
    yield (
        f"They touch from radius {inner:.1f} mm to {outer:.1f} mm, and part most at {radius:.1f} mm, were nothing to "
        "hold them and did their growth rings lie as badly as they can."
    )
    yield _free(lower, one, radius)
    yield _free(upper, other, radius)
    yield (
        f"Apart by {joint.held or 0.0:.3f} mm at one side; {joint.mismatch or 0.0:.3f} mm with all growth rings lying "
        f"alike. A finger finds {FELT:g} mm, from {OPENS:g} mm a glue line is at risk, from {BREAKS:g} mm something "
        "gives (common practice and our own rule, no source)."
    )


def _free(layer: LayerMovement, free: Free, radius: float) -> str:
    if free.across:
        return (
            f"Layer {layer.number} is a disc: square to its grain it moves by {100 * free.across:+.3f} % of "
            f"{radius:.1f} mm, {free.across * radius:+.3f} mm, and along it not at all."
        )
    moved = free.offset + free.slope * radius
    if not free.slope:
        return f"Layer {layer.number} moves {'out' if moved > 0 else 'in'} as a whole, {moved:+.3f} mm."
    stays = -free.offset / free.slope
    return (
        f"Layer {layer.number} keeps its place at radius {stays:.1f} mm and changes its width by "
        f"{100 * free.slope:+.3f} %: {free.slope:+.5f} × ({radius:.1f} - {stays:.1f}) = {moved:+.3f} mm outwards."
    )
