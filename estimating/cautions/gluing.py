"""Cautions of the adhesive: cold, time, heat in the cup, what it harms, what burns, weak end grain."""

from collections.abc import Iterator, Mapping

from estimating.cautions.seen import Caution, Rule, Seen, numbers, part_said
from estimating.glue.card import Card
from estimating.glue.label import cleaner_burns, layers_at_once, pot_life, times_at, working_minutes
from estimating.piece import AdhesiveKind

HARMS: Mapping[AdhesiveKind, str] = {
    "epoxy": (
        "Epoxy sensitises: resin and hardener that touch the skin can bring an allergy that stays. Nitrile gloves, "
        "changed often (latex is poor), long sleeves, fresh air; never clean skin with solvent. Do not sand it before "
        "it has cured through."
    ),
    "polyurethane": (
        "Polyurethane gives off isocyanates, which can bring an allergy of the lungs and the skin that stays. Gloves, "
        "fresh air; whoever has it keeps away."
    ),
    "ca": (
        "Cyanoacrylate bonds skin and eyes in seconds and its vapour irritates. Goggles and fresh air; no cotton or "
        "tissue in a spill, which makes it hot enough to smoke."
    ),
    "hide": "Hide glue is used hot: mind the pot and the steam.",
    "pva": "Keep the adhesive off eyes and food.",
    "other": "Gloves and fresh air until the label says what it harms.",
}
"""Epoxy: HSE research report 79 and Kanerva's Occupational Dermatology, gloves after cutaneousallergy.org; others
common practice, from memory."""


def temperature(seen: Seen) -> Iterator[Caution]:
    """The bench is colder than the label allows."""
    bench, least = seen.shop.temperature_c, seen.sheet.label.least_c
    if bench < least - 1e-9:
        message = (
            f"At {bench:g} degrees C it is too cold for this adhesive, which is used from {least:g}: it may "
            "never harden through, or dry to a weak film. Warm the bench, the wood and the adhesive, and keep them "
            "warm until it has cured. The label decides."
        )
        yield Caution("too_cold", "warning", "shop.temperature_c", message)


def working_time(seen: Seen) -> Iterator[Caution]:
    """The mix sets in the cup before the layers are on one another."""
    shop, label = seen.sheet.shop, seen.sheet.label
    working = working_minutes(shop, label)
    most = layers_at_once(shop, label)
    if most * shop.coat_stack_min > working + 1e-9:
        message = (
            f"At {shop.temperature_c:g} degrees C the mix works for {working:.1f} minutes, too short to coat and set "
            f"{most} layers at {shop.coat_stack_min:g} minutes each: it would set in the cup. Use a slower hardener or "
            "a cooler bench."
        )
        yield Caution("working_time", "warning", "shop.pot_life_min", message)
    elif most < shop.layers_per_glue_up:
        message = (
            f"At {shop.temperature_c:g} degrees C the pot life is {pot_life(shop, label):.0f} minutes, so {most} "
            f"layers are glued at once rather than {shop.layers_per_glue_up}."
        )
        yield Caution("fewer_layers", "note", "shop.layers_per_glue_up", message)


def open_time(seen: Seen) -> Iterator[Caution]:
    """Coated faces lie open longer than the label lets them, waiting for the rest of their ring or layer."""
    if not seen.sheet.label.open_min:
        return
    may = times_at(seen.shop, seen.sheet.label).open
    late = [card for card in seen.cards if _lies_open(seen, card) > may + 1e-9]
    if late:
        worst = max(_lies_open(seen, card) for card in late)
        message = (
            f"In glue-up {numbers(card.glue_up.number for card in late)} coated faces lie open for {worst:.1f} "
            f"minutes, and the label lets them for {may:.1f} at this temperature: a skin forms and does not bond. Glue "
            "fewer joints at once, coat faster, or use an adhesive with a longer open time."
        )
        yield Caution("open_time", "warning", "adhesive.open_min", message)


def _lies_open(seen: Seen, card: Card) -> float:
    """The first face coated of a ring waits for the last, one of a layer until the layer is set."""
    if card.rings:
        return max(ring.joints for ring in card.rings) * seen.shop.coat_joint_min
    return seen.shop.coat_stack_min


def heat(seen: Seen) -> Iterator[Caution]:
    """More in one cup than the label lets stand there."""
    hot = [card for card in seen.cards if any(mix.heats for mix in card.mixes)]
    if hot:
        most = max(mix.ml for card in hot for mix in card.mixes)
        limit = seen.sheet.label.exotherm_ml
        message = (
            f"Glue-up {numbers(card.glue_up.number for card in hot)} has up to {most:g} ml in one cup. Above "
            f"{limit:g} ml the mix heats itself, sets early and may smoke: mix less at a time, or spread it in a flat "
            "tray at once. Put a cup that grows hot outdoors, away from what burns. The label decides."
        )
        yield Caution("mix_heats", "warning", "shop.cup_ml", message)


def end_grain(seen: Seen) -> Iterator[Caution]:
    """A ring that stands alone: nothing bridges its joints, which are near end grain."""
    for shape in seen.shapes:
        ring = shape.rings[0]
        if len(shape.layers) == 1 and ring.end_joints and ring.made != "staves":
            message = (
                f"The joints of a single ring{part_said(seen, shape)} are near end grain, and no layer bridges them: a "
                "butt joint in end grain keeps about a quarter of the wood's strength (Wood Handbook, chapter 10, from "
                "memory). Size the ends with a first thin coat, leave the wall thick, or add a layer."
            )
            yield Caution("end_grain", "note", f"{shape.part.place}bands", message)


def cleaner(seen: Seen) -> Iterator[Caution]:
    """What cleans the tools burns."""
    label = seen.sheet.label
    if cleaner_burns(label):
        message = (
            f"Cleaning up: {label.cleaner}. Its vapour catches fire at room temperature (ethanol's flash point is 13 "
            "degrees C, NIOSH pocket guide), with a flame that is hardly seen: no sparks, heaters or flames near, "
            "fresh air, a closed can, rags dried flat outdoors. The safety data sheet decides."
        )
        yield Caution("cleaner_burns", "note", "adhesive.cleaner", message)


def glue_and_dust(seen: Seen) -> Iterator[Caution]:
    """Adhesive and dust harm whoever works with them, whatever the piece."""
    message = (
        f"{HARMS[seen.sheet.label.kind]} Extract fine dust and wear a mask when sawing and sanding. The label, the "
        "safety data sheet and local rules come before this."
    )
    yield Caution("glue_and_dust", "note", "adhesive", message)


RULES: tuple[Rule, ...] = (temperature, working_time, open_time, heat, end_grain)
ALWAYS: tuple[Rule, ...] = (cleaner, glue_and_dust)
