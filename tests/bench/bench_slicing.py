"""Timings of the choice of thick rings, with how far each is from its bound: made-up bands, apart from the rest."""

import statistics
import time

from estimating.shape.slicing import group
from tests.estimating.wavy import HEIGHT, made_up_band


def bands(*, layers: int, cases: int) -> None:
    """Print the median time and the gaps to the bound."""
    times, gaps, proven = [], [], 0
    for seed in range(cases):
        outer, inner = made_up_band(layers=layers, seed=seed)
        begin = time.process_time()
        found = group(outer, inner, segments=16, gap=0.0, height=HEIGHT, extra_ring=0.0)
        times.append(time.process_time() - begin)
        gaps.append(found.volume / found.bound - 1)
        proven += found.proven
    print(
        f"{layers:4d} layers: {statistics.median(times) * 1000:5.0f} ms (worst {max(times) * 1000:.0f}); gap to the"
        f" bound {statistics.median(gaps):.2%} (worst {max(gaps):.2%}); {proven} of {cases} proven"
    )


def main() -> None:
    """Print all."""
    for layers, cases in ((9, 20), (20, 20), (60, 20), (120, 12), (300, 8), (1000, 4), (5000, 4)):
        bands(layers=layers, cases=cases)


if __name__ == "__main__":
    main()
