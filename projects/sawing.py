"""From commissions to one sawing plan: what each asks of the saw, which boards may be sawn, and what has changed."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db.models import Sum

from projects import models
from projects.estimates import sheet_data, workshop_of
from projects.models.commissions import Stage
from projects.rack_data import rack_of

if TYPE_CHECKING:
    from estimating.piece import Board, Sheet, ShopSettings, UsualBoard
    from estimating.sawing import SawingJob, SawingPlan
    from estimating.shape.rings import Ring
    from estimating.wood.needs import LaminateCuts, Needs

SAWN_STAGES = (Stage.AGREED, Stage.MAKING)
"""Commissions in these stages are to be sawn for."""

NOT_SAWING = frozenset(
    [
        *("film", "mix_ratio", "pot_life_min", "pot_life_at_c", "squeeze_out", "mix_loss_ml", "cup_ml"),
        *("cup_mark_ml", "coat_stack_min", "coat_joint_min", "working_share", "temperature_c"),
        *("layers_per_glue_up", "end_grain_factor", "centring_error", "height_tolerance", "min_wall"),
        *("ring_joining", "half_true", "join_true", "coat_margin", "mandrel_diameter", "mandrel_clearance"),
        *("clamp_force_n", "clamp_spacing", "ring_clamps"),
        *("open_contact", "hollowing_reach", "lathe_swing", "lathe_length", "lathe_load_kg"),
    ]
)
"""Settings that no plan asks after; the strips asked for have in them what stacking and gluing ask."""


@dataclass(frozen=True)
class Inputs:
    """All that a plan is made from. `marks` has a short mark for each thing in it, by its name: `job 3`, `board 12`.

    A board's mark ends in how many of it may be sawn.
    """

    jobs: "tuple[SawingJob, ...]"
    commissions: tuple[int, ...]
    boards: "tuple[Board, ...]"
    usual: "UsualBoard"
    prices: Mapping[str, Decimal]
    shop: "ShopSettings"
    whole_boards: bool
    marks: Mapping[str, str]

    def planned(self, *, effort: int) -> "SawingPlan":
        """The plan at an effort. Errors: ValidationError that names the commissions that cannot be planned."""
        from estimating.errors import InvalidInput, InvalidSheet

        try:
            return self._planned(self.jobs, effort)
        except (InvalidInput, InvalidSheet) as refusal:
            raise ValidationError(self._refused(refusal)) from refusal

    def _planned(self, jobs: "Sequence[SawingJob]", effort: int) -> "SawingPlan":
        from estimating.sawing import plan_sawing

        return plan_sawing(
            jobs,
            boards=self.boards,
            usual=self.usual,
            price_per_mm3=self.prices,
            shop=self.shop,
            whole_boards=self.whole_boards,
            effort=effort,
        )

    def _refused(self, refusal: Exception) -> list[str]:
        """Each commission that cannot be planned by itself either; else what is wrong with all of them."""
        from estimating.errors import InvalidInput, InvalidSheet

        words = []
        for job in self.jobs:
            try:
                self._planned([job], 0)
            except (InvalidInput, InvalidSheet) as own:
                words += refusal_words(job.label, own)
        return words or refusal_words("", refusal)


def refusal_words(title: str, refusal: Exception) -> list[str]:
    """What the arithmetic refuses, in sentences that name the commission."""
    errors = getattr(refusal, "errors", None) or [refusal]
    named = f"{title}: " if title else ""
    return [f"{named}{getattr(error, 'place', '')}: {getattr(error, 'reason', error)}." for error in errors]


def inputs_of(studio: models.Studio, commissions: Iterable[models.Commission]) -> Inputs:
    """What a plan for these commissions would be made from now.

    Errors: ValidationError for none, for one without a design, and for designs that cannot be worked out.
    """
    from estimating.piece import Board

    chosen = list(commissions)
    _refuse_undrawn(chosen)
    workshop = workshop_of(studio)
    sheets = _sheets(chosen, workshop)
    jobs = tuple(_job(commission, sheet) for commission, sheet in zip(chosen, sheets, strict=True))
    woods = sorted({need.wood for job in jobs for need in job.needs.strips})
    boards = tuple(Board(**row) for row in _rack(studio, woods, chosen))
    usual, shop = sheets[0].usual_board, sheets[0].shop
    prices = {wood: usual.price_of(workshop.woods[wood].price_per_m3) / 10**9 for wood in woods}
    keys = tuple(commission.pk for commission in chosen)
    settings = {key: value for key, value in asdict(shop).items() if key not in NOT_SAWING}
    whole = sheets[0].pricing.whole_boards
    marks = {f"job {key}": _mark(job.needs.strips) for key, job in zip(keys, jobs, strict=True)}
    marks |= {"settings": _mark((sorted(settings.items()), usual, whole))}
    marks |= {f"price {wood}": _mark(price) for wood, price in prices.items()}
    return Inputs(jobs, keys, boards, usual, prices, shop, whole, marks | board_marks(boards))


def board_marks(boards: "Iterable[Board]") -> dict[str, str]:
    """A mark for each board of the rack, with how many of it may be sawn."""
    return {f"board {board.ref}": f"{_mark(_as_it_lies(board))}:{board.count}" for board in boards}


def _as_it_lies(board: "Board") -> tuple[Any, ...]:
    return board.wood, board.length, board.width, board.thickness, board.price, board.defects, board.surface


def _mark(value: Any) -> str:
    return hashlib.sha256(repr(value).encode()).hexdigest()[:16]


def _refuse_undrawn(chosen: Sequence[models.Commission]) -> None:
    if not chosen:
        raise ValidationError({"commissions": "Choose at least one commission."})
    undrawn = [f"{one} has no design yet." for one in chosen if one.design is None]
    if undrawn:
        raise ValidationError({"commissions": undrawn})


def _sheets(chosen: Sequence[models.Commission], workshop: Any) -> "list[Sheet]":
    from estimating.errors import InvalidSheet
    from estimating.sheet import read_sheet

    sheets, wrong = [], []
    for commission in chosen:
        assert commission.design is not None, "refused before"
        try:
            data = sheet_data(commission.design, commission=commission, boards=())
            sheets.append(read_sheet(data, workshop=workshop))
        except InvalidSheet as refusal:
            wrong += refusal_words(commission.title, refusal)
    if wrong:
        raise ValidationError({"commissions": wrong})
    return sheets


@dataclass(frozen=True)
class JoinedRings:
    """The rings of several jobs numbered through all of them, as their plan has them; and how often each is made."""

    rings: "tuple[Ring, ...]"
    pieces: Mapping[int, int]
    needs: "Needs"


def joined_rings(
    studio: models.Studio, commissions: Iterable[models.Commission], plan: "SawingPlan"
) -> JoinedRings:
    """The rings that a plan was made for, from the designs as they are now.

    Errors: ValidationError where a design is gone, cannot be worked out, or asks for other strips than it did.
    """
    from estimating.shape.build import build_shapes
    from estimating.wood.needs import Needs

    chosen = list(commissions)
    _refuse_undrawn(chosen)
    rings: list[Ring] = []
    pieces: dict[int, int] = {}
    laminated: list[LaminateCuts] = []
    for at, (commission, sheet) in enumerate(zip(chosen, _sheets(chosen, workshop_of(studio)), strict=True)):
        job = _job(commission, sheet)
        if at >= len(plan.jobs) or _mark(job.needs.strips) != _mark(plan.jobs[at].needs.strips):
            raise ValidationError(f"{commission.title} asks for other strips than it did. Plan again.")
        first = plan.first_ring[at]
        shapes = build_shapes(sheet.parts, shop=sheet.shop, laminates=sheet.laminates)
        own = [replace(ring, number=first + ring.number) for shape in shapes for ring in shape.rings]
        rings += own
        pieces |= {ring.number: sheet.quantity for ring in own}
        laminated += [replace(one, ring=first + one.ring) for one in job.needs.laminated]
    return JoinedRings(tuple(rings), pieces, Needs(plan.needs, tuple(laminated)))


def _job(commission: models.Commission, sheet: "Sheet") -> "SawingJob":
    from estimating.errors import InvalidInput, InvalidSheet
    from estimating.sawing import SawingJob
    from estimating.shape.build import build_shapes
    from estimating.wood.needs import needs_of

    try:
        shapes = build_shapes(sheet.parts, shop=sheet.shop, laminates=sheet.laminates)
        needs = needs_of(
            shapes,
            laminates=sheet.laminates,
            shop=sheet.shop,
            usual=sheet.usual_board,
            quantity=sheet.quantity,
        )
    except (InvalidInput, InvalidSheet) as refusal:
        raise ValidationError({"commissions": refusal_words(commission.title, refusal)}) from refusal
    return SawingJob(commission.title, needs)


def _rack(
    studio: models.Studio, woods: Sequence[str], chosen: Sequence[models.Commission]
) -> list[dict[str, Any]]:
    """Boards that may be sawn: the free ones, and those reserved for any of these commissions."""
    own = reserved_for(chosen)
    rows = []
    for board in rack_of(studio, woods):
        if count := board.free + own.get(board.pk, 0):
            rows.append(
                {
                    "wood": board.wood.key,
                    **{side: float(getattr(board, side)) for side in ("length", "width", "thickness")},
                    "count": count,
                    "price": board.price,
                    "defects": tuple(tuple(map(float, defect)) for defect in board.defects),
                    "surface": board.surface,
                    "ref": str(board.pk),
                }
            )
    return rows


def marks_now(
    studio: models.Studio, commissions: Sequence[models.Commission], boards: Iterable[models.Board]
) -> dict[str, str | None]:
    """The marks of these boards as they lie there now; None for one of which nothing may be sawn any more."""
    from estimating.piece import Board

    asked = list(boards)
    rows = _rack(studio, sorted({board.wood.key for board in asked}), commissions)
    known = board_marks(Board(**row) for row in rows)
    return {key: known.get(key) for key in (f"board {board.pk}" for board in asked)}


def reserved_for(commissions: Iterable[models.Commission]) -> dict[int, int]:
    """How many of each board these commissions have reserved together."""
    kept = models.Reservation.objects.filter(commission__in=list(commissions)).order_by().values("board")
    return {row["board"]: row["sum"] for row in kept.annotate(sum=Sum("count"))}


def changes(before: Mapping[str, str], now: Mapping[str, str], names: Mapping[str, str]) -> list[str]:
    """What is no longer as the plan was made from, a sentence each. `names` are the commissions' titles by mark."""
    words = []
    for key in dict.fromkeys([*before, *now]):
        if before.get(key) != now.get(key):
            words.append(_changed_words(key, before.get(key), now.get(key), names))
    return words


