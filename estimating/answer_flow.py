"""What the answer says of where each wood goes, in whole mm3 and money that add up; and what to buy for it."""

from typing import Any

from estimating.estimate import Estimate
from estimating.price.money import minor_digits
from estimating.wood.flow import PARTS, WoodFlow, flow_of
from estimating.wood.to_buy import ToBuy, to_buy, without_spares


def flows_of(estimate: Estimate) -> tuple[WoodFlow, ...]:
    """Every wood's flow; the money of all parts of all woods adds up to the cost of wood."""
    # A sheet's currency is checked when it is read, so that it has a minor unit.
    places = minor_digits(estimate.sheet.pricing.currency) or 0
    return flow_of(estimate.wood, plan=estimate.cutting, charge=estimate.cost.wood, places=places)


def shopping_list(estimate: Estimate) -> ToBuy:
    """What to buy for the estimate's plan, and what the boards given bring."""
    return to_buy(
        estimate.cutting,
        needs=estimate.needs.strips,
        wanted=without_spares(estimate.needs.strips, rings=estimate.rings, pieces=estimate.sheet.quantity),
        boards=estimate.sheet.boards,
        shop=estimate.sheet.shop,
    )


def answer_flow(estimate: Estimate) -> dict[str, Any]:
    """The flow of each wood by its key, part by part in the order of the work."""
    return {
        "wood_flow": {
            flow.wood: {
                "boards": flow.boards,
                "charge": str(flow.charge),
                **{
                    part: {"volume": volume, "money": str(money)}
                    for part, volume, money in zip(PARTS, flow.volumes, flow.money, strict=True)
                },
            }
            for flow in flows_of(estimate)
        }
    }
