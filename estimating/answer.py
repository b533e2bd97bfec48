"""The estimate as the JSON contract has it: mm, mm2, mm3, degrees, minutes, millilitres, money as text."""

from collections.abc import Mapping
from decimal import Decimal
from math import degrees
from typing import Any

from estimating.answer_bench import answer_glue_ups, answer_schedule
from estimating.answer_flow import answer_flow
from estimating.answer_glue import answer_adhesive
from estimating.answer_money import answer_money
from estimating.answer_shape import answer_shape
from estimating.answer_weather import answer_weather
from estimating.answer_woods import answer_woods
from estimating.estimate import Estimate
from estimating.price.money import round_money
from estimating.shape.build import Shape
from estimating.shape.rings import Ring
from estimating.wood.account import turned_by_layer
from estimating.wood.mass import mass_as_drawn
from estimating.wood.strips import SawnBoard, Strip
from estimating.work.labour import Labour, OperationTime


def as_json(estimate: Estimate) -> dict[str, Any]:
    """The answer of the command and of the API, ready for a JSON encoder."""
    return {
        "title": estimate.sheet.title,
        "quantity": estimate.sheet.quantity,
        "form": _form(estimate),
        "layers": [layer for shape in estimate.shapes for layer in _layers(shape)],
        **answer_flow(estimate),
        **answer_shape(estimate),
        "rings": [_ring(ring, shape) for shape in estimate.shapes for ring in shape.rings],
        "wood": _wood(estimate),
        "cutting": _cutting(estimate),
        "adhesive": answer_adhesive(estimate),
        "glue_ups": answer_glue_ups(estimate),
        "labour": _labour(estimate.labour),
        "cost": _cost(estimate),
        "price": _price(estimate),
        **answer_money(estimate),
        **answer_weather(estimate),
        **answer_woods(estimate),
        **answer_schedule(estimate),
        "cautions": [
            {"code": c.code, "severity": c.severity, "where": c.where, "message": c.message}
            for c in estimate.cautions
        ],
    }


def mass_of(estimate: Estimate) -> float:
    """Mass of one piece at 12 % moisture, no glue, g."""
    return _masses(estimate)[0]


def glue_lines_of(estimate: Estimate) -> float:
    """Mass of the cured adhesive between the layers of one piece, g."""
    return _masses(estimate)[1]


def _masses(estimate: Estimate) -> tuple[float, float]:
    woods, bond_line = estimate.workshop.woods, estimate.sheet.shop.bond_line
    return mass_as_drawn(estimate.shapes, woods=woods, bond_line=bond_line)


def finished_mass_of(estimate: Estimate) -> float:
    """Mass of one finished piece, wood and glue lines, g."""
    return mass_of(estimate) + glue_lines_of(estimate)


def _form(estimate: Estimate) -> dict[str, float]:
    forms = [shape.form for shape in estimate.shapes]
    return {
        "height": estimate.height,
        "largest_diameter": estimate.largest_diameter,
        "volume": sum(form.volume for form in forms),
        "outer_surface": sum(form.outer_surface for form in forms),
        "inner_surface": sum(form.inner_surface for form in forms),
        "mass_g": mass_of(estimate),
        "glue_lines_g": glue_lines_of(estimate),
        "finished_g": finished_mass_of(estimate),
    }


def _layers(shape: Shape) -> list[dict[str, Any]]:
    stack = shape.stack
    return [
        {
            "number": shape.number(index),
            "part": shape.part.name,
            "band": shape.bands[band].name,
            "bottom": float(stack.bottom[index]),
            "thickness": float(stack.thickness[index]),
            "outer_radius": float(stack.outer_radius[index]),
            "inner_radius": float(stack.inner_radius[index]),
            "ring": shape.rings[shape.ring_of[index]].number,
            "offset_deg": degrees(float(stack.angle[index])),
            "woods": dict(turned_by_layer(shape, index)),
        }
        for index, band in enumerate(stack.band)
    ]


def _ring(ring: Ring, shape: Shape) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "number": ring.number,
        "part": shape.part.name,
        "band": shape.bands[ring.band].name,
        "made": ring.made,
        "segments": ring.segments,
        "miter_deg": degrees(ring.miter),
        "outer_edge": ring.outer_edge,
        "inner_edge": ring.inner_edge,
        "strip_width": ring.strip_width,
        "height": ring.height,
        "layers": list(ring.layers),
        "pattern": list(ring.pattern),
    }
    if ring.bore:
        answer["bore"] = ring.bore
    if ring.lean:
        answer |= {
            "tilt_deg": degrees(ring.tilt),
            "flare_deg": degrees(ring.lean.flare),
            "slant_length": ring.lean.slant_length,
            "rip_width": ring.lean.rip_width,
            "narrow_width": ring.lean.narrow_width,
            "board_thickness": ring.lean.board_thickness,
        }
    return answer