def _changed_words(key: str, before: str | None, now: str | None, names: Mapping[str, str]) -> str:
    kind, _, name = key.partition(" ")
    match kind:
        case "job":
            title = names.get(key, "A commission")
            return (
                f"{title} asks for other strips: its drawing, its number of pieces or a setting has changed."
            )
        case "settings":
            return "A setting of the saw or the planer, or the usual board, has changed."
        case "price":
            return f"The price of {name} has changed."
    if before is None:
        return f"Board {name} is new on the rack, or free again."
    if now is None:
        return f"Board {name} is gone, or reserved for another commission."
    if before.partition(":")[0] == now.partition(":")[0]:
        return f"Of board {name}, {now.partition(':')[2]} may be sawn, not {before.partition(':')[2]}."
    return f"Board {name} has changed: its size, price or defects."


def stops_reserving(before: Mapping[str, str], now: Mapping[str, str], used: Iterable[str]) -> list[str]:
    """The marks that make a plan wrong, not only old: strips, settings, and the boards it saws from."""
    keys = [key for key in before if key.startswith("job ") or key == "settings"]
    wrong = [key for key in keys if before[key] != now.get(key)]
    for key in dict.fromkeys(f"board {ref}" for ref in used):
        there = now.get(key)
        if there is not None and there.partition(":")[0] != before.get(key, "").partition(":")[0]:
            wrong.append(key)
    return wrong
