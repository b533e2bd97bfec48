"""Tools of a typed part that need the arithmetic: layers laid between heights, a new size, a profile from a file."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from estimating.errors import InvalidInput
from estimating.piece import FormSheet, Inside
from projects.models import Studio
from projects.models.bands import Made
from projects.models.parts import Curve, Held, InsideKind
from projects.pages.bands import Refused, charted, cut_at, layers_of
from projects.pages.draft import BandText, Draft, PartText, PointText, saved_points
from projects.pages.fields import typed_length
from projects.pages.reader import Reader
from projects.wording import in_shop_units

Errors = dict[str, list[str]]
LARGEST_FILE = 900_000


def _sentence(reason: str, studio: Studio) -> str:
    words = in_shop_units(reason, studio)
    words = f"This {words}" if not words[:1].isupper() else words
    return words if words.endswith((".", "?")) else f"{words}."


@dataclass
class Stacked:
    """What of a typed part the tools go by, mm: where its stack begins, where it should end, and its layers."""

    bottom: float
    top: float
    bond: float
    height: float
    diameter: float
    thicknesses: list[float]

    @property
    def target(self) -> float:
        """How tall the stack has to be."""
        return self.top - self.bottom


def stacked(name: str, part: PartText, reader: Reader) -> Stacked | None:
    """A part's measures; None, with the errors in the reader, where one cannot be read."""
    points = [
        (reader.length(f"{name}-outer-{row}-height", point.height), reader.length("", point.diameter))
        for row, point in enumerate(part.outer)
        if not point.is_blank
    ]
    below, above = (
        _bottom(name, part, reader),
        reader.length(f"{name}-allowance_top", part.texts["allowance_top"]),
    )
    thick = [
        reader.thickness(f"{name}-bands-{number}-thickness", band.thickness)
        for number, band in enumerate(part.bands)
    ]
    measured = [(height, width) for height, width in points if height is not None and width is not None]
    if reader.errors or below is None or above is None or len(measured) < 2:
        return None
    bottom, top = measured[0][0], measured[-1][0]
    return Stacked(
        bottom=bottom - below,
        top=top + above,
        bond=float(reader.studio.shop.bond_line),
        height=top - bottom,
        diameter=max(width for _, width in measured),
        thicknesses=[mm or 0.0 for mm in thick],
    )


def _bottom(name: str, part: PartText, reader: Reader) -> float | None:
    """The wood below the foot: what is given, or what the hold takes."""
    keys = {Held.TENON: ("held_depth", "held_parting"), Held.WASTE_BLOCK: ("held_parting",), Held.RECESS: ()}
    held = part.texts["held"]
    asked = keys.get(Held(held), ("allowance_bottom",)) if held in Held.values else ("allowance_bottom",)
    found = [reader.length(f"{name}-{key}", part.texts[key]) for key in asked]
    return None if None in found else sum(mm for mm in found if mm is not None)


# ---- layers between two heights


def lay(draft: Draft, index: int, *, studio: Studio) -> Errors:
    """Replace the layers between two heights by a band that fills them; what cannot be comes back by field."""
    name, part = f"parts-{index}", draft.parts[index]
    errors: Errors = {}
    reader, tools = Reader(studio, errors), part.tools
    lower, upper = (reader.length(f"{name}-{key}", tools[key]) for key in ("lay_from", "lay_to"))
    thickness = reader.thickness(f"{name}-lay_thickness", tools["lay_thickness"])
    segments = reader.whole(f"{name}-lay_segments", tools["lay_segments"])
    woods = tuple(key for key in (tools["lay_wood"], tools["lay_wood_2"]) if key)
    if not woods:
        reader.refuse(f"{name}-lay_wood", "Choose at least one wood.")
    piece = stacked(name, part, reader)
    if errors or piece is None or lower is None or upper is None or thickness is None:
        return errors or {f"{name}-outer": ["Give the outside two points at least first."]}
    if upper <= lower:
        return {f"{name}-lay_to": ["Must be above the height it starts from."]}
    band = BandText(segments=str(segments), woods=woods, plug=woods[0])
    try:
        part.bands = _laid(part.bands, piece, band, span=(lower, upper), thickness=thickness, studio=studio)
    except Refused as refusal:
        return {f"{name}-bands": [str(refusal)]}
    except InvalidInput as refusal:
        field = {"thickness": "lay_thickness", "upper": "lay_to"}.get(refusal.place, "lay_from")
        return {f"{name}-{field}": [_sentence(refusal.reason, studio)]}
    return {}


