"""Steps from the boards to sawn segments: choose, mill, rest, rip, and at each angle prove and crosscut."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from math import degrees

from estimating.steps.book import Draft, Setting
from estimating.steps.making import DAY, Making
from estimating.steps.step import FENCE, PLANER, SAW, Held
from estimating.wood.saw_boards import planed
from estimating.wood.set_ups import settings, stops
from estimating.wood.strips import Strip, StripNeed
from estimating.work.glue_work import PANELS

_PROVE = "set miter and prove with a test ring"
_CROSSCUT = "crosscut segments"
SQUARE = "cut.m0.000"
"""The step in which everything is crosscut that is cut square: discs, staves, sticks for plugs, strips for panels."""


def add_sawing(making: Making) -> None:
    """All steps at the saw, for all pieces together; each ring's last of them in `making.cut`."""
    ripped = _add_boards(making)
    proven = _add_proofs(making, ripped)
    _add_crosscuts(making, ripped, proven)
    _add_staves(making, proven)
    for ring in making.job.rings:
        found = making.cut.setdefault(ring.number, [])
        if not found:
            found.append(ripped)


def _add_boards(making: Making) -> str:
    """Choose, mill, rest, rip; the key of the last."""
    strips = [strip for board in making.job.milled for strip in board.strips]
    book = making.book
    chosen = book.add(
        Draft("choose", "Choose, check and mark boards", work={"choose, check and mark boards": (1, 1)})
    )
    milled = Draft("mill", "Mill boards flat and to thickness", after=[chosen])
    milled.work = {"mill boards flat and to thickness": (1, 1)}
    milled.uses = ((PLANER, 1),)
    milled.settings = _of_strips(PLANER, "mill boards flat and to thickness", strips, planed)
    last = book.add(milled)
    days = making.job.sheet.shop.acclimatise_days
    if days > 0:
        last = book.add(Draft("rest", "Let the wood rest in the shop", "rest", days * DAY, after=[last]))
    ripped = Draft("rip", "Rip strips", work={"rip strips": (1, 1)}, after=[last])
    ripped.uses = ((FENCE, 1),)
    ripped.settings = _of_strips(FENCE, "rip strips", strips, lambda strip: strip.rip_width)
    return book.add(ripped)


def _of_strips(
    machine: str, operation: str, strips: Iterable[Strip], size: Callable[[Strip], float]
) -> tuple[Setting, ...]:
    """Every setting of a machine, with the metres of strip that are worked at it."""
    strips = list(strips)
    serving = settings(size(strip) for strip in strips)
    metres: defaultdict[float, float] = defaultdict(float)
    for strip in strips:
        metres[serving[size(strip)]] += strip.length / 1000
    return tuple(
        Setting(f"{machine} {at:.1f}", machine, operation, weight) for at, weight in sorted(metres.items())
    )


def _angle(miter: float) -> str:
    return f"m{degrees(miter):.3f}"


def _add_proofs(making: Making, ripped: str) -> dict[tuple[float, float], str]:
    """One proof for each pair of miter and tilt, with the rings that are cut at it."""
    found: dict[tuple[float, float], str] = {}
    segments: Counter[tuple[float, float]] = Counter()
    for ring in making.job.rings:
        if not ring.is_disc:
            segments[round(ring.miter, 9), round(ring.tilt, 9)] += ring.segments * making.job.pieces
    for (miter, tilt), count in sorted(segments.items()):
        key = f"prove.{_angle(miter)}" + (f"t{degrees(tilt):.3f}" if tilt else "")
        tilted = f", tilted {degrees(tilt):.2f}°" if tilt else ""
        draft = Draft(key, f"Set the saw to {degrees(miter):.2f}°{tilted} and prove it", after=[ripped])
        draft.work = {_PROVE: (0, 1)}
        draft.uses = ((SAW, 1),)
        draft.settings = (Setting(key, SAW, _PROVE, count, whole=True),)
        found[miter, tilt] = making.book.add(draft)
        for ring in making.job.rings:
            if not ring.is_disc and (round(ring.miter, 9), round(ring.tilt, 9)) == (miter, tilt):
                making.cut.setdefault(ring.number, []).append(key)
    return found


