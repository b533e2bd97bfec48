"""Glue cards in words and in the studio's units, as the page, the bench and the bench book show them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from projects.models import Studio
from projects.papers.ring_words import ring_woods
from projects.templatetags.turnery import runs, size_unit

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.glue.card import Before, Card, Course, Joint
    from estimating.glue.holding import Hold

HELD: Mapping[str, str] = {
    "ring_clamp": "band or ring clamp",
    "mandrel": "on the mandrel",
    "pin_jig": "in the pin jig",
    "press": "in the press, or under clamps",
}

CAUTIONS: Mapping[str, str] = {
    "sensitises": "Uncured epoxy can make the skin allergic for life: nitrile gloves, glasses, a window open.",
    "isocyanates": "Polyurethane gives off isocyanates, which can start asthma: gloves, glasses, moving air.",
    "bonds_skin": "CA bonds skin and eyes in seconds: gloves, glasses, and never force bonded skin apart.",
    "cleaner_burns": "The cleaner burns at room temperature: no flame or spark near it, little at a time.",
    "mix_heats": "So much in one cup heats itself and may smoke: pour it into a flat tray at once, or mix it in parts.",
    "too_slow": "Coating takes longer than the mix works: glue fewer at once, or take a slower hardener.",
    "too_cold": "The bench is colder than the label allows: warm the room and the wood first.",
    "clamps_under_load": "Tighten by turns, hands and face out of the line of a screw or a band.",
    "starves": "No one force suits every joint: what the largest needs squeezes the smallest dry. Press it in parts.",
}
"""What is said beside a card, by the code of what it warns of; the label and the safety data sheet come first."""

NEWTONS_TO_SAY = 1000.0
"""From here on forces are said in kN."""

GRAVITY = 9.80665
"""m/s2, the standard one (3rd CGPM, 1901)."""


@dataclass(frozen=True, slots=True)
class RingShown:
    """A ring whose ends are glued: joints in this glue-up, height as glued, its woods, pull in the band."""

    ring: int
    layers: str
    segments: int
    joints: int
    height: str
    woods: str
    band: str


@dataclass(frozen=True, slots=True)
class CourseShown:
    """A layer in the order it goes on: how it is turned on the one before, and which of its faces stay dry."""

    layer: int
    ring: int
    segments: str
    thickness: str
    turn_deg: float
    mark_deg: float
    along: str
    dry: str


@dataclass(frozen=True, slots=True)
class JointShown:
    """Two layers that meet, and the circles to coat each between."""

    below: int
    above: int
    line_below: str
    line_above: str


@dataclass(frozen=True, slots=True)
class MixShown:
    """One cup: ml, and grams where the label has parts by mass or there is one part."""

    part_a_ml: float
    part_b_ml: float
    part_a_g: float | None
    part_b_g: float | None
    heats: bool


@dataclass(frozen=True, slots=True)
class CardShown:
    """One glue-up as it is shown: plain values only, so that it can be kept as it was.

    Minutes, ml. `stands` says how a part stands while it is stacked, empty where it does not matter.
    """

    number: int
    kind: str
    what: str
    part: str
    stands: str
    first: tuple[str, ...]
    rings: tuple[RingShown, ...]
    courses: tuple[CourseShown, ...]
    joints: tuple[JointShown, ...]
    plug: str
    needed_ml: float
    mixes: tuple[MixShown, ...]
    held: str
    hold: str
    coat_min: float
    working_min: float
    pot_life_min: float
    set_min: float
    set_most_min: float
    press_min: float
    cure_min: float
    cautions: tuple[str, ...]
    drawing: str = ""

    @property
    def courses_lined(self) -> list[tuple[CourseShown, JointShown | None]]:
        """Each course with the joint under it; the first has none."""
        return list(zip(self.courses, (None, *self.joints), strict=False))


def cards_shown(estimate: "Estimate", *, studio: Studio) -> tuple[CardShown, ...]:
    """The cards of all glue-ups of one piece, in their order."""
    return tuple(card_shown(estimate, card, studio=studio) for card in estimate.cards)


def card_shown(estimate: "Estimate", card: "Card", *, studio: Studio) -> CardShown:
    """One card in words, lengths as the studio writes them."""
    up = card.glue_up
    return CardShown(
        number=up.number,
        kind=up.kind,
        what=_what(card),
        part=card.part if len(estimate.shapes) > 1 else "",
        stands=_stands(card),
        first=tuple(_first(one, estimate, studio) for one in card.before),
        rings=tuple(_rings(estimate, card, studio)),
        courses=tuple(_course(course, studio) for course in card.courses),
        joints=tuple(_joint(joint, studio) for joint in card.joints),
        plug=_plug(estimate, card, studio),
        needed_ml=card.ml,
        mixes=tuple(
            MixShown(mix.part_a_ml, mix.part_b_ml, mix.part_a_g, mix.part_b_g, mix.heats)
            for mix in card.mixes
        ),
        held=HELD[up.held],
        hold=_hold(card.hold),
        coat_min=card.coat_minutes,
        working_min=card.times.working,
        pot_life_min=card.times.pot,
        set_min=card.times.set,
        set_most_min=card.times.set_most,
        press_min=card.times.press if up.held in ("mandrel", "pin_jig", "press") else 0.0,
        cure_min=card.times.cure,
        cautions=tuple(CAUTIONS[code] for code in card.cautions),
        drawing=_drawing(estimate, card),
    )


def _drawing(estimate: "Estimate", card: "Card") -> str:
    """The glue-up as it is held: layers that are stacked or joined, or the first of the rings glued in halves."""
    # Imported here since it brings numpy, which most pages never need.
    from estimating.picture.glue_card import draw_ring_halves, draw_stack

    up = card.glue_up
    colours = {key: wood.colour for key, wood in estimate.workshop.woods.items()}
    if card.courses:
        turned = card.glue_up.kind == "stack" or any(one.task == "true_faces" for one in card.before)
        return draw_stack(
            estimate.shapes,
            up.layers,
            from_rim=up.from_rim,
            colours=colours,
            turned=turned,
            prefix=f"dw-glue-{up.number}",
        )
    halved = [ring for ring in card.rings if ring.joints < ring.segments]
    if not halved:
        return ""
    rings = {ring.number: ring for ring in estimate.rings}
    return draw_ring_halves(
        rings[halved[0].ring],
        spacers=up.kind == "half_ring",
        colours=colours,
        prefix=f"dw-glue-{up.number}",
    )


def _what(card: "Card") -> str:
    up = card.glue_up
    several = "s" if len(up.rings) > 1 else ""
    match up.kind:
        case "panel":
            return f"panels for the laminated segments of ring {runs(up.rings)}"
        case "half_ring":
            return f"half rings of ring{several} {runs(up.rings)}"
        case "ring":
            return f"ring{several} {runs(up.rings)}"
        case "stack":
            return f"layers {runs(up.layers)}"
        case "plug":
            return f"plug through layer{'s' if len(up.layers) > 1 else ''} {runs(up.layers)}"
        case "waste_block":
            return f"waste block under layer {runs(up.layers)}"
    joined = f"glue-up{'s' if len(up.joins) > 1 else ''} {runs(up.joins)} " if up.joins else ""
    return f"{joined}joined at layers {runs(up.layers)}"


def _stands(card: "Card") -> str:
    if not card.courses:
        return ""
    if card.counts == "clockwise":
        return "Rim down: layers go on from the top of the piece. Segments count clockwise as you look down on it."
    return "Foot down: layers go on from the bottom of the piece. Segments count anticlockwise as you look down on it."


def _first(before: "Before", estimate: "Estimate", studio: Studio) -> str:
    of, mm = runs(before.of) if before.of else "", size_unit(before.mm, studio)
    woods = " and ".join(estimate.workshop.woods[key].name for key in before.woods)
    return {
        "spacers": f"Dry spacers between the halves of ring {of}: only the joints within each half are glued.",
        "true_halves": f"True both ends of each half on one plane, {mm} off each: ring {of}.",
        "true_faces": f"True both faces, {mm} off each at the most: layers {of}.",
        "turn_inside": f"Turn and sand the inside of layers {of} now: once this joint is closed no tool reaches it.",
        "wipe_oily": f"Wipe {woods} with a fresh cloth and a solvent just before gluing: oil keeps glue off.",
        "wax_mandrel": f"Wax or tape the mandrel, {mm}, so that nothing sticks to it.",
        "set_pins": "Set the pins of the jig for the first course, and wax them.",
        "bore": f"Bore layers {of} to {mm} and try the plug dry.",
        "dry_fit": "Put it together dry, marks in line, clamps set and within reach.",
    }[before.task]


def _rings(estimate: "Estimate", card: "Card", studio: Studio) -> Iterator[RingShown]:
    rings = {ring.number: ring for ring in estimate.rings}
    names = {key: wood.name for key, wood in estimate.workshop.woods.items()}
    for work in card.rings:
        ring = rings[work.ring]
        yield RingShown(
            ring=work.ring,
            layers=runs(ring.layers),
            segments=work.segments,
            joints=work.joints,
            height=size_unit(ring.height, studio),
            woods=ring_woods(ring, names),
            band=_newtons(work.band),
        )


def _course(course: "Course", studio: Studio) -> CourseShown:
    dry = [side for side, state in (("under", course.down), ("top", course.up)) if state == "dry"]
    return CourseShown(
        layer=course.layer,
        ring=course.ring,
        segments="disc" if course.disc else str(course.segments),
        thickness=size_unit(course.thickness, studio),
        turn_deg=course.turn_deg,
        mark_deg=course.mark_deg,
        along=size_unit(abs(course.along), studio) if course.turn_deg else "",
        dry=" and ".join(dry),
    )


def _joint(joint: "Joint", studio: Studio) -> JointShown:
    return JointShown(
        joint.below, joint.above, _line(joint.line_below, studio), _line(joint.line_above, studio)
    )


def _line(line: tuple[float, float], studio: Studio) -> str:
    inner, outer = line
    if inner <= 0:
        return f"all within {size_unit(outer, studio)}"
    return f"{size_unit(inner, studio)} to {size_unit(outer, studio)}"


def _plug(estimate: "Estimate", card: "Card", studio: Studio) -> str:
    if card.plug is None:
        return ""
    wood, diameter, length = card.plug
    name = estimate.workshop.woods[wood].name
    return f"{name} plug, {size_unit(diameter, studio)} across and {size_unit(length, studio)} long"


def _hold(hold: "Hold") -> str:
    if hold.force is None:
        return ""
    if not hold.clamps:
        return _newtons(hold.force)
    return f"{hold.clamps} clamps round the rim or one press, {_newtons(hold.force)} in all"


def _newtons(force: Sequence[float]) -> str:
    """From and to, in N or kN; about as much in kilograms, which is what a scale under a clamp shows."""
    low, high = sorted(force)
    unit, scale, places = ("kN", 1000.0, 1) if high >= NEWTONS_TO_SAY else ("N", 1.0, 0)
    kilograms = f"{low / GRAVITY:.0f} to {high / GRAVITY:.0f} kg"
    return f"{low / scale:,.{places}f} to {high / scale:,.{places}f} {unit} ({kilograms})"
