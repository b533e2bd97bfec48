"""A sawing plan made better by many small changes: strips moved, swapped and shared out anew between lanes and boards.

Source of the method: S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220
(1983) 671-680. Draws come from a fixed seed and the number of changes is set, so the same task gives the same plan.
"""

import random
from collections.abc import Sequence
from math import exp

from estimating.wood.layouts import (
    Layout,
    Task,
    edge_loss,
    has_left,
    layout_fits,
    opening_left,
    plan_cost,
    plan_rank,
    rips_safely,
    width_room,
)

HOT, COLD = 0.04, 0.0008
"""Temperature at the first and the last change, as shares of what a board of the plan costs on average."""

EVEN = 0.03
"""Share of the face taken that counts besides the cost: it leads on where the cost itself stands still, since an
offcut a little too small to keep is worth nothing until it is large enough."""

TIE = 1e-5
"""Share of the dearest board's price that a board of the largest kind counts besides: of plans that cost the same, the
one that opens less wood, and fewer boards."""

MOST_KNOWN = 50_000
"""Lanes whose size is remembered; beyond, they are measured afresh."""

Part = tuple[int, int]
"""Shape and segments of one strip."""

Lane = tuple[Part, ...]


def anneal(task: Task, plan: Sequence[Layout], *, changes: int, seed: int = 0) -> list[Layout]:
    """The best plan met in so many changes, never a worse one than is given."""
    bench = _Bench(task, plan, seed)
    best = bench.run(changes)
    if best is None:
        return list(plan)
    layouts = [_layout(task, stock, lanes) for stock, lanes in best]
    if not all(layout_fits(task, layout) for layout in layouts):
        return list(plan)
    return min(list(plan), layouts, key=lambda way: plan_rank(task, way))


def _layout(task: Task, stock: int, lanes: Sequence[Lane]) -> Layout:
    rips = task.stocks[stock].rips
    # The narrower strips last: that is how a lane is ripped again.
    ordered = (sorted(lane, key=lambda part: (-(rips[part[0]] or 0.0), part)) for lane in lanes)
    made = (task.lane(stock, lane) for lane in ordered)
    return Layout(stock, tuple(sorted(made, key=lambda lane: (-lane.width, -lane.used, lane.parts))))


