"""What is done by hand in each glue-up: how much of which operations, and the minutes that makes."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.mixing import Mix
from estimating.work.labour import Labour, OperationTime
from estimating.work.operations import Job

MIXING = "mix adhesive"
PANELS = "glue up and slice laminated panels"
_CLAMP = "clamp, clean squeeze-out, check"
_COAT = "coat, stack and align layers"
_JOIN = "true half rings and join"
_PLUG = "bore and plug the middle"
_RING = "glue ring"

Weights = dict[str, tuple[float, float]]
"""Set-ups and quantity of each operation; what they add up to over all glue-ups is what the job has of it."""


class GlueWork:
    """The work of every glue-up of a job."""

    def __init__(self, job: Job) -> None:
        self.job = job

    def of(self, glue_up: GlueUp, piece: int) -> Weights:
        """Of one glue-up of a piece; panels are glued for all pieces at once, piece 0."""
        if glue_up.kind == "panel":
            work: Weights = {PANELS: (float(self._panels(glue_up)), 0.0)}
        elif glue_up.kind in OF_RINGS:
            work = self._of_rings(glue_up)
        else:
            work = {_COAT: (1.0, float(self._coated_first[glue_up.number])), _CLAMP: (0.0, 1.0)}
        if glue_up.kind == "plug":
            work[_PLUG] = (1.0 if piece == 1 else 0.0, 1.0)  # the bit is set up once for all pieces
        pieces = [piece] if piece else range(1, self.job.pieces + 1)
        if mixes := sum(len(self.mixes.get((one, glue_up.number), ())) for one in pieces):
            work[MIXING] = (0.0, float(mixes))
        return work

    @cached_property
    def mixes(self) -> Mapping[tuple[int, int], Sequence[Mix]]:
        """The mixes of each glue-up (piece, number)."""
        found: defaultdict[tuple[int, int], list[Mix]] = defaultdict(list)
        for mix in self.job.adhesive.mixes:
            found[mix.piece, mix.glue_up].append(mix)
        return dict(found)

    @cached_property
    def halved(self) -> frozenset[int]:
        """Rings that are glued as halves first."""
        return frozenset(ring for one in self.job.glue_ups if one.kind == "half_ring" for ring in one.rings)

    def joints(self, glue_up: GlueUp) -> float:
        """Joints between segments that a glue-up of rings closes."""
        shares = zip(glue_up.rings, glue_up.end_shares, strict=True)
        return sum(self._end_joints[ring] * share for ring, share in shares)

    @cached_property
    def _end_joints(self) -> Mapping[int, int]:
        return {ring.number: ring.end_joints for ring in self.job.rings}

    def _of_rings(self, glue_up: GlueUp) -> Weights:
        """A ring is set up for where it is first glued; halves are trued when it is closed."""
        second = [ring for ring in glue_up.rings if glue_up.kind == "ring" and ring in self.halved]
        work = {_RING: (float(len(glue_up.rings) - len(second)), self.joints(glue_up))}
        return {**work, _JOIN: (0.0, float(len(second)))} if second else work

    def _panels(self, glue_up: GlueUp) -> int:
        ones = [one for one in self.job.needs.laminated if one.ring in glue_up.rings]
        return sum(panel.count for one in ones for panel in one.cuts.panels)

    @cached_property
    def _coated_first(self) -> Counter[int]:
        """How many layers each glue-up is the first to coat, by its number."""
        seen: set[int] = set()
        found: Counter[int] = Counter()
        for glue_up in self.job.glue_ups:
            if glue_up.kind != "panel":
                found[glue_up.number] = len(set(glue_up.layers) - seen)
                seen |= set(glue_up.layers)
        return found


def scaled(total: float, weights: Sequence[float]) -> list[float]:
    """The total shared out by weight; by equal parts where nobody has any."""
    if not total:
        return [0.0] * len(weights)
    weighed = list(weights) if sum(weights) > 0 else [1.0] * len(weights)
    whole = sum(weighed)
    return [total * weight / whole for weight in weighed]


def mean_minutes(time: OperationTime, setups: float, quantity: float) -> float:
    """Mean minutes of so much of an operation: its median's share of the median is the mean's share of the mean."""
    if not time.median:
        return 0.0
    return time.mean * (time.setup_minutes * setups + time.minutes_per_unit * quantity) / time.median


def hands_on_minutes(job: Job, labour: Labour) -> dict[int, float]:
    """Mean hands-on minutes of each glue-up, by its number, of one piece: taking down and truing not counted.

    Panels, glued for all pieces at once, count with a piece's part of them.
    """
    work = GlueWork(job)
    of = {one.number: work.of(one, 0 if one.kind == "panel" else 1) for one in job.glue_ups}
    found = dict.fromkeys(of, 0.0)
    for time in labour.operations:
        doing = [number for number, weights in of.items() if time.name in weights]
        # the slicing of panels is none of it; it has the quantity
        quantity = 0.0 if time.name == PANELS else time.quantity
        setups = scaled(time.setups, [of[number][time.name][0] for number in doing])
        quantities = scaled(quantity, [of[number][time.name][1] for number in doing])
        for number, setup, done in zip(doing, setups, quantities, strict=True):
            found[number] += mean_minutes(time, setup, done) / job.pieces
    return found
