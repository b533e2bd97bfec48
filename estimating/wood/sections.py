"""The clear parts of a board with defects, and the plates that one of them can be resawn into."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor

from estimating.piece import Board, Defect, ShopSettings, Surface
from estimating.wood.layouts import TOLERANCE, edge_loss

MOST_PLATES = 6
"""A board is resawn into at most so many plates; thinner ones are veneer, which is bought."""


@dataclass(frozen=True, slots=True)
class Section:
    """A clear rectangle of a board, mm: where its near corner lies, its size, and what its ends are trimmed by.

    An end that was sawn to get rid of a defect is fresh and needs no trim.
    """

    start: float
    across: float
    length: float
    width: float
    near_trim: float
    far_trim: float

    @property
    def area(self) -> float:
        """mm2."""
        return self.length * self.width


def clear_sections(
    *, length: float, width: float, defects: Sequence[Defect], shop: ShopSettings
) -> tuple[Section, ...]:
    """What is left of a board once its defects are sawn away, along the board.

    Shape: a defect across the whole width is crosscut out. An area may be ripped out instead, which leaves both sides
        at their full length and the wood before and behind it; whichever way leaves more that can be used. The kerf
        of such a cut runs in the defect, or where that is narrower in the clear wood behind it.
    Units: mm.

    >>> shop = ShopSettings(board_end_trim=20.0)
    >>> [(s.start, s.length) for s in clear_sections(length=2000, width=150, defects=((800, 850),), shop=shop)]
    [(0.0, 800.0), (850, 1150.0)]
    """
    whole = Section(0.0, 0.0, length, width, shop.board_end_trim, shop.board_end_trim)
    sections = [whole]
    for defect in sorted(defects):
        sections = [part for section in sections for part in _without(section, defect, shop)]
    return tuple(sorted(sections, key=lambda section: (section.start, section.across)))


def _without(section: Section, defect: Defect, shop: ShopSettings) -> list[Section]:
    first, last = defect[0], max(defect[1], defect[0] + shop.crosscut_kerf)
    near, far = (defect[2], max(defect[3], defect[2] + shop.rip_kerf)) if len(defect) == 4 else (0.0, None)
    end, side = section.start + section.length, section.across + section.width
    if last <= section.start or first >= end:
        return [section]
    if far is not None and (far <= section.across or near >= side):
        return [section]
    crosscut = [
        Section(section.start, section.across, first - section.start, section.width, section.near_trim, 0.0),
        Section(last, section.across, end - last, section.width, 0.0, section.far_trim),
    ]
    ways = [[part for part in crosscut if _is_usable(part, shop)]]
    if far is not None:
        band = (max(near, section.across), min(far, side))
        ripped = [
            _band(section, section.across, band[0]),
            _band(section, band[1], side),
            Section(section.start, band[0], first - section.start, band[1] - band[0], section.near_trim, 0.0),
            Section(last, band[0], end - last, band[1] - band[0], 0.0, section.far_trim),
        ]
        ways.append([part for part in ripped if _is_usable(part, shop)])
    return max(ways, key=lambda way: sum(part.area for part in way))


def _band(section: Section, near: float, far: float) -> Section:
    return Section(section.start, near, section.length, far - near, section.near_trim, section.far_trim)


def _is_usable(section: Section, shop: ShopSettings) -> bool:
    """Long and wide enough to be ripped at all."""
    room = section.length - section.near_trim - section.far_trim
    across = section.width - 2 * edge_loss(shop)
    return room > 0 and section.length >= shop.min_rip_length and across >= max(shop.min_rip_width, 1e-6)


def is_kept(section: Section, shop: ShopSettings) -> bool:
    """Whether it goes back on the rack where nothing is sawn from it."""
    return section.length >= shop.keep_length - TOLERANCE and section.width >= shop.keep_width - TOLERANCE


def usable_thickness(thickness: float, surface: Surface, shop: ShopSettings) -> float:
    """What a board is thick once it is flat and clean, mm: a rough one loses `plane_face` from each face."""
    return thickness - (2 * shop.plane_face if surface == "rough" else 0.0)


def plate_thickness(thickness: float, surface: Surface, plates: int, shop: ShopSettings) -> float:
    """Thickness of each of so many plates, clean, mm.

    A cut takes the bandsaw's kerf, and each face it leaves is cleaned: T - (m - 1) (k + 2 c), shared out evenly, with
    T the usable thickness. One plate is the board as it is.

    >>> plate_thickness(25.4, "surfaced", 2, ShopSettings(resaw_kerf=1.4, resaw_clean=0.8))
    11.2
    """
    usable = usable_thickness(thickness, surface, shop)
    return (usable - (plates - 1) * (shop.resaw_kerf + 2 * shop.resaw_clean)) / plates


def ways_to_resaw(board: Board, section: Section, *, thinnest: float, shop: ShopSettings) -> Iterator[int]:
    """Numbers of plates worth trying: one, and where the shop resaws, as many as stay at least `thinnest` mm thick.

    The board stands on edge at the bandsaw, so its width must be within the saw's height; a plate goes through the
    planer, so it must be as long as the planer asks.
    """
    yield 1
    fits = 0 < section.width <= shop.bandsaw_height and section.length >= shop.min_planer_length
    if not (shop.resaw and fits) or thinnest <= 0:
        return
    each = shop.resaw_kerf + 2 * shop.resaw_clean
    usable = usable_thickness(board.thickness, board.surface, shop)
    most = min(MOST_PLATES, floor((usable + each) / (thinnest + each) + 1e-9))
    yield from range(2, most + 1)