def _wood(estimate: Estimate) -> dict[str, dict[str, float]]:
    return {
        wood: {
            "segments": account.segments,
            "strip_length": account.strip_length,
            "turned": account.turned,
            "turning_waste": account.turning_waste,
            "slicing_waste": account.slicing_waste,
            "crosscut_waste": account.crosscut_waste,
            "rip_waste": account.rip_waste,
            "kept": account.kept,
            "boards": account.boards,
            "board_feet": account.board_feet,
        }
        for wood, account in estimate.wood.items()
    }


def _cutting(estimate: Estimate) -> dict[str, Any]:
    plan = estimate.cutting
    return {
        "boards": [_board(board, estimate) for board in plan.boards],
        "cost": _rounded(Decimal(repr(plan.cost)), estimate),
        "bound": _rounded(Decimal(repr(plan.bound)), estimate),
        "proven": plan.proven,
        "outlay": _rounded(plan.outlay, estimate),
        "short": [
            {"wood": short.wood, "rings": list(short.rings), "segments": short.segments}
            for short in plan.short
        ],
    }


def _board(board: SawnBoard, estimate: Estimate) -> dict[str, Any]:
    return {
        "wood": board.wood,
        "length": board.length,
        "width": board.width,
        "thickness": board.thickness,
        "buy": board.buy,
        "price": _rounded(board.price, estimate),
        "used": board.used,
        "kept": board.kept,
        "offcuts": [
            {
                "length": o.length,
                "width": o.width,
                "thickness": o.thickness,
                "from": o.start,
                "across": o.across,
                "plate": o.plate,
            }
            for o in board.offcuts
        ],
        **_board_more(board),
        "strips": [_strip(strip) for strip in board.strips],
    }


def _board_more(board: SawnBoard) -> dict[str, Any]:
    """What only some boards have: the rack's own name, defects, plates."""
    more: dict[str, Any] = {}
    if board.ref:
        more["ref"] = board.ref
    if board.defects:
        more["defects"] = [list(defect) for defect in board.defects]
    if board.plates > 1:
        more |= {"plates": board.plates, "plate_thickness": board.plate_thickness}
    return more


def _strip(strip: Strip) -> dict[str, Any]:
    return {
        "lane": strip.lane,
        "from": strip.start,
        "width": strip.width,
        "height": strip.height,
        "lies": strip.lies,
        "rip_width": strip.rip_width,
        "across": strip.across,
        "section": strip.section,
        "plate": strip.plate,
        "length": strip.length,
        "segments": strip.segments,
        "rings": list(strip.rings),
    }


def _labour(labour: Labour) -> dict[str, Any]:
    return {
        "operations": [_operation(operation) for operation in labour.operations],
        "mean": labour.mean,
        "median": labour.median,
        "low": labour.low,
        "high": labour.high,
    }


def _operation(operation: OperationTime) -> dict[str, Any]:
    return {
        "name": operation.name,
        "stage": operation.stage,
        "setups": operation.setups,
        "quantity": operation.quantity,
        "unit": operation.unit,
        "setup_minutes": operation.setup_minutes,
        "minutes_per_unit": operation.minutes_per_unit,
        "median": operation.median,
        "mean": operation.mean,
        "low": operation.low,
        "high": operation.high,
    }


def _cost(estimate: Estimate) -> Mapping[str, str]:
    cost = estimate.cost
    return {
        "wood": str(cost.wood),
        "adhesive": str(cost.adhesive),
        "consumables": str(cost.consumables),
        "labour": str(cost.labour),
        "overhead": str(cost.overhead),
        "failures": str(cost.failures),
        "total": str(cost.total),
    }


def _price(estimate: Estimate) -> dict[str, Any]:
    price = estimate.price
    answer: dict[str, Any] = {
        "currency": estimate.sheet.pricing.currency,
        "net": str(price.net),
        "gallery_share": str(price.gallery_share),
        "retail_before_tax": str(price.retail_before_tax),
        "tax": str(price.tax),
        "retail": str(price.retail),
        "total": str(price.total),
        "deposit": str(price.deposit),
        "balance": str(price.balance),
        "per_hour": str(price.per_hour),
    }
    if price.offer is not None:
        answer["offer"] = {
            "retail": _rounded(price.offer.retail, estimate),
            "net": str(price.offer.net),
            "per_hour": str(price.offer.per_hour),
        }
    return answer


def _rounded(amount: Decimal, estimate: Estimate) -> str:
    return str(round_money(amount, currency=estimate.sheet.pricing.currency))
