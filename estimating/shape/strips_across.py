"""By how much the strips of laminates grow, so that they span the segments of a new size as they did the old."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil

from estimating.piece import Laminate, Part, ShopSettings
from estimating.shape.build import build_shapes
from estimating.shape.laminates import panel_needed

_ENOUGH = 1e4
"""mm: a panel so wide spans any segment, so that segments can be measured before their strips are known."""


def strips_across(
    before: Sequence[Part],
    after: Sequence[Part],
    *,
    laminates: Mapping[str, Laminate],
    shop: ShopSettings,
) -> Mapping[str, float]:
    """For each laminate in use the factor of its strips: the widest that its segments measure square to the strips,
    now to then. A panel with something over keeps it in proportion.

    Errors: InvalidSheet where either piece has no shape.
    """
    used = {key for part in before for band in part.bands for key in band.all_woods if key in laminates}
    if not used:
        return {}
    spanning = {key: _spanning(one) for key, one in laminates.items()}
    old, new = (_needed(parts, laminates=spanning, shop=shop) for parts in (before, after))
    return {key: new[key] / old[key] for key in used}


def _spanning(laminate: Laminate) -> Laminate:
    by = ceil(_ENOUGH / laminate.panel_width)
    return replace(laminate, strips=tuple((wood, width * by) for wood, width in laminate.strips))


def _needed(
    parts: Sequence[Part], *, laminates: Mapping[str, Laminate], shop: ShopSettings
) -> dict[str, float]:
    needed: dict[str, float] = {}
    for shape in build_shapes(parts, shop=shop, laminates=laminates):
        for ring in shape.rings:
            for key in ring.wood_counts:
                if key in laminates:
                    width = panel_needed(laminates[key], length=ring.outer_edge, height=ring.height)
                    needed[key] = max(needed.get(key, 0.0), width)
    return needed
