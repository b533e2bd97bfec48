"""Settings of fence, planer and stop: which sizes are set up for once, since nobody could set them apart."""

from collections.abc import Iterable

NEARLY = 0.1
"""mm; sizes no further apart are one setting. About what a fence and a rule can be read to; common practice, no source.
"""

_EXACTLY = 1e-9


def settings(sizes: Iterable[float]) -> dict[float, float]:
    """Each size, mm, with the setting that serves it: the largest of a run of sizes no more than `NEARLY` below it.

    Nothing comes out smaller than it was asked for, and nothing is more than `NEARLY` larger.

    >>> settings([30.0, 29.998, 24.0, 29.9, 29.89])
    {30.0: 30.0, 29.998: 30.0, 29.9: 30.0, 29.89: 29.89, 24.0: 24.0}
    """
    serving: dict[float, float] = {}
    setting = float("inf")
    for size in sorted(set(sizes), reverse=True):
        if size < setting - NEARLY - _EXACTLY or not serving:
            setting = size
        serving[size] = setting
    return serving


def stops(cuts: Iterable[tuple[float, float]]) -> set[tuple[float, float]]:
    """The settings of saw and stop for cuts of (miter in radians, length in mm): of each angle, its stops.

    >>> sorted(stops([(0.0, 50.0), (0.0, 49.95), (0.25, 50.0)]))
    [(0.0, 50.0), (0.25, 50.0)]
    """
    lengths: dict[float, list[float]] = {}
    for miter, length in cuts:
        lengths.setdefault(round(miter, 9), []).append(length)
    return {(miter, stop) for miter, of in lengths.items() for stop in settings(of).values()}
