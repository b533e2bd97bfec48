"""How much of a resource is free as time goes on, while a schedule is filled."""

from bisect import bisect_right
from collections.abc import Iterator

from estimating.scheduling.blocks import Prepared

LONG_AGO = -(10**12)


class Profile:
    """What is free from each moment on, in steps."""

    def __init__(self, capacity: int) -> None:
        self.moments = [LONG_AGO]
        self.free = [capacity]

    @classmethod
    def of(cls, prepared: Prepared) -> dict[str, "Profile"]:
        """The resources as fixed tasks and holds under way leave them."""
        found = {resource: cls(capacity) for resource, capacity in prepared.problem.capacities.items()}
        for resource, first, last, amount in prepared.taken:
            if resource in found:
                found[resource].take(first, last, amount)
        for hold in prepared.holds:
            if hold.first is None:
                found[hold.resource].take(hold.start, None, 1)
        return found

    def _cut(self, moment: int) -> int:
        at = bisect_right(self.moments, moment) - 1
        if self.moments[at] != moment:
            at += 1
            self.moments.insert(at, moment)
            self.free.insert(at, self.free[at - 1])
        return at

    def take(self, first: int, last: int | None, amount: int) -> None:
        """Take some of it from one moment to another; None: for ever."""
        if last is not None and last <= first:
            return
        low = self._cut(first)
        high = len(self.free) if last is None else self._cut(last)
        for at in range(low, high):
            self.free[at] -= amount

    def give_back(self, moment: int, amount: int) -> None:
        """From a moment on there is so much more of it."""
        for at in range(self._cut(moment), len(self.free)):
            self.free[at] += amount

    def taken(self) -> Iterator[tuple[int, int | None, int]]:
        """What has been taken of nothing, in steps: from, for how long (None: for ever), how much."""
        for at, (first, free) in enumerate(zip(self.moments, self.free, strict=True)):
            if free:
                yield first, self.moments[at + 1] - first if at + 1 < len(self.moments) else None, -free

    def free_from(self, moment: int, minutes: int | None, amount: int) -> int:
        """The first moment, at or after this one, from which so much is free for so long; None: for ever."""
        if minutes == 0:
            return moment
        at = bisect_right(self.moments, moment) - 1
        while at < len(self.free) and (minutes is None or self.moments[at] < moment + minutes):
            if self.free[at] < amount:
                if at + 1 == len(self.free):
                    return -LONG_AGO
                moment = self.moments[at + 1]
            at += 1
        return moment


def taken_steps(prepared: Prepared, resource: str) -> Iterator[tuple[int, int, int]]:
    """What fixed tasks take of a resource from now on, in steps: from, to, how much."""
    profile = Profile(0)
    for name, first, last, amount in prepared.taken:
        if name == resource:
            profile.take(max(first, prepared.problem.not_before), last, amount)
    for first, minutes, amount in profile.taken():
        if minutes is not None:
            yield first, first + minutes, amount
