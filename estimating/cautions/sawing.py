"""Cautions of the saw: segments and tips too short, boards and rings that the machines do not take."""

from collections.abc import Iterator, Sequence

from estimating.cautions.seen import Caution, Rule, Seen, by_band, ring_numbers
from estimating.shape.rings import Ring

_ROUNDING = 1e-9


def short_segments(seen: Seen) -> Iterator[Caution]:
    """Segments too short to be held by hand."""
    safe = seen.shop.safe_segment_length

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        shortest = min(ring.outer_edge for ring in rings)
        message = (
            f"Segments of ring {ring_numbers(rings)} are {shortest:.1f} mm long at their longer edge, under the "
            f"shop's safe {safe:g} mm. Cut them on a sled with a hold-down and a stop clear of the blade, hands away "
            "from it, or use fewer segments. The saw's manual and local rules come first."
        )
        return Caution("short_segments", "danger", where, message)

    return by_band(seen, lambda ring: not ring.is_disc and ring.outer_edge < safe - _ROUNDING, say)


def sharp_tips(seen: Seen) -> Iterator[Caution]:
    """Wedges and staves whose inner edge is too narrow to stand the saw and the clamp."""
    least = seen.shop.min_tip_edge

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        pieces, mend = (
            "Segments",
            "Bore the centre and plug it, use fewer segments, or make the layer a solid disc.",
        )
        if rings[0].lean:
            pieces, mend = "Staves", "Use fewer staves, a shorter band or cut rings."
        meet = any(ring.inner_edge < _ROUNDING for ring in rings)
        tips = "come to a point at the centre" if meet else f"have an inner edge under {least:g} mm"
        message = (
            f"{pieces} of ring {ring_numbers(rings)} {tips}: such tips crush and cannot be glued true. {mend}"
        )
        return Caution("sharp_tips", "warning", where, message)

    return by_band(seen, lambda ring: not ring.is_disc and ring.inner_edge < least - _ROUNDING, say)


def short_boards(seen: Seen) -> Iterator[Caution]:
    """Boards of the rack that are sawn from and too short for the planer."""
    least = seen.shop.min_planer_length
    used = {(board.wood, board.length, board.width, board.thickness) for board in seen.plan.boards}
    for number, board in enumerate(seen.sheet.boards):
        size = (board.wood, board.length, board.width, board.thickness)
        if size in used and board.length < least - _ROUNDING:
            message = (
                f"The {board.wood} board is {board.length:.5g} mm long, shorter than the {least:g} mm that may go "
                "through the planer: a short piece tips between the rollers and is thrown or torn. Plane it on a "
                "longer carrier board, flatten it by hand, or use a longer board. The machine's manual comes first."
            )
            yield Caution("short_board", "danger", f"boards[{number}]", message)


def tall_for_bandsaw(seen: Seen) -> Iterator[Caution]:
    """Thick rings too wide to be sliced standing on edge, and discs too thick to be sawn round."""
    height = seen.shop.bandsaw_height

    def wrong(ring: Ring) -> bool:
        return (ring.made == "sliced" and 2 * ring.corner_radius > height + _ROUNDING) or (
            ring.made == "solid" and ring.height > height + _ROUNDING
        )

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        if rings[0].is_disc:
            tallest = max(ring.height for ring in rings)
            message = (
                f"The disc of ring {ring_numbers(rings)} is {tallest:.1f} mm thick, more than the {height:g} mm under "
                "the bandsaw's guide. Glue it up from thinner discs, or turn it round from the square."
            )
            return Caution("bandsaw_height", "warning", where, message)
        widest = max(2 * ring.corner_radius for ring in rings)
        message = (
            f"Ring {ring_numbers(rings)} measures {widest:.0f} mm across the corners, so it does not stand on edge "
            f"under the bandsaw's guide, {height:g} mm. Part its layers off on the lathe, or cut the layers one by one."
        )
        return Caution("bandsaw_height", "note", where, message)

    return by_band(seen, wrong, say) if height > 0 else iter(())


RULES: tuple[Rule, ...] = (short_segments, sharp_tips, short_boards, tall_for_bandsaw)
