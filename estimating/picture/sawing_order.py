"""A thick ring as it stands on its holder: where it is sawn, which layer a slice is, the line that keeps order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from estimating.picture.dimensions import Note, Pen, across, along, brackets
from estimating.picture.svg import INK, PAPER, document, element, joint_colour, number, outline, wood_colour
from estimating.piece import ShopSettings
from estimating.quantities import InchStyle, Unit, format_length
from estimating.shape.rings import Ring

KEEP_ORDER = (
    "True the upper face. Before the first cut, pencil a slanted line across the outside of segment 1, from the top"
    " down into what is held. Saw from the top: the lowest layer comes off first, and is laid on the stack the way it"
    " stood. Every slice keeps its piece of the line: where the line runs on from slice to slice, they are in order and"
    " none is turned. Turn each by its offset from there."
)
"""How slices keep their order. Common practice, no source."""

_SLANT = 0.35
"""How far either end of the line is from the middle of segment 1, as a share of its edge."""

_LABELS_TALL = 0.9
"""Height the slices' names may take, as a share of the ring's width."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One slice: when it is sawn, from 1, and which layer it is; its faces as heights above the holder, mm.

    The saw runs below `from_height`, but where nothing is held the last slice is what is left, to be trued to there.
    """

    order: int
    layer: int
    from_height: float
    to_height: float


def sawing_order(ring: Ring, *, thickness: float, shop: ShopSettings) -> tuple[Cut, ...]:
    """The slices of a thick ring from the top down, in the order they are sawn.

    The lowest layer is on top and sawn first: what the stack needs next comes off next. A slice is a layer and what
    is sanded off it; a kerf is below each, but not below the last where nothing is held.
    Shape: `thickness` of the ring's layers, mm. Errors: none.
    """
    top, each = ring.height - shop.flatten, thickness + shop.slice_sanding
    cuts = []
    for order, layer in enumerate(ring.layers, 1):
        cuts.append(Cut(order=order, layer=layer, from_height=top - each, to_height=top))
        top -= each + shop.slice_kerf
    return tuple(cuts)


def draw_sawing_order(
    ring: Ring,
    *,
    thickness: float,
    shop: ShopSettings,
    colours: Mapping[str, str],
    title: str = "",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    text: float = 4.0,
    prefix: str = "dw-sawing",
    full_size: bool = False,
) -> str:
    """One thick ring from the side as it stands on its holder, segment 1 to the front, with its slices and kerfs.

    Shape: an SVG element whose user unit is 1 mm, the axis at x = 0, the holder's face at y = 0. `colours` is #rrggbb
        by wood key; `text` the height of figures in hundredths of the ring's width.
    Errors: none. A wood with no colour is grey.
    """
    size = 2 * ring.corner_radius / 100
    pen = Pen(size=size, text=text * size, unit=unit, inches=inches)
    cuts = sawing_order(ring, thickness=thickness, shop=shop)
    reach, below = _half_width(ring), 2.2 * size
    names, right, above, lowest = brackets(
        pen, _notes(cuts, shop, pen), x=reach + 2.5 * size, room=_LABELS_TALL * 2 * reach
    )
    dimension = max(below, lowest) + 5.5 * size
    parts = [
        _wood(ring, colours, pen.line),
        _waste(ring, cuts, shop, pen.line),
        _holder(ring, pen),
        _witness(ring, pen),
        names,
        along(
            pen,
            x=-reach - 5 * size,
            upper=-ring.height,
            lower=0.0,
            starts=(-reach, -reach),
            value=ring.height,
        ),
        across(pen, radius=reach, y=dimension, start=below, name="width", sign=""),
    ]
    left, top = -reach - 5 * size - 1.6 * pen.text, min(-ring.height, above) - 2 * size
    return document(
        *parts,
        box=(left, top, right + 2 * size - left, dimension + 2 * size - top),
        title=title or f"Sawing ring {ring.number}",
        description=_described(ring, cuts, shop, pen),
        prefix=prefix,
        full_size=full_size,
    )


def _notes(cuts: Sequence[Cut], shop: ShopSettings, pen: Pen) -> list[Note]:
    notes = [
        Note(
            upper=-cut.to_height,
            lower=-cut.from_height,
            name=f"{cut.order}: layer {cut.layer}",
            detail=f"at {pen.length(cut.from_height)}" if _is_sawn(cut, cuts, shop) else "what is left",
        )
        for cut in cuts
    ]
    if shop.slice_hold > 0:
        notes.append(Note(upper=-shop.slice_hold, lower=0.0, name="held", detail=pen.length(shop.slice_hold)))
    return notes


def _half_angle(ring: Ring) -> float:
    return pi * (1 - ring.gap) / ring.segments


def _flats(ring: Ring) -> list[tuple[int, float, float]]:
    """The flats that face the viewer: the segment, from 0, and where its left and right edges stand."""
    half, pitch = _half_angle(ring), 2 * pi / ring.segments
    return [
        (
            place,
            ring.corner_radius * sin(place * pitch - half),
            ring.corner_radius * sin(place * pitch + half),
        )
        for place in range(ring.segments)
        if cos(place * pitch) >= 1e-9
    ]


def _half_width(ring: Ring) -> float:
    """How far the outline reaches from the axis, as seen from the front."""
    return max(right for _, _, right in _flats(ring))


def _wood(ring: Ring, colours: Mapping[str, str], line: float) -> str:
    """The flats over the whole height as glued."""
    paths = []
    for place, left, right in _flats(ring):
        colour = wood_colour(colours.get(ring.pattern[place]))
        paths.append(
            element(
                "path",
                d=outline((left, right, right, left), (0.0, 0.0, -ring.height, -ring.height)),
                fill=colour,
                stroke=joint_colour(colour),
                stroke_opacity=0.5,
                stroke_width=number(line, 4),
                data_segment=place + 1,
            )
        )
    return element("g", *paths, class_="dw-wood")


def _waste(ring: Ring, cuts: Sequence[Cut], shop: ShopSettings, line: float) -> str:
    """What the saw and the truing take: kerfs light between dark edges, so that they show on any wood."""
    kerfs = [
        (cut.from_height - shop.slice_kerf, cut.from_height) for cut in cuts if _is_sawn(cut, cuts, shop)
    ]
    trued = [(ring.height - shop.flatten, ring.height)]
    if shop.slice_hold <= 0:
        trued.append((0.0, shop.flatten))
    return "".join(
        element(
            "path",
            d="".join(
                outline((left, right, right, left), (-lower, -lower, -upper, -upper))
                for _, left, right in _flats(ring)
            ),
            fill=fill,
            fill_opacity=opacity,
            stroke=INK,
            stroke_width=line,
            class_=name,
        )
        for name, fill, opacity, spans in (("dw-kerf", PAPER, 1.0, kerfs), ("dw-trued", INK, 0.3, trued))
        for lower, upper in spans
        if upper > lower
    )


def _is_sawn(cut: Cut, cuts: Sequence[Cut], shop: ShopSettings) -> bool:
    """Whether there is a kerf below: always, but below the last slice where nothing is held."""
    return shop.slice_hold > 0 or cut is not cuts[-1]


def _holder(ring: Ring, pen: Pen) -> str:
    """The holder's face under the ring."""
    half = _half_width(ring) + 2 * pen.size
    return element(
        "rect",
        x=-half,
        y=0.0,
        width=2 * half,
        height=2.2 * pen.size,
        fill="currentColor",
        fill_opacity=0.25,
        class_="dw-holder",
    )


