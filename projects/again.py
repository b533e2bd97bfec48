"""A design, a template or a finished piece made again, otherwise: what the new design would be, before it is saved.

Where it begins is a `Start`: the design as it is now, or the piece as its client agreed to it, from the frozen sheet.
What is other is `Asked`. `estimating.shape.scaling` says what grows with a size and what stays.
"""

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

from projects import models
from projects.again_price import Reason, Then, between, since_then, then_of
from projects.agreed import agreed_piece, difference_words
from projects.design_differs import differences, fingerprint
from projects.estimates import PartRecords, estimate_data, parts_of, sheet_data
from projects.from_sheet import design_from_sheet
from projects.models.parts import InsideKind
from projects.options import copied, scale, swap
from projects.wording import in_shop_units, said_length

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.shape.scaling import Size

Keep = Literal["count", "thickness"]
Wall = Literal["scale", "keep"]
Turn = Literal["steps", "degrees"]


@dataclass(frozen=True, slots=True)
class Start:
    """What is made again: `design` with its parts, saved or read from a frozen sheet; `words` say which it is.

    `origin` is the saved design that it was frozen from, where that is known; `record` the piece in the log.
    """

    design: models.Design
    parts: Sequence[PartRecords]
    then: Then | None
    words: str
    origin: models.Design | None = None
    record: models.PieceRecord | None = None

    @property
    def woods(self) -> list[str]:
        """The keys of its woods, each once, bottom up; those in laminated segments last."""
        keys = [key for one in self.parts for band in one.bands for key in (*band.segment_woods, band.plug)]
        own = [key for key in keys if key and key not in self.design.laminates]
        return list(dict.fromkeys([*own, *sorted(self.design.laminated_woods)]))

    @property
    def is_hollow(self) -> bool:
        """Whether any part has a wall."""
        return any(one.form.inside != InsideKind.SOLID for one in self.parts)

    @property
    def has_spiral(self) -> bool:
        """Whether the layers of any band go round."""
        from estimating.shape.scaling import is_bond

        return not all(is_bond(band.offsets) for one in self.parts for band in one.bands)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is other. `height` and `diameter` are the whole piece's, mm; `wall`, `keep` and `turn` as `Size` has them.

    One measure, or a `factor`, is for all of it; both measures stretch it.
    """

    factor: float | None = None
    height: float | None = None
    diameter: float | None = None
    wall: Wall = "scale"
    keep: Keep = "count"
    turn: Turn = "steps"
    woods: Mapping[str, str] = field(default_factory=dict)
    quantity: int | None = None

    def size_from(self, *, height: float, diameter: float) -> "Size":
        """By what a piece of this height and diameter is scaled.

        Errors: InvalidInput at `factor` where a measure stands beside it.
        """
        from estimating.errors import InvalidInput
        from estimating.shape.scaling import Size

        taller = None if self.height is None else self.height / height
        wider = None if self.diameter is None else self.diameter / diameter
        if self.factor is not None and (taller or wider):
            raise InvalidInput("factor", "stands beside a height or a diameter: give the one or the other")
        one = next((by for by in (self.factor, taller, wider) if by is not None), 1.0)
        return Size(
            height=one if taller is None else taller,
            radius=one if wider is None else wider,
            wall=self.wall,
            layers=self.keep,
            turn=self.turn,
        )

    def named(self, *names: str) -> "Asked":
        """Of what is asked, what bears these names, and all else as it was."""
        return replace(Asked(), **{name: getattr(self, name) for name in names})


SIZE = ("factor", "height", "diameter", "wall", "keep", "turn")


@dataclass(frozen=True, slots=True)
class Again:
    """The piece as it was and as it would be, both at today's rates. `differs` says in words what is other
    and what followed from it, `details` all of that part by part.

    `design` and `parts` are not saved. `mark` is the fingerprint of the new piece: what is made
    is what was shown. `gone` are woods no longer on the shelf, each with the one that stands for it in `before` too.
    `since` is what made the price of then today's, `apart` what makes today's that of the new piece, by reason.
    """

    start: Start
    before: "Estimate"
    after: "Estimate"
    design: models.Design
    parts: list[PartRecords]
    size: "Size"
    differs: tuple[str, ...]
    details: tuple[str, ...]
    gone: tuple[tuple[str, str], ...]
    mark: str
    since: tuple[Reason, ...] = ()
    apart: tuple[Reason, ...] = ()


# Where it begins


def start_of_design(design: models.Design) -> Start:
    """A design or a template as it is now."""
    return Start(design, parts_of(design), then_of(design.commissions.all()), "the design as it is now")


def starts_of_piece(record: models.PieceRecord) -> dict[str, Start]:
    """What a finished piece may be made from: `agreed`, as its client agreed to it, and `design`, as that is now.

    Only the design where both are the same piece; empty where there is neither any more.
    """
    job = record.commission
    then = then_of([job] if job else [], record=record)
    starts: dict[str, Start] = {}
    if job is not None and (agreed := agreed_piece(job)) is not None:
        design, parts = design_from_sheet(agreed.sheet, studio=record.studio, title=record.title)
        starts["agreed"] = Start(design, parts, then, agreed.words, record.design or job.design, record)
    if record.design is not None:
        now = Start(record.design, parts_of(record.design), then, "the design as it is now", record=record)
        if "agreed" in starts and _mark(starts["agreed"]) == _mark(now):
            del starts["agreed"]
        starts["design"] = now
    return starts


def _mark(start: Start) -> str:
    return _mark_of(sheet_data(start.design, parts=start.parts, boards=()))


def _mark_of(sheet: Mapping[str, Any]) -> str:
    """One piece's, however many were made and whatever it was finished with."""
    return fingerprint({**sheet, "quantity": 1, "finish": {}})


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
    size = asked.size_from(height=as_it_was.height, diameter=as_it_was.largest_diameter)
    design, parts, followed = made_again(start, asked, size=size, before=before)
    after = sheet_data(design, commission=commission, parts=parts)
    found = differences(sheet_data(start.design, commission=commission, parts=start.parts, boards=()), after)
    told = (difference_words(one, studio=studio, woods=woods) for one in found)
    again = Again(
        start=start,
        before=as_it_was,
        after=estimate_data(after, studio=studio)[1],
        design=design,
        parts=parts,
        size=size,
        differs=(
            *_size_words(as_it_was, size, studio),
            *_wood_words(asked.woods, woods),
            *(in_shop_units(note, studio) for note in followed),
        ),
        details=tuple(told),
        gone=tuple((key.replace("_", " "), woods[by]) for key, by in gone.items()),
        mark=fingerprint(after),
    )
    steps = _one_by_one(again, asked, before, gone, commission)
    return replace(again, since=_since(again, before, gone), apart=between(steps))


