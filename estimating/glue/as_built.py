"""A stack as it was measured: whether its run-out can be turned away, how far its height drifts, and what refits it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from estimating.errors import InvalidInput
from estimating.glue.assembly import GlueUp
from estimating.piece import ShopSettings
from estimating.shape.build import Shape
from estimating.shape.run_out import closing_loss, coverage, height_drift

Verdict = Literal["good", "true", "shim", "remake"]

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RunOut:
    """What to do about a run-out, with the working. mm.

    `off` is how far the stack stands off the axis, half of what a dial shows in a turn. `left` is what its rings have
    to spare for that after everything else, `bare` what they have at all, at `layer`, the worst; `other` what the
    part's other layers have to spare.
    """

    verdict: Verdict
    off: float
    left: float
    bare: float
    other: float
    layer: int


@dataclass(frozen=True, slots=True)
class Edge:
    """The upper edge of a band, from its foot up: where it was drawn and where it comes to be, mm, and by how much."""

    band: int
    drawn: float
    now: float

    @property
    def off(self) -> float:
        """How much too high."""
        return self.now - self.drawn


@dataclass(frozen=True, slots=True)
class Height:
    """A stack's height against the plan, and what the rest makes of it. mm.

    `drift` is how much too high it came out, `allowed` what is reckoned with. `at_rim` is the drift foreseen at the rim
    if the rest is like it; `misses` says that the pattern then misses the rim by more than the shop's tolerance.
    `refit` is how thick each layer that is still to come is made, from the lowest, so that the stack meets the rim
    again; `move` how far the form may be moved up instead, half the drift, so that neither end is far off.
    """

    layers: tuple[int, ...]
    planned: float
    measured: float
    allowed: float
    at_rim: float
    misses: bool
    edges: tuple[Edge, ...]
    refit: tuple[float, ...]
    move: float

    @property
    def drift(self) -> float:
        """How much too high it came out."""
        return self.measured - self.planned


def layers_in(glue_up: GlueUp, glue_ups: Sequence[GlueUp]) -> tuple[int, ...]:
    """All layers that hang together after a glue-up, from the bottom up: its own and those of what it joins."""
    found, waiting = set(), [glue_up]
    while waiting:
        one = waiting.pop()
        if one.kind in ("stack", "join"):
            found |= set(one.layers)
            waiting += [glue_ups[number - 1] for number in one.joins]
    return tuple(sorted(found))


def judge_run_out(
    shape: Shape, layers: Sequence[int], *, run_out: float, shop: ShopSettings, place: str = "run_out"
) -> RunOut:
    """Whether layers that hang together can be turned as they run. `run_out`: mm that a dial at the rim shows a turn.

    Good: they reach past the form even so, drift of height and closed halves reckoned with. True: they do if nothing
    else goes wrong, so turn them round now and set the next on the trued face. Shim: they do if the whole is mounted
    off its axis by what is missing, which the part's other layers have to spare. Remake: nothing of that.
    The three steps are this program's own; the reserves are those of `shape.run_out`.
    Errors: InvalidInput at `place` for a run-out below 0, or layers that are not the part's.
    """
    if not run_out >= 0:
        raise InvalidInput(place, "must be 0 or more")
    here = _places(shape, layers, place)
    covers = coverage(shape, shop=shop)
    loss = np.array([closing_loss(ring, shop=shop) for ring in shape.rings])[np.array(shape.ring_of)]
    reserves = [
        covers.outside - covers.outside_need + shop.centring_error,
        covers.inside - covers.inside_need + shop.centring_error,
    ]
    left = np.maximum(np.minimum(*reserves), 0.0)
    bare = np.maximum(np.minimum(covers.outside - loss, covers.inside), 0.0)
    others = np.setdiff1d(np.arange(len(shape.stack)), here)
    other = float(left[others].min()) if len(others) else 0.0
    worst = int(here[np.argmin(bare[here])])
    off, least, most = run_out / 2, float(left[here].min()), float(bare[here].min())
    verdict: Verdict = "remake"
    if off <= least + _ROUNDING:
        verdict = "good"
    elif off <= most + _ROUNDING:
        verdict = "true"
    elif off - most <= other + _ROUNDING:
        verdict = "shim"
    return RunOut(verdict, off, least, most, other, shape.number(worst))


def judge_height(
    shape: Shape, layers: Sequence[int], *, height: float, shop: ShopSettings, place: str = "height"
) -> Height:
    """What a measured height of neighbouring layers, glue lines and all, makes of the part.

    What came before them is taken as drawn, and what is off is shared out evenly over them.
    Errors: InvalidInput at `place` for a height of nothing, or layers that are not neighbours of one part.
    """
    if not height > 0:
        raise InvalidInput(place, "must be more than 0")
    here, stack = _places(shape, layers, place), shape.stack
    if list(here) != list(range(here[0], here[0] + len(here))):
        raise InvalidInput(place, "is of layers that do not lie on one another")
    first, last = int(here[0]), int(here[-1])
    planned = float(stack.top[last] - stack.bottom[first])
    drift, count = height - planned, len(stack)
    coming = count - 1 - last
    at_rim = drift + drift / len(here) * coming
    return Height(
        layers=tuple(layers),
        planned=planned,
        measured=height,
        allowed=float(height_drift(shape, shop)[len(here) - 1]),
        at_rim=at_rim,
        misses=abs(at_rim) > shop.height_tolerance + _ROUNDING,
        edges=tuple(_edges(shape, first, last, drift)),
        refit=tuple(_refit(stack.thickness[last + 1 :], drift)),
        move=drift / 2,
    )


def _places(shape: Shape, layers: Sequence[int], place: str) -> np.ndarray:
    if not layers or not set(layers) <= set(shape.layers):
        raise InvalidInput(place, f"is of layers that {shape.part.name or 'the piece'} does not have")
    return np.array(sorted(shape.index(layer) for layer in layers))


def _edges(shape: Shape, first: int, last: int, drift: float) -> list[Edge]:
    """Where each band ends: what is above the measured layers is carried up with them."""
    stack, edges = shape.stack, []
    for index in range(len(stack)):
        if index + 1 < len(stack) and stack.band[index + 1] == stack.band[index]:
            continue
        share = min(max((index - first + 1) / (last - first + 1), 0.0), 1.0)
        drawn = float(stack.top[index])
        edges.append(Edge(stack.band[index], drawn, drawn + share * drift))
    return edges


def _refit(thickness: np.ndarray, drift: float) -> list[float]:
    """The drift taken off what is still to come, each layer by its share; nothing where it is too much for them."""
    whole = float(thickness.sum())
    if whole <= drift:
        return []
    return (thickness * (1 - drift / whole)).tolist() if len(thickness) else []