def _add_crosscuts(making: Making, ripped: str, proven: Mapping[tuple[float, float], str]) -> None:
    """One step an angle; first what is cut square, since panels are glued up from it."""
    by_angle: dict[float, list[StripNeed]] = {}
    for need in making.job.needs.strips:
        by_angle.setdefault(round(need.miter, 9), []).append(need)
    for miter, needs in sorted(by_angle.items()):
        key = f"cut.{_angle(miter)}"
        after = [ripped, *(proof for (angle, tilt), proof in proven.items() if angle == miter and not tilt)]
        what = "Crosscut what is cut square" if not miter else f"Crosscut segments at {degrees(miter):.2f}°"
        cuts = [(need.miter, need.outer_edge) for need in needs]
        weights = Counter({need.outer_edge: sum(count for _, count in need.rings) for need in needs})
        _add_cut(making, key, what, after, cuts, weights)
        for proof in after[1:]:  # the saw stays as it was proven until everything is cut at it
            making.book.drafts[proof].holds = (Held(SAW, key),)
        for need in needs:
            if need.cut not in ("plug", "lamination"):
                for ring, _ in need.rings:
                    making.cut.setdefault(ring, []).append(key)
    _add_panels(making, ripped, proven)


def _add_cut(
    making: Making,
    key: str,
    name: str,
    after: list[str],
    cuts: list[tuple[float, float]],
    segments: Mapping[float, int],
) -> None:
    at = sorted(stops(cuts))
    serving = settings(segments)
    of_stop: Counter[float] = Counter()
    for length, count in segments.items():
        of_stop[serving[length]] += count
    draft = Draft(key, name, after=after)
    draft.work = {_CROSSCUT: (len(at), sum(segments.values()))}
    draft.uses = ((SAW, 1),)
    draft.settings = tuple(
        Setting(f"stop {_angle(miter)} {stop:.1f}", SAW, _CROSSCUT, of_stop[stop]) for miter, stop in at
    )
    making.book.add(draft)


def _add_panels(making: Making, ripped: str, proven: Mapping[tuple[float, float], str]) -> None:
    """Slicing the panels that are glued elsewhere, and crosscutting the slices at each angle."""
    by_angle: dict[float, list[int]] = {}
    for number, one in enumerate(making.job.needs.laminated):
        by_angle.setdefault(round(one.cuts.miter, 9), []).append(number)
    sliced: set[int] = set()
    for miter, numbers in sorted(by_angle.items()):
        ones = [making.job.needs.laminated[number] for number in numbers]
        key = f"cut.{_angle(miter)}.panels"
        after = [ripped, *(proof for (angle, tilt), proof in proven.items() if angle == miter and not tilt)]
        for ring in sorted({one.ring for one in ones}):
            after.append(f"panel.r{ring}.slice")
            making.cut.setdefault(ring, []).append(key)
            if ring not in sliced:
                sliced.add(ring)
                _add_slicing(making, ring)
        lengths = Counter[float]()
        for one in ones:
            lengths[one.cuts.length] += one.cuts.segments
        cuts = [(one.cuts.miter, one.cuts.length) for one in ones]
        _add_cut(making, key, f"Crosscut laminated segments at {degrees(miter):.2f}°", after, cuts, lengths)


def _add_slicing(making: Making, ring: int) -> None:
    """The panels of a ring sawn to slices once they have cured; the gluing of them takes the rest of the operation."""
    panels = [panel for one in making.job.needs.laminated if one.ring == ring for panel in one.cuts.panels]
    draft = Draft(f"panel.r{ring}.slice", f"True and slice the panels of ring {ring}", rings=(ring,))
    draft.work = {PANELS: (0, sum(panel.count * panel.pieces for panel in panels))}
    making.book.add(draft)


def _add_staves(making: Making, proven: Mapping[tuple[float, float], str]) -> None:
    """Staves that lean are tapered one by one, once they are crosscut and the angle is proven."""
    for ring in making.job.rings:
        if ring.lean and ring.lean.flare:
            key = f"taper.r{ring.number}"
            after = [SQUARE, proven[round(ring.miter, 9), round(ring.tilt, 9)]]
            draft = Draft(key, f"Taper the staves of ring {ring.number}", after=after, rings=(ring.number,))
            draft.work = {"taper staves": (1, ring.segments)}
            making.book.add(draft)
            making.cut.setdefault(ring.number, []).append(key)
