"""What has to be sawn from strips: segments, discs, staves, plugs, and the strips of laminated segments."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from estimating.piece import Laminate, ShopSettings, UsualBoard
from estimating.shape.bores import Plug
from estimating.shape.build import Shape
from estimating.shape.laminates import CutList, cut_list
from estimating.shape.rings import Ring
from estimating.wood.strips import Cut, StripNeed

LONGEST_PANEL = 900.0
"""mm: longer panels of strips are hard to clamp flat and to slice on a bench saw; common practice, no source."""


@dataclass(frozen=True)
class LaminateCuts:
    """How the laminated segments of one kind in one ring are cut, for all pieces and spares together."""

    ring: int
    key: str
    cuts: CutList


@dataclass(frozen=True)
class Needs:
    """Everything sawn for all pieces: the strips, and how laminated segments are cut from some of them."""

    strips: tuple[StripNeed, ...]
    laminated: tuple[LaminateCuts, ...]

    @property
    def laminated_segments(self) -> int:
        """Segments cut from panels, spares included."""
        return sum(one.cuts.segments for one in self.laminated)


def needs_of(
    shapes: Sequence[Shape],
    *,
    laminates: Mapping[str, Laminate],
    shop: ShopSettings,
    usual: UsualBoard,
    quantity: int,
) -> Needs:
    """What to saw for all pieces, with spares: a share of those needed, at least one a ring and wood.

    Errors: InvalidInput at the laminate of which not one segment comes out of the longest panel.
    """
    strips: list[StripNeed] = []
    laminated: list[LaminateCuts] = []
    for shape in shapes:
        place = f"{shape.part.place}bands"
        for ring in shape.rings:
            for key, count in ring.wood_counts.items():
                match = shape.bands[ring.band].match
                wanted = _with_spares(count * quantity, shop.spare_segments)
                if match:  # each piece has its own spares, from the board of its ring
                    wanted = quantity * _with_spares(count, shop.spare_segments)
                if key in ring.laminated:
                    cuts = _laminate_cuts(ring, key, laminates[key], wanted=wanted, shop=shop, usual=usual)
                    laminated.append(LaminateCuts(ring.number, key, cuts))
                    strips += _laminations(ring, cuts, place)
                else:
                    need = _ring_need(ring, key, wanted, place)
                    strips.append(replace(need, match=match, sets=quantity if match else 1))
        strips += [_plug_need(plug, shape, quantity=quantity, shop=shop, place=place) for plug in shape.plugs]
    return Needs(tuple(strips), tuple(laminated))


def _with_spares(needed: int, share: float) -> int:
    return needed + (max(1, ceil(share * needed - 1e-9)) if share > 0 else 0)


_CUTS: Mapping[str, Cut] = {"solid": "disc", "veneer": "veneer"}


def _ring_need(ring: Ring, wood: str, wanted: int, place: str) -> StripNeed:
    rings = ((ring.number, wanted),)
    if ring.lean:
        stave = ring.lean
        length = stave.blank_length
        return StripNeed(
            wood, stave.rip_width, stave.board_thickness, 0.0, length, length, rings, "stave", place
        )
    return StripNeed(
        wood=wood,
        width=ring.strip_width,
        height=ring.height,
        miter=ring.miter,
        outer_edge=ring.outer_edge,
        inner_edge=ring.inner_edge,
        rings=rings,
        cut=_CUTS.get(ring.made, "segment"),
        place=place,
    )


def plug_side(diameter: float, shop: ShopSettings) -> float:
    """Side of the square stick a plug is turned from: as much to turn away as a face takes to flatten, each side."""
    return diameter + 2 * shop.flatten


def plug_length(plug: Plug, shop: ShopSettings) -> float:
    """Length of the stick: it stands over at both ends and is levelled with the faces."""
    return plug.length + 2 * shop.flatten


def _plug_need(plug: Plug, shape: Shape, *, quantity: int, shop: ShopSettings, place: str) -> StripNeed:
    side, length = plug_side(plug.diameter, shop), plug_length(plug, shop)
    ring = shape.ring(plug.layers[0]).number
    return StripNeed(plug.wood, side, side, 0.0, length, length, ((ring, quantity),), "plug", place)


def _laminate_cuts(
    ring: Ring, key: str, laminate: Laminate, *, wanted: int, shop: ShopSettings, usual: UsualBoard
) -> CutList:
    return cut_list(
        laminate,
        segments=wanted,
        length=ring.outer_edge,
        inner_length=ring.inner_edge,
        height=ring.height,
        width=ring.strip_width,
        kerf=shop.crosscut_kerf,
        hold=shop.strip_hold,
        longest=min(
            LONGEST_PANEL, usual.length - 2 * shop.board_end_trim - shop.crosscut_kerf - shop.strip_hold
        ),
        flatten=shop.flatten,
        sanding=shop.slice_sanding,
        place=f"laminates.{key}.",
    )


def _laminations(ring: Ring, cuts: CutList, place: str) -> Iterator[StripNeed]:
    """The strips of the panels; each is crosscut to the panel's length."""
    for strip in cuts.strips:
        rings = ((ring.number, strip.count),)
        yield StripNeed(
            strip.wood,
            strip.thickness,
            strip.width,
            0.0,
            strip.length,
            strip.length,
            rings,
            "lamination",
            place,
        )
