"""The best layout of one board at given values of the segments: lanes first, then how many fit across."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Any

import numpy as np

from estimating.wood.lanes import SAME, Indices, LaneTable, Reals, Valued, crosscuts
from estimating.wood.layouts import (
    Lane,
    Layout,
    Task,
    edge_loss,
    layout_fits,
    width_room,
)

EXACT_WIDTHS = 1500
WIDTH_GRID = 800
"""As for lengths: sums of lane widths are exact up to so many, else rounded down to a grid."""

WORTHLESS = 1e-9
"""A segment at no price still makes a pattern of its own, so it is given this one."""

NOISE = 1e-7
"""A profit less than this share of the board's price is rounding, not worth a column."""

BATCH = 48
"""Lengths of the crosscut board looked at in one go."""


@dataclass(frozen=True, slots=True)
class Priced:
    """Layouts worth having, and an upper bound of value less cost over every layout of the stock."""

    layouts: tuple[Layout, ...]
    profit_bound: float


@dataclass(frozen=True, slots=True)
class _Class:
    """Lanes of one width: they hold the first `shapes` of the shapes, which go from narrow to wide."""

    width: float
    shapes: int


class BoardPricer:
    """Prices the layouts of one stock of a task.

    Cost by the rule of `layouts.offcuts`, over the board's rate per mm2. Crosscut first at X, with the far
    part and the part beside the lanes kept: (near trim + kerf) x board width + X x near edge + for each lane
    (width + rip kerf) x X, less the lane's end if it is kept. Ripped first: the same with the whole length
    in X's place and no crosscut. Where the part beside the lanes is too small to keep, X times its width
    comes on top. For each X the lanes are valued by `LaneTable` and fitted across by a knapsack over their
    widths. X is taken in the order of a plain upper bound (the whole width at the best lane's value a mm),
    so that few need the knapsack. Where a grid is needed, a `generous` pricer rounds towards a higher value,
    so that its bound holds for every layout; one that is not finds only layouts that can be sawn, and its
    bound is none.
    """

    def __init__(self, task: Task, stock: int, *, generous: bool) -> None:
        self.task = task
        self.number = stock
        self.stock = task.stocks[stock]
        rips = [(rip, shape) for shape, rip in enumerate(self.stock.rips) if rip is not None]
        self.shapes = [shape for _, shape in sorted(rips)]
        widths = sorted(rip for rip, _ in rips)
        self.classes = [
            _Class(width, max(i for i, rip in enumerate(widths, start=1) if rip == width))
            for width in dict.fromkeys(widths)
        ]
        self.table = LaneTable(
            room=self.stock.room,
            rules=[task.shapes[shape].rule for shape in self.shapes],
            most=[task.shapes[shape].wanted for shape in self.shapes],
            generous=generous,
        )
        self.across = _Across(
            room=width_room(self.stock.width, task.shop),
            takes=[lane.width + task.shop.rip_kerf for lane in self.classes],
            generous=generous,
        )
        self.exact = self.table.exact and self.across.exact
        self._set_lengths()

    def _set_lengths(self) -> None:
        """The lengths a board may be crosscut at, the last one standing for ripping it whole."""
        shop, stock, positions = self.task.shop, self.stock, self.table.positions
        wide = any(lane.width >= shop.keep_width - SAME for lane in self.classes)
        cuts = crosscuts(
            table=self.table,
            along=stock.along,
            width=stock.width,
            wide_lanes=wide,
            shop=shop,
            shortest=stock.shortest,
        )
        along, near = stock.along, stock.trims[0]
        self.holds = np.append(cuts.holds, len(positions) - 1)
        self.to = np.append(cuts.to, along)
        self.reach = np.append(cuts.reach, along)
        ends = self.reach - shop.crosscut_kerf - shop.keep_length
        self.end_after = np.searchsorted(positions, ends + SAME, side="right") - 1
        trim = np.append(np.full(len(cuts.to), near + shop.crosscut_kerf), near)
        self.base = stock.fixed + stock.rate * (trim * stock.width + self.to * edge_loss(shop))
        self.beside_long_enough = self.reach >= shop.keep_length - SAME

    def price(
        self,
        values: Sequence[float],
        most: Sequence[int],
        *,
        over: float,
        thorough: bool,
        within: range | None = None,
    ) -> Priced:
        """Layouts whose value less cost is above `over`, the best first; `values` and `most` by shape.

        Not `thorough`: the search stops at the first batch of lengths that holds one. `within`: only boards
        sawn at these of the `ways`, and the bound is for those alone.
        """
        prices = self._own_prices(values)
        own_most = [most[shape] for shape in self.shapes]
        table = self.table.values(prices, own_most)
        lanes = self._lane_values(table)
        plain = self._plain_bound(lanes)
        lengths = self._worth_sawing_at(table, lanes, within or self.ways)
        order = lengths[np.argsort(-plain[lengths], kind="stable")]
        least = NOISE * self.stock.price
        best, found = max(over, self._unwanted(prices)), []
        for begin in range(0, len(order), BATCH):
            if plain[order[begin]] <= best:
                break
            batch = order[begin : begin + BATCH]
            profits = self._profits(lanes, table, batch)
            found += [
                (float(profit), int(at))
                for profit, at in zip(profits, batch, strict=True)
                if profit > over + least
            ]
            best = max(best, float(profits.max()))
            if found and not thorough:
                rest = order[begin + BATCH :]
                best = max(best, float(plain[rest[0]])) if len(rest) else best
                break
        found.sort(key=lambda pair: (-pair[0], pair[1]))
        return Priced(self._layouts(found, table, lanes), best)

    def _plain_bound(self, lanes: Reals) -> Reals:
        """Above every profit at each length: the whole width at the best lane's value a mm."""
        a_mm = (lanes / self.across.takes[:, None]).max(axis=0)
        off_the_edge = max(0.0, self.task.shop.rip_kerf - edge_loss(self.task.shop))
        bound: Reals = np.maximum(a_mm, 0.0) * self.across.room - self.base
        return bound + self.stock.rate * off_the_edge * self.reach

    @property
    def ways(self) -> range:
        """Every length a board may be crosscut at, by number; the last is to rip it whole."""
        return range(len(self.holds))

    def _worth_sawing_at(self, table: Valued, lanes: Reals, within: range) -> Indices:
        """Lengths at which a lane holds or is worth more than just before; other crosscuts come too late."""
        held = table.best[[lane.shapes for lane in self.classes]][:, self.holds]
        more = np.any((held[:, 1:] > held[:, :-1]) | (lanes[:, 1:] > lanes[:, :-1]), axis=0)
        more |= self.beside_long_enough[1:] & ~self.beside_long_enough[:-1]
        worth = np.append([True], more)
        worth[within.start] = worth[-1] = True
        return np.flatnonzero(worth[within.start : within.stop]) + within.start

    def _unwanted(self, prices: Sequence[float]) -> float:
        """Above the profit of a board with nothing but segments at less than no price."""
        least_loss = max((price for price in prices if price < 0), default=-np.inf)
        return float(least_loss - self.stock.rate * self.stock.trims[0] * self.stock.width)

    def _own_prices(self, values: Sequence[float]) -> list[float]:
        penalty = self.stock.penalty
        own = [values[shape] - (penalty[shape] if penalty else 0.0) for shape in self.shapes]
        return [max(price, WORTHLESS) if price >= 0 else price for price in own]

    def _lane_values(self, table: Valued) -> Reals:
        """Value less cost of the best lane of each class (rows), for each length in `to`."""
        rows = [
            np.where(
                table.best[lane.shapes][self.holds] > 0,
                np.maximum(self._end_lost(table, lane), self._end_kept(table, lane)[0]),
                -np.inf,
            )
            for lane in self.classes
        ]
        return np.array(rows)

    def _end_lost(self, table: Valued, lane: _Class) -> Reals:
        """The lane's end is waste."""
        held: Reals = table.best[lane.shapes][self.holds]
        return held - self.stock.rate * (lane.width + self.task.shop.rip_kerf) * self.to

    def _end_kept(self, table: Valued, lane: _Class) -> tuple[Reals, Indices]:
        """The lane's end goes back on the rack; with the position where its strips end."""
        shop, rate = self.task.shop, self.stock.rate
        if lane.width < shop.keep_width - SAME:
            return np.full(len(self.to), -np.inf), np.zeros(len(self.to), dtype=np.intp)
        worth = table.best[lane.shapes] - rate * lane.width * (self.table.positions + shop.crosscut_kerf)
        worth[0] = -np.inf
        best = np.maximum.accumulate(worth)
        first = np.searchsorted(best, best, side="left")
        at = np.maximum(self.end_after, 0)
        return np.where(self.end_after > 0, best[at], -np.inf) - rate * shop.rip_kerf * self.to, first[at]

    def _profits(self, lanes: Reals, table: Valued, batch: Indices) -> Reals:
        """The best over all sets of lanes, for a batch of lengths."""
        filled = self.across.fill(lanes[:, batch], self._useful(table, batch))
        filled[0] = -np.inf  # a board without a lane is none
        self._lose_beside(filled, batch)
        best: Reals = np.max(filled, axis=0)
        return best - self.base[batch]

    def _useful(self, table: Valued, batch: Indices) -> list[int]:
        """Classes that hold more at some length than narrower ones do, or whose ends may be kept."""
        useful, held = [], np.zeros(len(batch))
        for number, lane in enumerate(self.classes):
            now = table.best[lane.shapes][self.holds[batch]]
            if np.any(now > held) or lane.width >= self.task.shop.keep_width - SAME:
                useful.append(number)
                held = now
        return useful

    def _lose_beside(self, filled: Reals, batch: Indices) -> None:
        """Take off what is lost where the part beside the lanes is too small to keep. Rows: sums of widths."""
        shop, across = self.task.shop, self.across
        widest = self.stock.width - edge_loss(shop) - across.sums
        narrow = int(np.searchsorted(-widest, -(shop.keep_width - SAME), side="right"))  # from this row on
        short = np.flatnonzero(~self.beside_long_enough[batch])
        filled[narrow:] -= self._beside(widest[narrow:], batch)
        filled[:narrow, short] -= self._beside(widest[:narrow], batch[short])

    def _beside(self, widest: Reals, batch: Indices) -> Reals:
        least = (widest - self.across.slack)[:, None]
        lengths = (
            np.where(least < 0, self.reach[batch], self.to[batch])
            if least.min(initial=0.0) < 0
            else self.to[batch]
        )
        lost: Reals = self.stock.rate * least * lengths
        return lost

    def _layouts(self, found: Sequence[tuple[float, int]], table: Valued, lanes: Reals) -> tuple[Layout, ...]:
        """The first few layouts found, without their like."""
        layouts: dict[Layout, None] = {}
        for _, at in found[:24]:
            if len(layouts) < 5 and (layout := self._layout(at, table, lanes)):
                layouts[layout] = None
        return tuple(layouts)

    def _layout(self, at: int, table: Valued, lanes: Reals) -> Layout | None:
        batch = np.array([at])
        lost = np.zeros((len(self.across.sums), 1))
        self._lose_beside(lost, batch)
        chosen = self.across.choose(lanes[:, at], self._useful(table, batch), lost[:, 0])
        made = [lane for number in chosen if (lane := self._lane(number, at, table))]
        layout = Layout(
            self.number, tuple(sorted(made, key=lambda lane: (-lane.width, -lane.used, lane.parts)))
        )
        while layout.lanes and not layout_fits(
            self.task, layout
        ):  # rounding on the grid: the least lane goes
            layout = Layout(self.number, layout.lanes[:-1])
        return layout if layout.lanes else None

    def _lane(self, number: int, at: int, table: Valued) -> Lane | None:
        lane = self.classes[number]
        kept, ends = self._end_kept(table, lane)
        position = int(ends[at]) if kept[at] > self._end_lost(table, lane)[at] else int(self.holds[at])
        own = table.strips(lane.shapes, position)
        parts = [(self.shapes[shape], count) for shape, count in own]
        room = self.stock.room
        while parts and self.task.lane(self.number, parts).used > room + 1e-9:  # likewise: a segment goes
            shape, count = parts.pop()
            parts += [(shape, count - 1)] if count > 1 else []
        return self.task.lane(self.number, parts) if parts else None


