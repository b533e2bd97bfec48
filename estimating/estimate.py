"""The whole pipeline on one screen: a piece sheet and a workshop in, an estimate out."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimating.cautions import Caution, find_cautions
from estimating.errors import InvalidInput, InvalidSheet
from estimating.glue.joints import joint_areas
from estimating.glue.mixing import Adhesive, mix_for
from estimating.glue.order import GlueUp, plain_order
from estimating.piece import Sheet
from estimating.price.costs import Cost, add_costs, exact, finish_ml
from estimating.price.pricing import Price, make_price
from estimating.shape.build import Shape, build_shape
from estimating.wood.account import WoodAccount, account_for, strip_needs
from estimating.wood.cutting import plan_cutting
from estimating.wood.strips import CuttingPlan, StripNeed
from estimating.work.labour import Labour, add_up, time_operation
from estimating.work.operations import Job, count_operations
from estimating.workshop import Workshop, standing_workshop

_MM3_IN_M3 = Decimal(10) ** 9


@dataclass(frozen=True)
class Estimate:
    """All that is known of a piece before it is made. mm, mm2, mm3, ml, minutes, money."""

    sheet: Sheet
    workshop: Workshop
    shape: Shape
    needs: tuple[StripNeed, ...]
    cutting: CuttingPlan
    wood: Mapping[str, WoodAccount]
    glue_ups: tuple[GlueUp, ...]
    adhesive: Adhesive
    finish_ml: float
    labour: Labour
    cost: Cost
    price: Price
    cautions: tuple[Caution, ...]


def estimate(sheet: Sheet, workshop: Workshop | None = None) -> Estimate:
    """Estimate the pieces a sheet asks for.

    Errors: InvalidSheet naming every place where the shape, the boards or the mixes do not work out.
    """
    workshop = workshop or standing_workshop()
    shape = build_shape(form=sheet.form, allowance=sheet.allowance, bands=sheet.bands, shop=sheet.shop)
    needs = strip_needs(shape.rings, quantity=sheet.quantity, spare_share=sheet.shop.spare_segments)
    try:
        cutting = _plan(sheet, workshop, needs)
        glue_ups = plain_order(shape, shop=sheet.shop)
        adhesive = mix_for(glue_ups, joint_areas(shape), quantity=sheet.quantity, shop=sheet.shop)
    except InvalidInput as refusal:
        raise InvalidSheet([refusal]) from refusal
    labour = _labour(Job(sheet, shape, needs, cutting, glue_ups, adhesive), workshop)
    surface = (shape.form.outer_surface + shape.form.inner_surface) * sheet.quantity
    finish = finish_ml(sheet.finish, surface=surface)
    cost = add_costs(
        wood=cutting.cost,
        adhesive_ml=adhesive.volume_ml,
        finish=exact(finish) * sheet.finish.per_ml,
        mean_hours=labour.mean_hours,
        pricing=sheet.pricing,
    )
    return Estimate(
        sheet=sheet,
        workshop=workshop,
        shape=shape,
        needs=needs,
        cutting=cutting,
        wood=account_for(shape, needs=needs, plan=cutting, quantity=sheet.quantity),
        glue_ups=glue_ups,
        adhesive=adhesive,
        finish_ml=finish,
        labour=labour,
        cost=cost,
        price=make_price(cost, mean_hours=labour.mean_hours, pricing=sheet.pricing),
        cautions=find_cautions(sheet=sheet, shape=shape, plan=cutting),
    )


def _plan(sheet: Sheet, workshop: Workshop, needs: tuple[StripNeed, ...]) -> CuttingPlan:
    usual = sheet.usual_board
    prices = {
        need.wood: usual.price_of(workshop.woods[need.wood].price_per_m3) / _MM3_IN_M3 for need in needs
    }
    return plan_cutting(
        needs=needs,
        boards=sheet.boards,
        usual=sheet.usual_board,
        price_per_mm3=prices,
        shop=sheet.shop,
        whole_boards=sheet.pricing.whole_boards,
    )


def _labour(job: Job, workshop: Workshop) -> Labour:
    """Operations the workshop has no rate for are not part of its work."""
    counts = count_operations(job)
    return add_up(
        time_operation(workshop.rates[name], setups=count.setups, quantity=count.quantity)
        for name, count in counts.items()
        if name in workshop.rates
    )
