"""Ranges of minutes: the windows attended work may lie in, merged, shared, and what can start in them."""

from bisect import bisect_left
from collections.abc import Iterable
from itertools import pairwise
from typing import TypeAlias

Ranges: TypeAlias = tuple[tuple[int, int], ...]
"""First and last of each, ascending and apart."""


def merged(ranges: Iterable[tuple[int, int]]) -> Ranges:
    """Ranges in order, those that touch or overlap made one.

    >>> merged([(480, 720), (0, 60), (60, 90)])
    ((0, 90), (480, 720))
    """
    found: list[tuple[int, int]] = []
    for first, last in sorted(ranges):
        if found and first <= found[-1][1]:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return tuple(found)


def shared(one: Ranges, other: Ranges) -> Ranges:
    """The minutes that both have, ends included.

    >>> shared(((0, 90), (480, 720)), ((60, 500),))
    ((60, 90), (480, 500))
    """
    found = []
    at = 0
    for first, last in one:
        while at < len(other) and other[at][1] < first:
            at += 1
        near = at
        while near < len(other) and other[near][0] <= last:
            low, high = max(first, other[near][0]), min(last, other[near][1])
            if low <= high:
                found.append((low, high))
            near += 1
    return tuple(found)


def shifted(ranges: Ranges, minutes: int) -> Ranges:
    """The ranges, so many minutes later.

    >>> shifted(((0, 90),), 10)
    ((10, 100),)
    """
    return tuple((first + minutes, last + minutes) for first, last in ranges)


def starts_in(windows: Ranges, minutes: int, attended: str) -> Ranges:
    """When a task may start: all of it in a window, or its start alone ("start").

    >>> starts_in(((480, 720), (780, 800)), 30, "all")
    ((480, 690),)
    """
    within = minutes if attended == "all" else 0
    return tuple((first, last - within) for first, last in windows if last - within >= first)


def next_in(ranges: Ranges, moment: int) -> int | None:
    """The first minute of the ranges at or after a moment; None past the last."""
    at = bisect_left(ranges, moment, key=lambda one: one[1])
    return max(moment, ranges[at][0]) if at < len(ranges) else None


def last_in(ranges: Ranges, moment: int) -> int | None:
    """The last minute of the ranges at or before a moment; None before the first."""
    at = bisect_left(ranges, moment + 1, key=lambda one: one[0]) - 1
    return min(moment, ranges[at][1]) if at >= 0 else None


def breaks(windows: Ranges, first: int, last: int) -> Ranges:
    """What lies between the windows, from `first` to `last`.

    >>> breaks(((480, 720), (780, 1020)), 0, 1440)
    ((0, 480), (720, 780), (1020, 1440))
    """
    edges = [(first, first), *shared(windows, ((first, last),)), (last, last)]
    return tuple((end, start) for (_, end), (start, _) in pairwise(edges) if end < start)


def after_work(windows: Ranges, moment: int, minutes: int) -> int:
    """When so many minutes of windows have passed since a moment; with no windows, of the clock.

    Past the last window: its end, which is no later than the truth.

    >>> after_work(((480, 720), (780, 1020)), 600, 200)
    860
    """
    if not windows:
        return moment + minutes
    for at in range(bisect_left(windows, moment, key=lambda one: one[1]), len(windows)):
        first, last = windows[at]
        first = max(first, moment)
        if minutes <= last - first:
            return first + minutes
        minutes -= last - first
    return max(moment, windows[-1][1])