class _Across:
    """Lanes side by side: the widths that lanes can add up to, and the best value for each sum."""

    def __init__(self, *, room: float, takes: Sequence[float], generous: bool) -> None:
        self.room = room
        self.generous = generous
        self.takes = np.array(takes)
        sums = _width_sums(room, takes)
        step = room / WIDTH_GRID
        grid: Reals = np.linspace(0.0, room, WIDTH_GRID + 1)
        self.sums = grid if sums is None else sums
        self.exact = sums is not None
        off = step * (int(room / min(takes)) + 1)  # the most that rounding adds up to
        self.slack = 0.0 if self.exact else off if generous else -off
        self.steps = [self._step(take, sums) for take in takes]

    def _step(self, take: float, sums: Reals | None) -> tuple[Any, Any]:
        """Where a lane leads: rows before and after it, as slices on the grid (several times as fast)."""
        if sums is None:
            steps = take / self.room * WIDTH_GRID
            rows = floor(steps + 1e-9) if self.generous else ceil(steps - 1e-9)
            return slice(0, WIDTH_GRID + 1 - rows), slice(rows, WIDTH_GRID + 1)
        before = np.flatnonzero(sums + take <= self.room + 1e-9)
        return before, np.searchsorted(sums, sums[before] + take - SAME)

    def fill(self, lanes: Reals, useful: Sequence[int]) -> Reals:
        """Best value for each sum of widths (rows), for each column of lane values by class."""
        best = np.full((len(self.sums), lanes.shape[1]), -np.inf)
        best[0] = 0.0
        for number in useful:
            self._add(best, lanes[number], number)
        return best

    def _add(self, best: Reals, value: Reals, number: int) -> None:
        """Let in lanes of one class, as many as fit."""
        before, after = self.steps[number]
        if isinstance(after, slice) and not after.start:  # so narrow that a generous grid has no width for it
            np.maximum(best, best + self._beside(number) * np.maximum(value, 0.0), out=best)
            return
        if isinstance(after, slice):  # a stretch as long as a step depends only on the one before it
            for start in range(after.start, len(best), after.start):
                part = best[start : start + after.start]
                np.maximum(part, best[start - after.start : start][: len(part)] + value, out=part)
            return
        for _ in range(self._beside(number)):
            best[after] = np.maximum(best[after], best[before] + value)

    def _beside(self, number: int) -> int:
        """How many lanes of a class fit side by side."""
        return int(self.room / self.takes[number] + 1e-9)

    def choose(self, values: Reals, useful: Sequence[int], lost: Reals) -> list[int]:
        """The classes of the lanes in the best set for one length; `lost` (not above 0) comes on top."""
        best = np.full((len(self.sums), 1), -np.inf)
        best[0] = 0.0
        stages = [best]
        for number in useful:
            best = best.copy()
            self._add(best, values[number : number + 1], number)
            stages.append(best)
        at = 1 + int(np.argmax((best[:, 0] + lost)[1:]))
        chosen: list[int] = []
        for stage in range(len(useful), 0, -1):
            before, after = self.steps[useful[stage - 1]]
            if isinstance(after, slice) and not after.start:
                if stages[stage][at, 0] != stages[stage - 1][at, 0]:
                    chosen += [useful[stage - 1]] * self._beside(useful[stage - 1])
                continue
            while stages[stage][at, 0] != stages[stage - 1][at, 0]:
                at = at - after.start if isinstance(after, slice) else int(before[np.searchsorted(after, at)])
                chosen.append(useful[stage - 1])
        return chosen


def _width_sums(room: float, takes: Sequence[float]) -> Reals | None:
    """Every width that lanes can take together; None where there are too many."""
    sums = np.zeros(1)
    while True:
        every = np.sort(np.append(sums, np.add.outer(sums, np.array(takes)).ravel()))
        every = every[every <= room + 1e-9]
        grown = every[np.concatenate(([True], np.diff(every) > SAME))]
        if len(grown) > EXACT_WIDTHS:
            return None
        if len(grown) == len(sums):
            return sums
        sums = grown
