"""Steps of one glue-up: mix, coat and clamp; set in what holds it, press, cure; and what follows once it has cured."""

from collections.abc import Sequence

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.mixing import whole_ratio
from estimating.steps.book import About, Draft, Setting, run_of
from estimating.steps.making import Making, in_words
from estimating.steps.step import JIG, MANDREL, MIX, PRESS, RING_CLAMP, Held
from estimating.work.glue_work import MIXING

_HOLDERS = {"ring_clamp": RING_CLAMP, "mandrel": MANDREL, "pin_jig": JIG, "press": PRESS}


def key_of(glue_up: GlueUp) -> str:
    """What a glue-up is, as part of a key: its kind and its rings or layers, whatever its number."""
    if glue_up.rings:
        return f"{glue_up.kind}.{run_of('r', glue_up.rings)}"
    return f"{glue_up.kind}.{run_of('l', glue_up.layers)}"


def what_of(glue_up: GlueUp) -> str:
    """What is glued, in words."""
    rings, layers = (
        in_words(glue_up.rings or (0,), "ring", "rings"),
        in_words(glue_up.layers or (0,), "layer", "layers"),
    )
    match glue_up.kind:
        case "panel":
            return f"panels of {rings}"
        case "half_ring":
            return f"halves of {rings}"
        case "ring":
            return rings
        case "join":
            return f"joint of {layers}"
        case "plug":
            return f"plug in {layers}"
        case "waste_block":
            return "waste block"
    return layers


def add_glue_up(
    making: Making,
    piece: int,
    glue_up: GlueUp,
    *,
    name: str,
    after: Sequence[str],
    in_one: bool = True,
) -> str:
    """The hands-on step with its mixes, and all that the adhesive takes after it; the key of the last.

    What holds it is taken from the first minute: a ring clamp or a clamp until the adhesive has set (and been pressed),
    a mandrel or a jig until somebody moves the stack to the press.
    """
    prefix = f"p{piece}." if piece else ""
    base, what = f"{prefix}{key_of(glue_up)}", what_of(glue_up)
    shape = making.shape_of(glue_up) if glue_up.layers else None
    about: About = {
        "piece": piece,
        "part": shape.part.name if shape else "",
        "glue_up": glue_up.number,
        "rings": glue_up.rings,
        "layers": glue_up.layers,
    }
    hands = Draft(base, f"{name}{making.on_piece(piece)}", after=list(after), in_one=in_one, **about)
    hands.work = making.work.of(glue_up, piece)
    hands.settings = _mix_of(making, piece, glue_up)
    hands.uses = ((_HOLDERS[glue_up.held], _count(making, glue_up)),)
    last = making.book.add(hands)
    making.glued[piece, glue_up.number] = last
    for draft in _waits(making, glue_up, hands, f"{what}{making.on_piece(piece)}", about):
        draft.after = [last]
        if not draft.attended and draft.kind in ("set", "press"):
            draft.at_once_after = last
        last = making.book.add(draft)
    return last


def _mix_of(making: Making, piece: int, glue_up: GlueUp) -> tuple[Setting, ...]:
    """The mix of a glue-up of rings, where it is one: it may do for another job's rings as well.

    Other glue-ups are planned to use up their working time.
    """
    shop, label = making.job.sheet.shop, making.job.sheet.label
    of = making.work.mixes.get((piece, glue_up.number), ())
    if glue_up.kind not in OF_RINGS or len(of) != 1:
        return ()
    needed = of[0].needed_ml - shop.mix_loss_ml
    of_cup = needed / (shop.cup_ml - shop.mix_loss_ml)
    of_time = making.work.joints(glue_up) * shop.coat_joint_min / making.times.working
    a, b = whole_ratio(shop.mix_ratio)
    key = f"{MIX} {label.name or label.kind} {a}:{b}"
    return (Setting(key, MIX, MIXING, needed, whole=True, room=max(of_cup, of_time)),)


def _count(making: Making, glue_up: GlueUp) -> int:
    """How many of what holds it are taken: a clamp a ring, as far as the shop has them."""
    if glue_up.held != "ring_clamp":
        return 1
    return max(1, min(len(glue_up.rings), making.job.sheet.shop.ring_clamps))


def _waits(making: Making, glue_up: GlueUp, hands: Draft, what: str, about: About) -> list[Draft]:
    """Setting, pressing and curing, each where it takes any time."""
    times, holder = making.times, hands.uses
    drafts: list[Draft] = []
    moved = glue_up.held in ("mandrel", "pin_jig")
    if times.set > 0:
        drafts.append(Draft(f"{hands.key}.set", f"Set: {what}", "set", times.set, uses=holder, **about))
    if times.press > 0 and glue_up.held != "ring_clamp":
        press = Draft(f"{hands.key}.press", f"Press: {what}", "press", times.press, **about)
        press.uses, press.attended = ((PRESS, 1),), moved
        drafts.append(press)
        if moved:
            hands.holds = (Held(holder[0][0], press.key, to_end=False),)
    if times.cure > 0:
        drafts.append(Draft(f"{hands.key}.cure", f"Cure: {what}", "cure", times.cure, **about))
    return drafts