def _since(again: Again, before: Mapping[str, Any], gone: Mapping[str, str]) -> tuple[Reason, ...]:
    """Nothing where that was another piece, or as many others: a line would then say more than is known."""
    then = again.start.then
    if then is None or gone or not then.sheet or then.pieces != again.before.sheet.quantity:
        return ()
    if _mark_of(then.sheet) != _mark_of(before):
        return ()
    return since_then(then, again.before)


def _one_by_one(
    again: Again,
    asked: Asked,
    before: Mapping[str, Any],
    gone: Mapping[str, str],
    commission: models.Commission | None,
) -> list[tuple[str, "Estimate"]]:
    """The piece as it was, then each thing that is asked changed after the other, the last of them the new piece."""
    from estimating.errors import InvalidInput, InvalidSheet

    there = {
        "size": (SIZE, not again.size.is_none),
        "woods": (("woods",), any(key not in gone for key in asked.woods)),
        "number of pieces": (("quantity",), asked.quantity not in (None, again.start.design.quantity)),
    }
    wanted = [name for name, (_, is_asked) in there.items() if is_asked]
    steps = [("as it was", again.before)]
    taken: tuple[str, ...] = ()
    for name in wanted[:-1]:
        taken += there[name][0]
        so_far = asked.named(*taken)
        if "woods" not in taken:
            so_far = replace(so_far, woods=gone)
        try:
            design, parts, _ = made_again(again.start, so_far, size=again.size, before=before)
            data = sheet_data(design, commission=commission, parts=parts)
            steps.append((name, estimate_data(data, studio=design.studio)[1]))
        except (InvalidInput, InvalidSheet):
            # What cannot be made halfway has no price of its own: the reasons are told together.
            return [("as it was", again.before), (" and ".join(wanted), again.after)]
    return [*steps, (wanted[-1] if wanted else "", again.after)]


def _swapped(start: Start, by: Mapping[str, str]) -> tuple[models.Design, list[PartRecords]]:
    design, parts = copy(start.design), [copied(one) for one in start.parts]
    swap(design, parts, by=by)
    return design, parts


def _size_words(was: "Estimate", size: "Size", studio: models.Studio) -> Iterator[str]:
    if size.is_none:
        return
    measures = (("height", was.height, size.height), ("largest diameter", was.largest_diameter, size.radius))
    said = "; ".join(
        f"{name} {said_length(round(mm, 2), studio)}, now {said_length(round(mm * by, 2), studio)} "
        f"{studio.length_unit}"
        for name, mm, by in measures
    )
    if size.height == size.radius:
        yield f"size all over: {size.height * 100:.4g} % ({said})"
    else:
        yield f"stretched: {size.height * 100:.4g} % of the height, {size.radius * 100:.4g} % across ({said})"


def _wood_words(by: Mapping[str, str], woods: Mapping[str, str]) -> Iterator[str]:
    for key, other in by.items():
        yield f"{woods.get(other, other)} in the place of {woods.get(key, key.replace('_', ' '))}"


def made_again(
    start: Start, asked: Asked, *, size: "Size", before: Mapping[str, Any]
) -> tuple[models.Design, list[PartRecords], tuple[str, ...]]:
    """The records of the new design, unsaved, and what followed from its size, in words of mm.

    `before` is the sheet of where it begins. Lengths are rounded to the micron that records hold.
    Errors: as `worked_out`.
    """
    design, parts = _swapped(start, asked.woods)
    followed = () if size.is_none else scale(design, parts, size, before)
    if asked.quantity is not None:
        design.quantity = asked.quantity
    return design, parts, followed