def _laid(
    bands: Sequence[BandText],
    piece: Stacked,
    band: BandText,
    *,
    span: tuple[float, float],
    thickness: float,
    studio: Studio,
) -> list[BandText]:
    """The bands with a new one in place of every layer whose middle lies in the span.

    The stack's own ends are the ends of the first and the last room there is: where the span reaches to the top of
    the form, the new layers go on to the top of the allowance above it.
    """
    from estimating.shape.resize import lay_between  # brings numpy, which most pages do without

    below, above, bottom, top = _around(bands, piece, span)
    laid = lay_between(lower=bottom, upper=top, thickness=thickness, bond_line=piece.bond)
    written = typed_length(laid.exact_thickness, studio)
    return [*below, replace(band, layers=str(laid.count), thickness=written), *above]


def _around(
    bands: Sequence[BandText], piece: Stacked, span: tuple[float, float]
) -> tuple[list[BandText], list[BandText], float, float]:
    """The bands below and above a span, cut where it cuts them, and the heights between that are to be filled."""
    lower, upper = span
    below: list[BandText] = []
    above: list[BandText] = []
    bottom, top, at = piece.bottom, piece.top, piece.bottom
    for band, thick in zip(bands, piece.thicknesses, strict=True):
        count = layers_of(band)
        starts = [at + layer * (thick + piece.bond) for layer in range(count)]
        under = sum(start + thick / 2 < lower for start in starts)
        over = sum(start + thick / 2 > upper for start in starts)
        if under:
            below.append(cut_at(band, under)[0] if under < count else band)
            bottom = starts[under - 1] + thick + piece.bond
        if over:
            if not above:
                top = starts[count - over] - piece.bond
            above.append(cut_at(band, count - over)[1] if over < count else band)
        at = starts[-1] + thick + piece.bond
    return below, above, bottom, top


# ---- a new size


def resize(draft: Draft, index: int, *, studio: Studio) -> Errors:
    """Scale a part to a height, a diameter or both, with its wall kept or scaled, and fit its layers to it."""
    name, part = f"parts-{index}", draft.parts[index]
    errors: Errors = {}
    reader, tools = Reader(studio, errors), part.tools
    wanted = {
        key: reader.thickness(f"{name}-size_{key}", tools[f"size_{key}"])
        for key in ("height", "diameter")
        if tools[f"size_{key}"].strip()
    }
    if not wanted:
        reader.refuse(f"{name}-size_height", "Give a new height, a new diameter or both.")
    piece = stacked(name, part, reader)
    if errors or piece is None:
        return errors or {f"{name}-outer": ["Give the outside two points at least first."]}
    if not (piece.height > 0 and piece.diameter > 0):
        return {f"{name}-outer": ["The outside has no height or no width to scale."]}
    factors = (
        (wanted.get("height") or piece.height) / piece.height,
        (wanted.get("diameter") or piece.diameter) / piece.diameter,
    )
    try:
        sized = _sized(part, factors, piece, studio=studio)
    except Refused as refusal:
        return {f"{name}-bands": [str(refusal)]}
    except InvalidInput as refusal:
        return {f"{name}-size_height": [_sentence(refusal.reason, studio)]}
    draft.parts[index] = sized
    return {}


def _sized(part: PartText, factors: tuple[float, float], piece: Stacked, *, studio: Studio) -> PartText:
    height, radius = factors
    length = _writer(studio)
    texts = dict(part.texts)
    texts["close_at"] = ", ".join(_scaled(text.strip(), height, studio) for text in _parts(texts["close_at"]))
    if part.tools["size_wall"] == "scale":
        texts |= {
            "wall": _scaled(texts["wall"], radius, studio),
            "floor": _scaled(texts["floor"], height, studio),
        }
    outer = [_scaled_point(point, height, radius, studio) for point in part.outer]
    sized = replace(part, texts=texts, outer=outer, inner=_inner(part, outer, factors, studio=studio))
    allowances = piece.target - piece.height
    return replace(sized, bands=_refitted(part, piece, piece.height * height + allowances, length))


def _parts(text: str) -> list[str]:
    return [one for one in text.replace(";", ",").split(",") if one.strip()]


def _writer(studio: Studio) -> Callable[[Any], str]:
    return lambda mm: typed_length(mm, studio)


def _scaled(text: str, factor: float, studio: Studio) -> str:
    """A length as typed, scaled; what cannot be read stays as it is."""
    mm = Reader(studio, {}).length("", text)
    return text if mm is None else typed_length(mm * factor, studio)


def _scaled_point(point: PointText, height: float, radius: float, studio: Studio) -> PointText:
    return PointText(
        _scaled(point.height, height, studio), _scaled(point.diameter, radius, studio), point.corner
    )


