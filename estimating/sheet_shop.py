"""The sections of the piece sheet that say how the shop works: shop, usual board, finish."""

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any, get_args

from estimating.errors import InvalidInput
from estimating.piece import Defect, Finish, ShopSettings, Surface, UsualBoard
from estimating.reading import Limits, Section, check_length, check_list, check_number

MOST_DEFECTS = 50

_ANY: Limits = {"low": 0.0}
_KEEP: Limits = {"low": 0.0, "high": 1e6}

SHOP_LENGTHS: Mapping[str, Limits] = {
    "bond_line": {"low": 0.0, "high": 5.0},
    "rip_kerf": _ANY,
    "crosscut_kerf": _ANY,
    "slice_kerf": _ANY,
    "slice_hold": _ANY,
    "slice_sanding": _ANY,
    "flatten": _ANY,
    "board_end_trim": _ANY,
    "board_edge_trim": _ANY,
    "keep_length": _KEEP,
    "keep_width": _KEEP,
    "strip_hold": _ANY,
    "safe_segment_length": _ANY,
    "min_tip_edge": _ANY,
    "film": {"low": 0.0, "high": 10.0},
    "half_true": {"low": 0.0, "high": 50.0},
    "join_true": {"low": 0.0, "high": 50.0},
    "coat_margin": {"low": 0.0, "high": 1000.0},
    "mandrel_diameter": _ANY,
    "mandrel_clearance": _ANY,
    "clamp_spacing": {"above": 0.0},
    "centring_error": _ANY,
    "height_tolerance": _ANY,
    "min_wall": _ANY,
    "open_contact": _ANY,
    "min_planer_length": _ANY,
    "min_rip_length": _ANY,
    "min_rip_width": _ANY,
    "plane_face": {"low": 0.0, "high": 50.0},
    "resaw_kerf": {"low": 0.0, "high": 50.0},
    "resaw_clean": {"low": 0.0, "high": 50.0},
    "bandsaw_height": _ANY,
    "lathe_swing": _ANY,
    "lathe_length": _ANY,
}
"""Settings that are lengths, with their limits in mm."""

SHOP_NUMBERS: Mapping[str, Limits] = {
    "extra_ring": {"low": 0.0, "high": 1e12},
    "spare_segments": {"low": 0.0, "high": 10.0},
    "end_grain_factor": {"low": 0.0, "high": 10.0},
    "squeeze_out": {"low": 0.0, "high": 10.0},
    "mix_loss_ml": {"low": 0.0, "high": 10_000.0},
    "cup_ml": {"above": 0.0, "high": 100_000.0},
    "cup_mark_ml": {"above": 0.0, "high": 10_000.0},
    "coat_stack_min": {"above": 0.0, "high": 10_000.0},
    "coat_joint_min": {"above": 0.0, "high": 10_000.0},
    "working_share": {"above": 0.0, "high": 1.0},
    "pot_life_min": {"above": 0.0, "high": 100_000.0},
    "pot_life_at_c": {"low": -20.0, "high": 100.0},
    "temperature_c": {"low": -20.0, "high": 100.0},
    "acclimatise_days": {"low": 0.0, "high": 365.0},
    "sand_wait_h": {"low": 0.0, "high": 10_000.0},
    "clamp_force_n": {"above": 0.0, "high": 1e6},
    "hollowing_reach": {"low": 0.0, "high": 100.0},
    "lathe_load_kg": {"low": 0.0, "high": 10_000.0},
}
"""Settings that are plain numbers, with their limits."""


def read_shop(top: Section, settings: ShopSettings) -> ShopSettings:
    """The shop's settings, those of the sheet in place of its own."""
    if not top.has("shop"):
        return settings
    section = Section(top.raw("shop"), top.at("shop"), top.errors, top.unit)
    read: dict[str, Any] = {}
    for field in fields(ShopSettings):
        key, default = field.name, getattr(settings, field.name)
        if key in SHOP_LENGTHS:
            read[key] = section.length(key, default, **SHOP_LENGTHS[key])
        elif key in SHOP_NUMBERS:
            read[key] = section.number(key, default, **SHOP_NUMBERS[key])
    read["strip_lies"] = section.choice("strip_lies", ("either", "flat", "on_edge"), settings.strip_lies)
    read["ring_joining"] = section.choice("ring_joining", ("halves", "whole"), settings.ring_joining)
    read["ring_clamps"] = section.integer("ring_clamps", settings.ring_clamps, low=1, high=1000)
    read["resaw"] = section.boolean("resaw", settings.resaw)
    read["layers_per_glue_up"] = section.integer(
        "layers_per_glue_up", settings.layers_per_glue_up, low=2, high=1000
    )
    read["mix_ratio"] = _read_ratio(section, settings.mix_ratio)
    section.close()
    return replace(settings, **read)


