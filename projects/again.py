"""A design, a template or a finished piece made again, otherwise: what the new design would be, before it is saved.

Where it begins is a `Start`: the design as it is now, or the piece as its client agreed to it, from the frozen sheet.
What is other is `Asked`. Size changes all over, by one factor: heights, radii, wall and bores alike, while allowances,
glue lines, veneers and what the jaws hold stay. The layers follow by their thickness, or by their number.
"""

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any, Literal

from projects import models
from projects.agreed import agreed_piece, difference_words
from projects.design_differs import differences, fingerprint
from projects.estimates import PartRecords, estimate_data, parts_of, sheet_data, workshop_of
from projects.from_sheet import design_from_sheet
from projects.models.bands import Made
from projects.options import copied, scale, swap
from projects.quote_state import acceptances, agreed_estimate
from projects.wording import said_length

if TYPE_CHECKING:
    from estimating.estimate import Estimate

Keep = Literal["count", "thickness"]

CHANGES: dict[str, Literal["thickness", "nothing"]] = {
    Made.STAVES: "thickness",
    Made.SOLID: "thickness",
    Made.VENEER: "nothing",
}
"""What of a band may change where its layers are fitted to another height; of the others both."""


@dataclass(frozen=True, slots=True)
class Then:
    """What one piece was priced at, and by what: `words` such as "quote 2026-004, accepted"."""

    price: Decimal
    currency: str
    words: str


@dataclass(frozen=True, slots=True)
class Start:
    """What is made again: `design` with its parts, saved or read from a frozen sheet; `words` say which it is.

    `origin` is the saved design that it was frozen from, where that is known.
    """

    design: models.Design
    parts: Sequence[PartRecords]
    then: Then | None
    words: str
    origin: models.Design | None = None

    @property
    def woods(self) -> list[str]:
        """The keys of its woods, each once, bottom up; those in laminated segments last."""
        keys = [key for one in self.parts for band in one.bands for key in (*band.segment_woods, band.plug)]
        own = [key for key in keys if key and key not in self.design.laminates]
        return list(dict.fromkeys([*own, *sorted(self.design.laminated_woods)]))


@dataclass(frozen=True, slots=True)
class Asked:
    """What is other. At most one of `factor`, `height` and `diameter` (mm, of the whole piece) says the size."""

    factor: float | None = None
    height: float | None = None
    diameter: float | None = None
    keep: Keep = "count"
    woods: Mapping[str, str] = field(default_factory=dict)
    quantity: int | None = None

    def factor_from(self, *, height: float, diameter: float) -> float:
        """By how much a piece of this height and diameter is scaled.

        Errors: InvalidInput at `size` where more than one measure is given.
        """
        from estimating.errors import InvalidInput

        ways = {"factor": self.factor, "height": self.height, "diameter": self.diameter}
        given = [name for name, value in ways.items() if value is not None]
        if len(given) > 1:
            raise InvalidInput("size", f"is given by {' and '.join(given)}: give one of them")
        if self.height is not None:
            return self.height / height
        return self.diameter / diameter if self.diameter is not None else self.factor or 1.0


@dataclass(frozen=True, slots=True)
class Again:
    """The piece as it was and as it would be, both at today's rates; `differs` says in words what is other.

    `design` and `parts` are not saved. `mark` is the fingerprint of the new piece: what is made
    is what was shown. `gone` are woods no longer on the shelf, each with the one that stands for it in `before` too.
    """

    start: Start
    before: "Estimate"
    after: "Estimate"
    design: models.Design
    parts: list[PartRecords]
    factor: float
    differs: tuple[str, ...]
    gone: tuple[tuple[str, str], ...]
    mark: str


# Where it begins


def start_of_design(design: models.Design) -> Start:
    """A design or a template as it is now."""
    return Start(design, parts_of(design), _then(design.commissions.all()), "the design as it is now")


def starts_of_piece(record: models.PieceRecord) -> dict[str, Start]:
    """What a finished piece may be made from: `agreed`, as its client agreed to it, and `design`, as that is now.

    Only the design where both are the same piece; empty where there is neither any more.
    """
    job = record.commission
    then = _then([job] if job else []) or _asked_for(record)
    starts: dict[str, Start] = {}
    if job is not None and (agreed := agreed_piece(job)) is not None:
        design, parts = design_from_sheet(agreed.sheet, studio=record.studio, title=record.title)
        starts["agreed"] = Start(design, parts, then, agreed.words, record.design or job.design)
    if record.design is not None:
        now = Start(record.design, parts_of(record.design), then, "the design as it is now")
        if "agreed" in starts and _mark(starts["agreed"]) == _mark(now):
            del starts["agreed"]
        starts["design"] = now
    return starts


def _mark(start: Start) -> str:
    """One piece's, however many were made and whatever it was finished with."""
    data = sheet_data(start.design, parts=start.parts, boards=())
    return fingerprint({**data, "quantity": 1, "finish": {}})