def _witness(ring: Ring, pen: Pen) -> str:
    """One slanted line across segment 1 over the whole height, light about dark so that it shows on any wood."""
    end = _SLANT * 2 * ring.corner_radius * sin(_half_angle(ring))
    d = f"M{number(-end)},{number(-ring.height)}L{number(end)},0"
    lines = [
        element("path", d=d, fill="none", stroke=colour, stroke_width=width * pen.line, class_=name)
        for colour, width, name in ((PAPER, 9.0, None), (INK, 4.5, "dw-witness"))
    ]
    return "".join(lines)


def _described(ring: Ring, cuts: Sequence[Cut], shop: ShopSettings, pen: Pen) -> str:
    def length(mm: float) -> str:
        return f"{format_length(mm, unit=pen.unit, inches=pen.inches)} {pen.unit}"

    slices = "; ".join(f"{cut.order} layer {cut.layer}" for cut in cuts)
    held = (
        f"The lowest {length(shop.slice_hold)} is held and not used."
        if shop.slice_hold > 0
        else "Nothing is held."
    )
    return (
        f"Thick ring {ring.number} from the side, {length(ring.height)} tall as glued, segment 1 to the front. "
        f"From the top, in the order of sawing: {slices}. {held} {KEEP_ORDER}"
    )