class _Bench:
    """Boards being sawn: of each its stock, its lanes, and what it weighs."""

    def __init__(self, task: Task, plan: Sequence[Layout], seed: int) -> None:
        self.task = task
        self.plan = plan
        self.draw = random.Random(seed)
        self.boards: list[tuple[int, tuple[Lane, ...]]] = [
            (layout.stock, tuple(lane.parts for lane in layout.lanes)) for layout in plan
        ]
        self.used = [0] * len(task.stocks)
        for stock, _ in self.boards:
            self.used[stock] += 1
        self.once = [shape.rule.once for shape in task.shapes]
        self.each = [shape.rule.each for shape in task.shapes]
        self.sizes: dict[tuple[int, Lane], tuple[float, float] | None] = {}
        self.edge = edge_loss(task.shop)
        self.across = [width_room(stock.width, task.shop) + 1e-9 for stock in task.stocks]
        dearest = max(stock.price for stock in task.stocks)
        largest = max(stock.volume for stock in task.stocks)
        self.ties = [TIE * dearest * (stock.volume / largest + 0.01) for stock in task.stocks]
        self.weights = [self.weight(stock, lanes) or 0.0 for stock, lanes in self.boards]
        self.rest = opening_left(task, self.used)
        self.total = sum(self.weights) + self.rest

    def run(self, changes: int) -> list[tuple[int, tuple[Lane, ...]]] | None:
        """Make the changes while it cools; the boards at the least weight, None if nothing got better."""
        # What has to be bought as a last resort weighs thousands; the heat goes by the cost.
        average = plan_cost(self.task, self.plan) / max(1, len(self.boards)) or 1.0
        best, kept = self.total, None
        cooling = (COLD / HOT) ** (1 / max(1, changes))
        heat = HOT * average
        for _ in range(changes):
            self._change(heat)
            heat *= cooling
            if self.total < best - 1e-9 * average:
                best, kept = self.total, list(self.boards)
        return kept

    def _change(self, heat: float) -> None:
        """One change, drawn: a board of another kind, or a strip put elsewhere."""
        draw = self.draw.random
        at = int(draw() * len(self.boards))
        lanes = self.boards[at][1]
        if draw() < 0.06:
            self._restock(at, heat)
            return
        if draw() < 0.03:
            self._join(at, int(draw() * len(self.boards)), heat)
            return
        lane = int(draw() * len(lanes))
        part = int(draw() * len(lanes[lane]))
        to = int(draw() * len(self.boards))
        if draw() < 0.06:
            kind = int(draw() * len(self.task.stocks))
            self._put((at, lane, part), len(self.boards), kind, 0, heat)
            return
        others = len(self.boards[to][1])
        target = others if draw() < 0.15 else int(draw() * others)
        if to != at or target != lane:
            self._put((at, lane, part), to, self.boards[to][0], target, heat)

    def _restock(self, at: int, heat: float) -> None:
        """The same lanes from a board of another kind."""
        stock, lanes = self.boards[at]
        kind = int(self.draw.random() * len(self.task.stocks))
        if kind == stock:
            return
        weight = self.weight(kind, lanes)
        if weight is not None and self._agreed(weight - self.weights[at], heat, taken=[kind], back=[stock]):
            self.boards[at], self.weights[at] = (kind, lanes), weight

    def _join(self, at: int, other: int, heat: float) -> None:
        """The strips of two boards from one of any kind, each lane in the first that has room for it."""
        kind = int(self.draw.random() * len(self.task.stocks))
        if at == other:
            return
        room = self.task.stocks[kind].room + 1e-9
        lanes = list(self.boards[at][1])
        for lane in self.boards[other][1]:
            for n, into in enumerate(lanes):
                joined = into
                for part in lane:
                    joined = _with(joined, part)
                if sum(self.once[shape] + count * self.each[shape] for shape, count in joined) <= room:
                    lanes[n] = joined
                    break
            else:
                lanes.append(lane)
        weight = self.weight(kind, lanes)
        if weight is None:
            return
        change = weight - self.weights[at] - self.weights[other]
        if not self._agreed(change, heat, taken=[kind], back=[self.boards[at][0], self.boards[other][0]]):
            return
        self.boards[at], self.weights[at] = (kind, tuple(lanes)), weight
        del self.boards[other], self.weights[other]

    def _put(self, what: tuple[int, int, int], to: int, kind: int, target: int, heat: float) -> None:
        """Move a strip, or some of its segments, to a lane, or swap it with one there."""
        at, lane, part = what
        stock, lanes = self.boards[at]
        opened = to == len(self.boards)
        there = () if opened else self.boards[to][1]
        into = there[target] if target < len(there) else ()
        moved = self._moved(lanes[lane], part, kind, into)
        if moved is None:
            return
        left, filled = moved
        if to == at:
            now = [left if n == lane else filled if n == target else old for n, old in enumerate(lanes)]
            if target == len(lanes):
                now.append(filled)
            self._settle(at, (stock, tuple(n for n in now if n)), None, heat)
            return
        ours = tuple(left if n == lane else old for n, old in enumerate(lanes) if n != lane or left)
        theirs = (
            tuple(filled if n == target else old for n, old in enumerate(there))
            if target < len(there)
            else (*there, filled)
        )
        self._settle(at, (stock, ours), (to, (kind, theirs)), heat)

    def _moved(self, lane: Lane, part: int, kind: int, into: Lane) -> tuple[Lane, Lane] | None:
        """Both lanes after a strip, or a share of it, has gone from one to the other."""
        shape, count = lane[part]
        rest = lane[:part] + lane[part + 1 :]
        drawn = self.draw.random()
        if into and drawn < 0.4:
            back = int(self.draw.random() * len(into))
            return _with(rest, into[back]), _with(into[:back] + into[back + 1 :], (shape, count))
        if drawn > 0.75 and count > 1:
            some = self._share(shape, count, kind, into)
            if not some:
                return None
            left = rest if some == count else (*lane[:part], (shape, count - some), *lane[part + 1 :])
            return left, _with(into, (shape, some))
        return rest, _with(into, (shape, count))

    def _share(self, shape: int, count: int, kind: int, into: Lane) -> int:
        """How many segments go: any number, or as many as fill the lane."""
        if not into:
            return 1 + int(self.draw.random() * count)
        used = sum(self.once[other] + n * self.each[other] for other, n in into)
        if all(other != shape for other, _ in into):
            used += self.once[shape]
        fits = int((self.task.stocks[kind].room - used) / self.each[shape] + 1e-9)
        if fits < 1:
            return 0
        return min(count, fits if self.draw.random() < 0.5 else 1 + int(self.draw.random() * fits))

    def _settle(
        self,
        at: int,
        ours: tuple[int, tuple[Lane, ...]],
        other: tuple[int, tuple[int, tuple[Lane, ...]]] | None,
        heat: float,
    ) -> None:
        """Keep the change if it can be sawn and the heat allows it."""
        weight = self.weight(*ours)
        if weight is None:
            return
        if other is None:
            if self._agreed(weight - self.weights[at], heat):
                self.boards[at], self.weights[at] = ours, weight
            return
        to, theirs = other
        added = self.weight(*theirs)
        if added is None:
            return
        opened = to == len(self.boards)
        change = weight + added - self.weights[at] - (0.0 if opened else self.weights[to])
        taken, back = [theirs[0]] if opened else [], [] if ours[1] else [ours[0]]
        if not self._agreed(change, heat, taken=taken, back=back):
            return
        self.boards[at], self.weights[at] = ours, weight
        if opened:
            self.boards.append(theirs)
            self.weights.append(added)
        else:
            self.boards[to], self.weights[to] = theirs, added
        if not ours[1]:
            del self.boards[at], self.weights[at]

    def _agreed(
        self, change: float, heat: float, *, taken: Sequence[int] = (), back: Sequence[int] = ()
    ) -> bool:
        """Whether a change is made, by what it weighs with the boards it takes and puts back; the sums follow it."""
        rest = self.rest
        if taken or back:
            for stock in back:
                self.used[stock] -= 1
            there = all(has_left(self.task, self.used, stock) for stock in taken)
            for stock in taken:
                self.used[stock] += 1
            rest = opening_left(self.task, self.used)
            change += rest - self.rest
            if not there or (change > 0 and self.draw.random() >= exp(-change / heat)):
                for stock in taken:
                    self.used[stock] -= 1
                for stock in back:
                    self.used[stock] += 1
                return False
        elif change > 0 and self.draw.random() >= exp(-change / heat):
            return False
        self.rest = rest
        self.total += change
        return True

    def weight(self, stock: int, lanes: Sequence[Lane]) -> float | None:
        """What a board sawn so costs, with a little for the face it takes; None where it cannot be sawn so.

        The cost is that of `layouts.offcuts`, read out here for speed: the innermost loop of the search.
        """
        if not lanes:
            return 0.0
        at = self.task.stocks[stock]
        shop = self.task.shop
        sizes = []
        across, longest = self.edge, 0.0
        for lane in lanes:
            size = self._size(stock, lane)
            if size is None:
                return None
            sizes.append(size)
            across += size[0] + shop.rip_kerf
            longest = max(longest, size[1])
        if across - self.edge > self.across[stock]:
            return None
        kept = self._kept(stock, sizes, at.width - across, max(longest, at.shortest))
        face = at.trims[0] * at.width + longest * across
        penalty = at.penalty
        last_resort = sum(penalty[shape] * n for lane in lanes for shape, n in lane) if penalty else 0.0
        cost = at.price * (1.0 - kept / (at.length * at.width)) + at.fixed + last_resort
        return cost + EVEN * at.rate * face + self.ties[stock]

    def _size(self, stock: int, lane: Lane) -> tuple[float, float] | None:
        """Width and used length of a lane, None where it cannot be sawn; a board's other lanes were seen before."""
        key = (stock, lane)
        if key not in self.sizes:
            if len(self.sizes) > MOST_KNOWN:
                self.sizes.clear()
            self.sizes[key] = self._measure(stock, lane)
        return self.sizes[key]

    def _measure(self, stock: int, lane: Lane) -> tuple[float, float] | None:
        at = self.task.stocks[stock]
        wide, used = 0.0, 0.0
        for shape, count in lane:
            rip = at.rips[shape]
            if rip is None:
                return None
            wide = max(wide, rip)
            used += self.once[shape] + count * self.each[shape]
        if used > at.room + 1e-9 or not rips_safely(self.task, stock, lane):
            return None
        return wide, used

    def _kept(self, stock: int, sizes: Sequence[tuple[float, float]], rest: float, longest: float) -> float:
        """The face of what goes back, mm2: the best of ripping the whole length and of two crosscuts."""
        at, shop = self.task.stocks[stock], self.task.shop
        along, kerf, keep = at.along, shop.crosscut_kerf, shop.keep_length
        farthest = along - kerf - keep + 1e-9
        best = 0.0
        for to in (along, longest, keep):
            crosscut = to is not along
            if crosscut and not longest <= to <= farthest:
                continue
            kept = (along - to - kerf) * at.width if crosscut and at.width >= shop.keep_width else 0.0
            if rest >= shop.keep_width - 1e-9 and to >= keep - 1e-9:
                kept += to * rest
            for wide, used in sizes:
                end = to - used - kerf
                if wide >= shop.keep_width - 1e-9 and end >= keep - 1e-9:
                    kept += end * wide
            best = max(best, kept)
        return best


def _with(lane: Lane, part: Part) -> Lane:
    """A lane with a strip more; one of a shape it holds already grows longer instead."""
    for n, (shape, count) in enumerate(lane):
        if shape == part[0]:
            return (*lane[:n], (shape, count + part[1]), *lane[n + 1 :])
    return (*lane, part)
