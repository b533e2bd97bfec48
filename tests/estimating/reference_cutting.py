"""Small sawing plans and bars by a second way: everything in one model of whole numbers, for a constraint solver.

Written from the rules in words, not from the planner: lengths in tenths of a millimetre, one variable for the segments
of each need in each lane of each board. The solver is OR-tools' CP-SAT; a run that does not end in a proof is an error.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

WORK = 60.0
"""Deterministic seconds of the solver."""

Model = Any
"""A CP-SAT model: its class has no types."""


@dataclass(frozen=True)
class Need:
    """Segments of one shape: a strip of N is `once + N * each` long. Tenths of a millimetre."""

    wanted: int
    once: int
    each: int
    width: int
    height: int


@dataclass(frozen=True)
class Plank:
    """Boards of one size, tenths of a millimetre; `rate` is money for a million square tenths of face."""

    length: int
    width: int
    thickness: int
    rate: int
    count: int


@dataclass(frozen=True)
class Saw:
    """How the shop saws, tenths of a millimetre; `lies` is its preference, "flat", "on_edge" or "either"."""

    rip: int
    crosscut: int
    end: int
    edge: int
    keep_length: int
    keep_width: int
    lies: str = "either"
    shortest: int = 0
    narrowest: int = 0

    @property
    def near(self) -> int:
        """What truing an edge takes; an edge that is not trimmed is not sawn."""
        return self.edge + self.rip if self.edge else 0


def rip_width(need: Need, plank: Plank, saw: Saw) -> int | None:
    """What the strip is ripped to: flat its width, on edge its height; None where neither goes into the board.

    The shop's preference first; without one, the narrower rip. A strip narrower than the narrowest lane is ripped from
    one of that width.
    """
    ways = []
    if need.height <= plank.thickness:
        ways.append((saw.lies != "flat", need.width))
    if need.width <= plank.thickness:
        ways.append((saw.lies != "on_edge", need.height))
    fits = need.once + need.each <= plank.length - 2 * saw.end
    ways = [way for way in ways if way[1] + 2 * saw.near <= plank.width and fits]
    return max(min(ways)[1], saw.narrowest) if ways else None


def least_cost(needs: Sequence[Need], planks: Sequence[Plank], saw: Saw) -> float | None:
    """The cost of the cheapest plan, proven; None where there is none. Money as `Plank.rate` has it.

    In a lane there is one strip of a need at most: two could be one that is shorter by an end.
    """
    model: Model = cp_model.CpModel()
    boards = [plank for plank in planks for _ in range(plank.count)]
    sawn = [_Board(model, needs, plank, saw) for plank in boards]
    for at, need in enumerate(needs):
        model.add(sum(lane.segments[at] for board in sawn for lane in board.lanes) == need.wanted)
    for first, second in pairwise(sawn):  # boards alike: the first ones first
        if first.plank == second.plank:
            model.add_implication(second.opened, first.opened)
    model.minimize(
        sum(
            board.plank.rate * (board.plank.length * board.plank.width * board.opened - board.kept)
            for board in sawn
        )
    )
    value = _solved(model)
    return None if value is None else value / 1e6


def _solved(model: Model) -> float | None:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        raise AssertionError(f"the model did not end in a proof but in {solver.status_name(status)}")
    return solver.objective_value


@dataclass
class _Lane:
    used: Any
    """Whether anything lies in it."""
    segments: list[Any]
    choice: dict[int, Any]
    """Which width it has."""
    lies: list[Any]
    """Whether there is a strip of each need."""
    length: Any
    """All its strips end to end."""
    width: Any


class _Board:
    """The variables of one board: its lanes, and the face of it that goes back on the rack."""

    def __init__(self, model: Model, needs: Sequence[Need], plank: Plank, saw: Saw) -> None:
        self.model, self.plank, self.saw = model, plank, saw
        self.rips = [rip_width(need, plank, saw) for need in needs]
        self.opened = model.new_bool_var("")
        self.along = plank.length - saw.end
        self.lanes = [self._lane(needs) for _ in range(self._most_lanes(needs))]
        for first, second in pairwise(self.lanes):
            model.add(first.length >= second.length)
        for lane in self.lanes:
            model.add_implication(lane.used, self.opened)
        taken = sum(lane.width + saw.rip * lane.used for lane in self.lanes)
        # As many rip kerfs lie between lanes as there are lanes less one; a trued edge has its own.
        model.add(taken - saw.rip + 2 * saw.near <= plank.width).only_enforce_if(self.opened)
        self.beside = self._var(plank.width)
        model.add(self.beside <= max(0, plank.width - saw.near) - taken).only_enforce_if(self.opened)
        self.kept = self._kept()
        # No offcut lies on a strip: that follows, and said as well it shortens the proof.
        model.add(self.kept + self._under(needs) <= plank.length * plank.width * self.opened)

    def _var(self, most: int) -> Any:
        return self.model.new_int_var(0, most, "")

    def _most_lanes(self, needs: Sequence[Need]) -> int:
        narrowest = min((rip for rip in self.rips if rip is not None), default=0)
        across = self.plank.width - 2 * self.saw.near + self.saw.rip
        segments = sum(need.wanted for need, rip in zip(needs, self.rips, strict=True) if rip is not None)
        return min(segments, across // (narrowest + self.saw.rip)) if segments else 0

    def _lane(self, needs: Sequence[Need]) -> _Lane:
        model, room = self.model, self.plank.length - 2 * self.saw.end
        used, width = model.new_bool_var(""), self._var(self.plank.width)
        segments, lying, length = [], [], 0
        for need, rip in zip(needs, self.rips, strict=True):
            count, lies = self._var(need.wanted if rip is not None else 0), model.new_bool_var("")
            model.add(count >= 1).only_enforce_if(lies)
            model.add(count == 0).only_enforce_if(~lies)
            model.add_implication(lies, used)
            if rip is not None:
                model.add(width >= rip).only_enforce_if(lies)
            segments.append(count)
            lying.append(lies)
            length = length + need.once * lies + need.each * count
        choice = {
            rip: model.new_bool_var("") for rip in sorted({rip for rip in self.rips if rip is not None})
        }
        model.add(width == sum(rip * chosen for rip, chosen in choice.items()))
        model.add(sum(choice.values()) == used)
        total = self._var(room)
        model.add(total == length)
        model.add(total >= 1).only_enforce_if(used)
        return _Lane(used, segments, choice, lying, total, width)

    def _under(self, needs: Sequence[Need]) -> Any:
        """The face under the strips."""
        return sum(
            rip * (need.once * lies + need.each * count)
            for lane in self.lanes
            for need, rip, lies, count in zip(needs, self.rips, lane.lies, lane.segments, strict=True)
            if rip is not None
        )

    def _kept(self) -> Any:
        """What goes back: the board ripped over its whole length, or crosscut first at a place of one's choice."""
        model, saw, plank = self.model, self.saw, self.plank
        face = plank.length * plank.width
        ripped, crosscut, kept = self._var(face), self._var(face), self._var(face)
        cut_first = model.new_bool_var("")
        at = model.new_int_var(min(saw.shortest, self.along), self.along, "")
        for lane in self.lanes:
            model.add(lane.length <= at).only_enforce_if(cut_first)
        if plank.length < saw.shortest:
            model.add(self.opened == 0)
        beside = self.along * self._kept_length(self.beside, saw.keep_width)
        model.add(ripped == (beside if self.along >= saw.keep_length else 0) + self._ends(self.along))
        far = plank.width * self._kept_length(self.along - saw.crosscut - at, saw.keep_length)
        model.add(
            crosscut == (far if plank.width >= saw.keep_width else 0) + self._beside(at) + self._ends(at)
        )
        model.add(kept <= crosscut).only_enforce_if(cut_first)
        model.add(kept <= ripped).only_enforce_if(~cut_first)
        model.add(kept == 0).only_enforce_if(~self.opened)
        return kept

    def _kept_length(self, length: Any, least: int, width: Any = None) -> Any:
        """A length that goes back, or nothing where it is too short; and none where `width` is not chosen."""
        goes_back, long = self.model.new_bool_var(""), self._var(self.plank.length)
        self.model.add(long <= length).only_enforce_if(goes_back)
        self.model.add(long >= max(least, 1)).only_enforce_if(goes_back)
        self.model.add(long == 0).only_enforce_if(~goes_back)
        if width is not None:
            self.model.add_implication(goes_back, width)
        return long

    def _beside(self, to: Any) -> Any:
        """Face of what is left beside the lanes up to a crosscut."""
        long = self._kept_length(to, self.saw.keep_length)
        wide = self._kept_length(self.beside, self.saw.keep_width)
        face = self._var(self.plank.length * self.plank.width)
        self.model.add_multiplication_equality(face, [long, wide])
        return face

    def _ends(self, to: Any) -> Any:
        """Faces of what is left at the ends of the lanes, where all are ripped as far as `to`."""
        return sum(
            width * self._kept_length(to - lane.length - self.saw.crosscut, self.saw.keep_length, chosen)
            for lane in self.lanes
            for width, chosen in lane.choice.items()
            if width >= self.saw.keep_width
        )


def least_price(
    sizes: Sequence[int], counts: Sequence[int], bars: Sequence[tuple[int, int, int]], kerf: int
) -> int | None:
    """The least that bars (length, price, count) cost from which all is cut; None where they do not reach.

    Between two lengths, and after the last unless it ends with the bar, there is a kerf.
    """
    model: Model = cp_model.CpModel()
    got: list[list[Any]] = [[] for _ in sizes]
    price: Any = 0
    for length, cost, often in bars:
        for _ in range(often):
            opened = model.new_bool_var("")
            cut = [model.new_int_var(0, count, "") for count in counts]
            for at, number in enumerate(cut):
                got[at].append(number)
            lengths = sum(size * number for size, number in zip(sizes, cut, strict=True))
            model.add(lengths + kerf * (sum(cut) - 1) <= length).only_enforce_if(opened)
            model.add(sum(cut) == 0).only_enforce_if(~opened)
            price = price + cost * opened
    for count, numbers in zip(counts, got, strict=True):
        model.add(sum(numbers) == count)
    model.minimize(price)
    value = _solved(model)
    return None if value is None else round(value)