def _read_ratio(section: Section, default: tuple[float, float]) -> tuple[float, float]:
    if not section.has("mix_ratio"):
        return default
    items = section.items("mix_ratio", least=2, most=2)
    # The second part may be 0: an adhesive of one part has nothing to mix.
    parts = [
        check_number(item, place, section.errors, low=0.0 if second and item == 0 else 0.01, high=1000)
        for second, (place, item) in enumerate(items)
    ]
    return (parts[0], parts[1]) if len(parts) == 2 else default


def read_usual_board(top: Section, usual: UsualBoard) -> UsualBoard:
    """The board the shop buys: its length and width, and the thicknesses to be had, thinnest first."""
    if not top.has("usual_board"):
        return usual
    section = Section(top.raw("usual_board"), top.at("usual_board"), top.errors, top.unit)
    length, width = (
        section.length("length", usual.length, above=0),
        section.length("width", usual.width, above=0),
    )
    items = section.items("thicknesses", required=False, least=1, most=50)
    series = [check_length(item, place, section.errors, section.unit, above=0) for place, item in items]
    price = section.money("price_per_m3", usual.price_per_m3)
    veneer_length = section.length("veneer_length", usual.veneer_length, above=0)
    veneer_width = section.length("veneer_width", usual.veneer_width, above=0)
    veneer_price = section.money("veneer_price_per_m2", usual.veneer_price_per_m2)
    surface = section.choice("surface", get_args(Surface), usual.surface)
    section.close()
    thicknesses = tuple(sorted(series)) or usual.thicknesses
    return UsualBoard(
        length=length,
        width=width,
        thicknesses=thicknesses,
        price_per_m3=price,
        veneer_length=veneer_length,
        veneer_width=veneer_width,
        veneer_price_per_m2=veneer_price,
        surface=surface,
    )


def read_defects(section: Section, *, length: float, width: float) -> tuple[Defect, ...]:
    """What of a board of this size is not used: [from, to] along it, or an area [from, to, near, far]."""
    defects = []
    for place, item in section.items("defects", required=False, most=MOST_DEFECTS):
        before = len(section.errors)
        ends = check_list(item, place, section.errors, least=2, most=4)
        measures = tuple(check_length(end, at, section.errors, section.unit, low=0) for at, end in ends)
        if len(section.errors) > before:
            continue
        if len(measures) == 3:
            section.errors.append(
                InvalidInput(place, "must be [from, to], or [from, to, near, far] for an area")
            )
            continue
        for (first, last), limit, along in zip(
            (measures[:2], measures[2:] or (0.0, width)), (length, width), ("long", "wide"), strict=True
        ):
            if not first < last:
                section.errors.append(
                    InvalidInput(place, f"must end after it begins, not {first:g} to {last:g} mm")
                )
            elif limit > 0 and last > limit + 1e-6:
                section.errors.append(
                    InvalidInput(place, f"ends at {last:g} mm, but the board is {limit:g} mm {along}")
                )
        defects.append(measures)
    return tuple(sorted(defects))


def read_finish(top: Section, finish: Finish) -> Finish:
    """The finish: coats, what a coat takes, and how long it dries."""
    if not top.has("finish"):
        return finish
    section = Section(top.raw("finish"), top.at("finish"), top.errors, top.unit)
    read = Finish(
        coats=section.integer("coats", finish.coats, low=0, high=100),
        ml_per_dm2=section.number("ml_per_dm2", finish.ml_per_dm2, low=0, high=100),
        dry_h=section.number("dry_h", finish.dry_h, low=0, high=1000),
        hard_days=section.number("hard_days", finish.hard_days, low=0, high=365),
        per_ml=section.money("per_ml", finish.per_ml),
    )
    section.close()
    return read