def _inner(
    part: PartText, outer: Sequence[PointText], factors: tuple[float, float], *, studio: Studio
) -> list[PointText]:
    """The points of the inside at the new size: scaled likewise, or as far from the outside as they were.

    A kept wall is the wood between the curves across the axis, and the floor's height.
    """
    height, radius = factors
    if part.tools["size_wall"] == "scale" or part.texts["inside"] != InsideKind.CURVE or not part.inner:
        return [_scaled_point(point, height, radius, studio) for point in part.inner]
    from estimating.shape.scaling import kept_wall

    before, after = (_read_points(points, studio) for points in (part.outer, outer))
    inner = _read_points(part.inner, studio)
    if len(inner) < 2 or len(before) < 2:
        return list(part.inner)
    smooth = part.texts["curve"] == Curve.SMOOTH
    old, new = (_form(points, inner, smooth=smooth) for points in (before, after))
    moved = [[*point, *was[2:]] for point, was in zip(kept_wall(old, new), inner, strict=True)]
    return saved_points(moved, _writer(studio))


def _read_points(points: Sequence[PointText], studio: Studio) -> list[list[Any]]:
    reader = Reader(studio, {})
    found = []
    for point in points:
        at, width = reader.length("", point.height), reader.length("", point.diameter)
        if at is not None and width is not None:
            found.append([at, width / 2, *(["corner"] if point.corner else [])])
    return found


def _form(outer: Sequence[Sequence[Any]], inner: Sequence[Sequence[Any]], *, smooth: bool) -> FormSheet:
    if any(after[0] <= before[0] for before, after in pairwise(outer)):
        raise InvalidInput("outer", "The outside's heights must rise before it can be scaled")
    return FormSheet(
        outer=tuple((point[0], point[1]) for point in outer),
        curve="smooth" if smooth else "straight",
        inside=Inside(kind="curve", inner=tuple((point[0], point[1]) for point in inner)),
        corners=tuple(number for number, point in enumerate(outer) if len(point) > 2),
    )


def _refitted(part: PartText, piece: Stacked, target: float, length: Callable[[Any], str]) -> list[BandText]:
    """The bands fitted to a stack of so many mm, by the count of their layers or by their thickness."""
    from estimating.shape.resize import BandHeight, refit_layers
    from estimating.shape.scaling import CHANGES

    keep = part.tools["size_layers"]
    if keep not in ("thickness", "count") or not part.bands:
        return list(part.bands)
    counts = [1 if band.made == Made.STAVES else layers_of(band) for band in part.bands]
    heights = [
        BandHeight(count, thick, CHANGES.get(band.made, "either"))
        for band, count, thick in zip(part.bands, counts, piece.thicknesses, strict=True)
    ]
    fitted = refit_layers(
        heights, target=target, keep="count" if keep == "count" else "thickness", bond_line=piece.bond
    )
    return [
        _fitted(band, old, new, length) for band, old, new in zip(part.bands, heights, fitted, strict=True)
    ]


def _fitted(band: BandText, old: Any, new: Any, length: Callable[[Any], str]) -> BandText:
    """A band of other layers; what does not change stays as it was typed."""
    if new.layers != old.layers:
        band = replace(charted(band, new.layers), layers=str(new.layers))
    return band if new.thickness == old.thickness else replace(band, thickness=length(new.thickness))


# ---- a profile from a file


def take_profile(draft: Draft, index: int, file: UploadedFile | None, *, studio: Studio) -> Errors:
    """Put the curves of a file in place of a part's; a file that is no profile is refused with its reason."""
    from estimating.profile.reading import read_profile

    name, part = f"parts-{index}-profile", draft.parts[index]
    if file is None:
        return {name: ["Choose a file first: SVG, DXF or CSV."]}
    if (file.size or 0) > LARGEST_FILE:
        return {name: [f"The file is larger than {LARGEST_FILE // 1000} kB, more than a profile needs."]}
    try:
        profile = read_profile(file.read(), file.name or "", unit=studio.length_unit)  # type: ignore[arg-type]
    except InvalidInput as refusal:
        where = refusal.place.removeprefix("file").lstrip(": ")
        reason = in_shop_units(refusal.reason, studio)
        return {name: [f"{where[:1].upper()}{where[1:]}: {reason}." if where else f"The file {reason}."]}
    length = _writer(studio)
    part.outer = saved_points([_point(point) for point in profile.outer], length)
    part.texts["curve"] = Curve.SMOOTH
    if profile.inner:
        part.inner = saved_points([_point(point) for point in profile.inner], length)
        part.texts["inside"] = InsideKind.CURVE
    draft.notes = [in_shop_units(note, studio) for note in profile.notes]
    return {}


def _point(point: Any) -> list[Any]:
    return [round(point.height, 3), round(point.radius, 4), *(["corner"] if point.corner else [])]
