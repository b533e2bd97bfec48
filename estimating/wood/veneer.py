"""Veneer beside boards: it is bought as sheets of its own thickness and knife-cut, so it is planned apart."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.cutting import plan_cutting
from estimating.wood.strips import CuttingPlan, SawnBoard, StripNeed

SAME_VENEER = 0.1
"""Sheets on the rack serve a veneer when they are thicker than it by no more than this share of it."""


def plan_all(
    *,
    needs: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole_boards: bool = False,
    effort: int = 1,
) -> CuttingPlan:
    """The sawing plan of everything: strips from boards, and veneers from sheets of their own thickness.

    Errors: as plan_cutting, at once for boards and sheets.
    """
    plans: list[CuttingPlan] = []
    errors: list[InvalidInput] = []
    solid = [need for need in needs if need.cut != "veneer"]
    veneers: dict[float, list[StripNeed]] = {}
    for need in needs:
        if need.cut == "veneer":
            veneers.setdefault(need.height, []).append(need)
    try:
        if solid or not veneers:
            plans.append(
                plan_cutting(
                    needs=solid,
                    boards=boards,
                    usual=usual,
                    price_per_mm3=price_per_mm3,
                    shop=shop,
                    whole_boards=whole_boards,
                    effort=effort,
                )
            )
    except InvalidSheet as refusal:
        errors += refusal.errors
    for thickness, of_it in veneers.items():
        try:
            left = _left(boards, plans)
            plans.append(
                _plan_sheets(of_it, thickness, left, usual, shop, whole_boards=whole_boards, effort=effort)
            )
        except InvalidSheet as refusal:
            errors += refusal.errors
    if errors:
        raise InvalidSheet(errors)
    return _together(plans)


def _left(boards: Sequence[Board], plans: Sequence[CuttingPlan]) -> list[Board]:
    """The rack without the boards that the plans made so far have taken from it."""
    taken = Counter(_kind(board) for plan in plans for board in plan.boards if not board.buy)
    left = []
    for board in boards:
        kind = _kind(board)
        used = min(board.count, taken[kind])
        taken[kind] -= used
        if board.count > used:
            left.append(replace(board, count=board.count - used))
    return left


def _kind(board: Board | SawnBoard) -> tuple[object, ...]:
    return (
        board.wood,
        board.length,
        board.width,
        board.thickness,
        board.price,
        board.ref,
        board.surface,
        board.defects,
    )


def _plan_sheets(
    needs: Sequence[StripNeed],
    thickness: float,
    boards: Sequence[Board],
    usual: UsualBoard,
    shop: ShopSettings,
    *,
    whole_boards: bool,
    effort: int,
) -> CuttingPlan:
    """Veneers of one thickness: no kerf, no rough edges, nothing held down."""
    sheet = UsualBoard(length=usual.veneer_length, width=usual.veneer_width, thicknesses=(thickness,))
    per_mm3 = usual.veneer_price_per_m2 / Decimal(10) ** 6 / Decimal(repr(thickness))
    return plan_cutting(
        needs=needs,
        boards=[board for board in boards if abs(board.thickness - thickness) <= SAME_VENEER * thickness],
        usual=sheet,
        price_per_mm3={need.wood: per_mm3 for need in needs},
        shop=replace(
            shop,
            rip_kerf=0.0,
            crosscut_kerf=0.0,
            strip_hold=0.0,
            board_end_trim=0.0,
            board_edge_trim=0.0,
            min_rip_length=0.0,
            min_rip_width=0.0,
            min_planer_length=0.0,
            plane_face=0.0,
            resaw=False,
            strip_lies="flat",
        ),
        whole_boards=whole_boards,
        effort=effort,
    )


def _together(plans: Sequence[CuttingPlan]) -> CuttingPlan:
    if len(plans) == 1:
        return plans[0]
    boards = sorted((board for plan in plans for board in plan.boards), key=lambda board: board.buy)
    return CuttingPlan(
        boards=tuple(boards),
        cost=sum(plan.cost for plan in plans),
        bound=sum(plan.bound for plan in plans),
        proven=all(plan.proven for plan in plans),
        short=tuple(short for plan in plans for short in plan.short),
    )