def _then(commissions: Iterable[models.Commission]) -> Then | None:
    """By the last quote that was accepted."""
    found = max(acceptances(commissions, "quote", "option").values(), key=lambda one: one.at, default=None)
    if found is None:
        return None
    estimate = agreed_estimate(found)
    price, pieces = estimate["price"], int(estimate.get("quantity") or 1)
    return Then(
        _each(Decimal(price["retail"]), pieces), price["currency"], f"quote {found.quote.reference}, accepted"
    )


def _asked_for(record: models.PieceRecord) -> Then | None:
    if record.price is None:
        return None
    return Then(record.price, record.currency, f"as the log has it for {record.serial}")


def _each(price: Decimal, pieces: int) -> Decimal:
    return (price / pieces).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)


# What it would be


def worked_out(start: Start, asked: Asked, *, commission: models.Commission | None = None) -> Again:
    """The piece as it was and made again, for a commission's client and terms where one is given, saved or not.

    Errors: estimating.errors.InvalidInput for what is no size; InvalidSheet where either cannot be made, and why.
    """
    studio = start.design.studio
    woods = dict(models.Wood.objects.for_studio(studio).values_list("key", "name"))
    gone = {key: by for key, by in asked.woods.items() if key not in woods}
    # What is no longer on the shelf has no price today: the wood chosen for it stands in its place from the outset.
    stood, stood_parts = _swapped(start, gone)
    before = sheet_data(stood, commission=commission, parts=stood_parts)
    _, as_it_was = estimate_data(before, studio=studio)
    factor = asked.factor_from(height=as_it_was.height, diameter=as_it_was.largest_diameter)
    design, parts = made_again(start, asked, factor=factor, before=before)
    after = sheet_data(design, commission=commission, parts=parts)
    found = differences(sheet_data(start.design, commission=commission, parts=start.parts, boards=()), after)
    return Again(
        start=start,
        before=as_it_was,
        after=estimate_data(after, studio=studio)[1],
        design=design,
        parts=parts,
        factor=factor,
        differs=(
            *_size_words(as_it_was, factor, studio),
            *(difference_words(one, studio=studio, woods=woods) for one in found),
        ),
        gone=tuple((key.replace("_", " "), woods[by]) for key, by in gone.items()),
        mark=fingerprint(after),
    )


def _swapped(start: Start, by: Mapping[str, str]) -> tuple[models.Design, list[PartRecords]]:
    design, parts = copy(start.design), [copied(one) for one in start.parts]
    swap(design, parts, by=by)
    return design, parts


def _size_words(was: "Estimate", factor: float, studio: models.Studio) -> list[str]:
    if factor == 1.0:
        return []
    measures = {"height": was.height, "largest diameter": was.largest_diameter}
    said = [
        f"{name} {said_length(round(mm, 2), studio)}, now {said_length(round(mm * factor, 2), studio)} "
        f"{studio.length_unit}"
        for name, mm in measures.items()
    ]
    return [f"size all over: {factor * 100:.4g} % ({'; '.join(said)})"]


def made_again(
    start: Start, asked: Asked, *, factor: float, before: Mapping[str, Any]
) -> tuple[models.Design, list[PartRecords]]:
    """The records of the new design, unsaved; lengths are rounded to the micron that records hold.

    `before` is the sheet of where it begins. Errors: as `worked_out`.
    """
    design, parts = _swapped(start, asked.woods)
    if factor != 1.0:
        thick = [[band.thickness for band in one.bands] for one in parts]
        scale(parts, factor, dict(before), studio=design.studio)
        if asked.keep == "thickness":
            _keep_thickness(parts, thick, before, factor=factor, studio=design.studio)
    if asked.quantity is not None:
        design.quantity = asked.quantity
    return design, parts


def _keep_thickness(
    parts: Sequence[PartRecords],
    thick: Sequence[Sequence[Decimal]],
    before: Mapping[str, Any],
    *,
    factor: float,
    studio: models.Studio,
) -> None:
    """Layers as thick as they were, as many as the new height takes with the wood left on it."""
    from estimating.sheet import read_sheet

    sheet = read_sheet(before, workshop=workshop_of(studio))
    for record, part, thicknesses in zip(parts, sheet.parts, thick, strict=True):
        outer, left = part.form.outer, part.allowance.top + part.allowance.bottom
        target = (outer[-1][0] - outer[0][0]) * factor + left
        _refit(record.bands, thicknesses, target=target, bond_line=sheet.shop.bond_line)


def _refit(
    bands: Sequence[models.Band], thick: Sequence[Decimal], *, target: float, bond_line: float
) -> None:
    from estimating.shape.resize import BandHeight, refit_layers

    heights = [
        BandHeight(band.layers, float(mm), CHANGES.get(band.made, "either"))
        for band, mm in zip(bands, thick, strict=True)
    ]
    fitted = refit_layers(heights, target=target, keep="thickness", bond_line=bond_line)
    for band, found in zip(bands, fitted, strict=True):
        band.thickness, band.layers = Decimal(repr(found.thickness)), found.layers
        if band.chart:
            # A row for each layer: begun again, or cut short.
            rows = band.chart["rows"]
            more = [rows[layer % len(rows)] for layer in range(band.layers)] if rows else rows
            band.chart = band.chart | {"rows": more}
