"""What the answer says of the woods of a piece: what it weighs in both rooms, and what each wood's dust does."""

from collections.abc import Iterator
from typing import Any

from estimating.estimate import Estimate
from estimating.wood.dust import hazards_of, woods_in
from estimating.wood.mass import PieceMass, mass_at


def answer_woods(estimate: Estimate) -> dict[str, Any]:
    """The hazards of every wood, from the bottom of the piece up, and where the sheet has a climate the masses."""
    masses = [
        {"moisture_pct": mass.moisture, "blank_g": mass.blank_g, "finished_g": mass.finished_g}
        for mass in masses_of(estimate)
    ]
    woods = [
        {
            "wood": hazard.wood,
            "kind": hazard.kind,
            "detail": hazard.detail,
            "cautions": list(hazard.cautions),
            "limits": [limit.key for limit in hazard.limits],
        }
        for hazard in hazards_of(woods_in(estimate.shapes), woods=estimate.workshop.woods)
    ]
    return {**({"mass": masses} if masses else {}), "woods": woods}


def masses_of(estimate: Estimate) -> tuple[PieceMass, ...]:
    """One piece at the moisture of the shop's air, where it has the sizes drawn, and of the client's; () without."""
    movement = estimate.movement
    if movement is None:
        return ()
    return tuple(
        mass_at(
            estimate.shapes,
            woods=estimate.workshop.woods,
            moisture=moisture,
            bond_line=estimate.sheet.shop.bond_line,
            sized_at=movement.emc_shop,
        )
        for moisture in (movement.emc_shop, movement.emc_client)
    )


def report_woods(estimate: Estimate) -> Iterator[str]:
    """The same as lines of text."""
    yield "WOODS: dust and mass"
    for hazard in hazards_of(woods_in(estimate.shapes), woods=estimate.workshop.woods):
        yield f"{hazard.name}: {' '.join(hazard.cautions)}"
    for room, mass in zip(("shop", "client's room"), masses_of(estimate), strict=False):
        yield (
            f"At {mass.moisture:.1f} % moisture, in the {room}: the blank as glued {mass.blank_g:.0f} g, the finished "
            f"piece {mass.finished_g:.0f} g."
        )
