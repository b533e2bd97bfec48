"""From the studio's records to a piece sheet and its estimate: the only door to estimating/."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal, cast

from estimating.piece import AdhesiveKind, Finish, Label, ShopSettings, UsualBoard
from estimating.wood.species import Species
from estimating.workshop import Workshop
from projects import models
from projects.models.bands import DISCS, UNOPENED
from projects.models.climate import Room
from projects.pricing_data import gallery_share as gallery_share
from projects.pricing_data import pricing_data, pricing_of
from projects.rack_data import boards_data, rack_of
from projects.rates import rates_of

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.piece import Sheet
    from estimating.substitutes import Comparison

StripLies = Literal["either", "flat", "on_edge"]
RingJoining = Literal["halves", "whole"]

# What the shop's settings and the sheet call by one name; the adhesive brings the rest.
SHOP_KEYS = (
    *("bond_line", "rip_kerf", "crosscut_kerf", "slice_kerf", "slice_hold", "slice_sanding", "flatten"),
    *("board_end_trim", "board_edge_trim", "keep_length", "keep_width", "strip_hold", "spare_segments"),
    *("plane_face", "resaw_kerf", "resaw_clean", "bandsaw_height", "extra_ring"),
    *("safe_segment_length", "min_tip_edge", "min_rip_length", "min_rip_width", "min_planer_length"),
    *("end_grain_factor", "squeeze_out", "mix_loss_ml", "cup_ml", "cup_mark_ml", "coat_stack_min"),
    *("coat_joint_min", "working_share", "temperature_c", "half_true", "join_true", "coat_margin"),
    *("mandrel_diameter", "mandrel_clearance", "clamp_force_n", "clamp_spacing"),
    *("centring_error", "height_tolerance", "acclimatise_days"),
    *("min_wall", "open_contact", "lathe_swing", "lathe_length", "lathe_load_kg", "hollowing_reach"),
)
# What the adhesive on the shelf and the sheet's label call by one name.
LABEL_KEYS = (
    *("density", "open_min", "set_min", "set_most_min", "press_min", "cure_min"),
    *("slower_c", "least_c", "exotherm_ml"),
)
LONGEST_CAUTIONS = 2000


@dataclass(frozen=True, slots=True)
class PartRecords:
    """A part with its form and its bands, bottom up, saved or not."""

    part: models.Part
    form: models.Form
    bands: Sequence[models.Band]


def parts_of(design: models.Design) -> list[PartRecords]:
    """The saved parts of a design, bottom up."""
    parts = design.parts.all()
    if "parts" not in getattr(design, "_prefetched_objects_cache", {}):
        parts = parts.select_related("form").prefetch_related("bands")
    return [PartRecords(part, part.form, list(part.bands.all())) for part in parts]


def estimate_design(
    design: models.Design,
    *,
    commission: models.Commission | None = None,
    parts: Sequence[PartRecords] | None = None,
    boards: Iterable[models.Board] | None = None,
    room: Room | None = None,
) -> "tuple[Sheet, Estimate]":
    """Estimate a design, for a commission where one is given.

    `parts` stand in place of the saved ones while they are edited, `boards` in place of the rack, `room` in place of
    where the piece will live.
    Errors: estimating.errors.InvalidSheet; `projects.places.form_places` says which form fields it means.
    """
    data = sheet_data(design, commission=commission, parts=parts, boards=boards, room=room)
    return estimate_data(data, studio=design.studio)


def estimate_data(data: object, *, studio: models.Studio) -> "tuple[Sheet, Estimate]":
    """Estimate a piece sheet as it comes, the studio's settings standing where the sheet is silent.

    Errors: estimating.errors.InvalidSheet with every error and its place.
    """
    # Imported here since the arithmetic brings numpy and the solver, which most pages never need.
    from estimating.estimate import estimate
    from estimating.sheet import read_sheet

    workshop = workshop_of(studio)
    sheet = read_sheet(data, workshop=workshop)
    return sheet, estimate(sheet, workshop)


def compare_woods(
    design: models.Design, *, commission: models.Commission | None, wood: str, alternatives: Sequence[str]
) -> "Comparison":
    """The piece as it is and with each of up to four woods in the place of one of its own, by their keys.

    Errors: estimating.errors.InvalidInput at `wood` or `alternatives[i]`; InvalidSheet where it cannot be estimated.
    """
    from estimating.sheet import read_sheet
    from estimating.substitutes import compare

    workshop = workshop_of(design.studio)
    data = sheet_data(design, commission=commission, more_woods=alternatives)
    return compare(read_sheet(data, workshop=workshop), workshop, wood=wood, alternatives=alternatives)


def workshop_of(studio: models.Studio) -> Workshop:
    """The studio's own woods, settings and prices, and its rates as the hours log has taught them."""
    woods = models.Wood.objects.for_studio(studio)
    rates = rates_of(studio)
    adhesive = _usual(models.Adhesive, studio)
    return Workshop(
        woods={wood.key: _species(wood) for wood in woods},
        rates=rates.in_force,
        settings=_settings(studio, adhesive),
        usual_board=_usual_board(studio),
        finish=finish_as_sheet(_usual(models.Finish, studio)),
        pricing=pricing_of(studio, adhesive=adhesive, commission=None),
        label=_label(adhesive),
        repeat_rate=rates.repeat_rate,
    )


def sheet_data(
    design: models.Design,
    *,
    commission: models.Commission | None = None,
    parts: Sequence[PartRecords] | None = None,
    boards: Iterable[models.Board] | None = None,
    room: Room | None = None,
    more_woods: Iterable[str] = (),
) -> dict[str, Any]:
    """A design as a piece sheet in mm that stands alone: what the studio's settings bring is in it.

    Its `climate` is there where somebody has said in what air the piece will live. Boards of `more_woods` come with
    those of its own.
    """
    studio = design.studio
    parts = parts_of(design) if parts is None else parts
    adhesive = design.adhesive or _usual(models.Adhesive, studio)
    data = {
        "title": commission.title if commission else design.title,
        "unit": "mm",
        "quantity": (commission.quantity if commission else None) or design.quantity,
        **_parts_data(parts),
        "shop": _plain(asdict(_settings(studio, adhesive))),
        "adhesive": _plain(asdict(_label(adhesive))),
        "usual_board": _plain(asdict(_usual_board(studio))),
        "finish": _plain(asdict(finish_as_sheet(finish_of(design)))),
        "pricing": pricing_data(pricing_of(studio, adhesive=adhesive, commission=commission)),
    }
    used = {key for one in parts for band in one.bands for key in band.all_woods}
    laminates = {key: laminate for key, laminate in design.laminates.items() if key in used}
    if laminates:
        data["laminates"] = laminates
    strips = {strip["wood"] for laminate in laminates.values() for strip in laminate["strips"]}
    woods = used - set(laminates) | strips | set(more_woods)
    rack = rack_of(studio, woods) if boards is None else boards
    if lying := boards_data(rack, woods, commission):
        data["boards"] = lying
    if lives_in := room or (commission.room if commission else None):
        data["climate"] = {"shop": shop_air(studio).as_sheet(), "client": lives_in.as_sheet()}
    return data


def piece_data(design: models.Design, *, commission: models.Commission | None = None) -> dict[str, Any]:
    """What of the sheet makes the piece, with its finish by name: as `projects.design_differs` compares it."""
    finish = finish_of(design)
    return {
        "quantity": (commission.quantity if commission else None) or design.quantity,
        **_parts_data(parts_of(design)),
        "laminates": design.laminates,
        "finish": {"name": finish.name if finish else "", "coats": finish_as_sheet(finish).coats},
    }


def shop_air(studio: models.Studio) -> Room:
    """The air the studio works in."""
    return Room(studio.shop.air_temperature_c, studio.shop.air_humidity)


def _parts_data(parts: Sequence[PartRecords]) -> dict[str, Any]:
    """One part's keys as they are, more parts by name."""
    if len(parts) == 1:
        return _part_data(parts[0])
    names = {one.part.position: one.part.name for one in parts}
    return {"parts": [_named_part_data(one, names) for one in parts]}


def _named_part_data(one: PartRecords, names: Mapping[int, str]) -> dict[str, Any]:
    part = one.part
    data = {"name": part.name, **_part_data(one)}
    if part.sits:
        data["sits"] = {part.sits: names.get(part.sits_at or 0, "")}
    if part.sits == "in":
        data["sits"] |= {"flange": _number(part.flange), "clearance": _number(part.clearance)}
    return data


def _part_data(one: PartRecords) -> dict[str, Any]:
    part = one.part
    sides = ("outside", "inside", "top", *(() if part.held else ("bottom",)))
    data: dict[str, Any] = {
        "form": _form_data(one.form),
        "allowance": {side: float(getattr(part, f"allowance_{side}")) for side in sides},
        "bands": [_band_data(band) for band in one.bands],
    }
    if part.held:
        measures = {"depth": part.held_depth, "parting": part.held_parting}
        given = {name: float(value) for name, value in measures.items() if value is not None}
        data["holding"] = {"by": part.held, **given}
    if part.close_at:
        data["close_at"] = part.close_at
    if part.build_from == "rim":
        data["build_from"] = part.build_from
    return data


def _form_data(form: models.Form) -> dict[str, Any]:
    inside: dict[str, Any] = {"kind": form.inside}
    if form.inside == "wall":
        inside |= {"wall": _number(form.wall), "floor": _number(form.floor)}
    if form.inside == "curve":
        inside["inner"] = form.inner
    return {"outer": form.outer, "curve": form.curve, "inside": inside}


def _band_data(band: models.Band) -> dict[str, Any]:
    """What the band's way of making asks for, and no key that it does without."""
    data: dict[str, Any] = {
        "name": band.name or f"band {band.position}",
        "layers": band.layers,
        "thickness": _number(band.thickness),
    }
    if band.made not in DISCS:
        data["segments"] = band.segments
    if band.chart:
        data["chart"] = band.chart
    else:
        data["woods"] = band.woods
    data["offset"] = band.offsets[0] if len(band.offsets) == 1 else band.offsets
    if band.made not in UNOPENED:
        data["gap"] = _number(band.gap)
    data["made"] = band.made
    if band.made == "sliced":
        data["ring_height"] = _number(band.ring_height)
    if band.bored:
        data["bore"] = "auto" if band.bored == "needed" else _number(band.bore)
    if band.plug:
        data["plug"] = band.plug
    if band.match:
        data["match"] = band.match
    return data


def _usual(model: "type[models.Adhesive] | type[models.Finish]", studio: models.Studio) -> Any:
    return model.objects.for_studio(studio).filter(usual=True).first()


def finish_of(design: models.Design) -> models.Finish | None:
    """The finish a design names, else the studio's usual one."""
    return design.finish or _usual(models.Finish, design.studio)


def _settings(studio: models.Studio, adhesive: models.Adhesive | None) -> ShopSettings:
    shop = studio.shop
    glue: dict[str, Any] = {}
    if adhesive is not None:
        glue = {
            "film": float(adhesive.film),
            "mix_ratio": (float(adhesive.ratio_a), float(adhesive.ratio_b)),
            "pot_life_min": float(adhesive.pot_life_min),
            "pot_life_at_c": float(adhesive.pot_life_at_c),
        }
    settings: dict[str, Any] = {key: float(getattr(shop, key)) for key in SHOP_KEYS}
    return ShopSettings(
        strip_lies=cast(StripLies, shop.strip_lies),
        resaw=shop.resaw,
        layers_per_glue_up=shop.layers_per_glue_up,
        ring_joining=cast(RingJoining, shop.ring_joining),
        ring_clamps=shop.ring_clamps,
        **settings,
        **glue,
    )


def _label(adhesive: models.Adhesive | None) -> Label:
    """What the adhesive's label says; the command's own where the shelf has no adhesive."""
    if adhesive is None:
        return Label()
    by_mass = None
    if adhesive.mass_a is not None and adhesive.mass_b is not None:
        by_mass = (float(adhesive.mass_a), float(adhesive.mass_b))
    return Label(
        name=adhesive.name,
        kind=cast(AdhesiveKind, adhesive.kind),
        mass_ratio=by_mass,
        pressure=(float(adhesive.pressure_low), float(adhesive.pressure_high)),
        cleaner=adhesive.cleaner,
        cautions=adhesive.cautions[:LONGEST_CAUTIONS],
        **{key: float(getattr(adhesive, key)) for key in LABEL_KEYS},
    )


def _usual_board(studio: models.Studio) -> UsualBoard:
    shop = studio.shop
    return UsualBoard(
        length=float(shop.usual_board_length),
        width=float(shop.usual_board_width),
        thicknesses=tuple(float(thickness) for thickness in shop.usual_board_thicknesses),
        price_per_m3=shop.usual_board_price_per_m3,
        veneer_length=float(shop.veneer_length),
        veneer_width=float(shop.veneer_width),
        veneer_price_per_m2=shop.veneer_price_per_m2,
        surface=shop.usual_board_surface,  # type: ignore[arg-type]  # a choice
    )


def finish_as_sheet(finish: models.Finish | None) -> Finish:
    if finish is None:
        return Finish()
    return Finish(
        coats=finish.coats,
        ml_per_dm2=float(finish.ml_per_dm2),
        dry_h=float(finish.hours_between_coats),
        hard_days=float(finish.days_to_hard),
        per_ml=finish.price_per_ml,
    )


def _species(wood: models.Wood) -> Species:
    return Species(
        key=wood.key,
        name=wood.name,
        botanical=wood.botanical,
        density=float(wood.density),
        colour=wood.colour,
        price_per_m3=wood.price_per_m3,
        shrink_radial_pct=_number(wood.shrink_radial_pct),
        shrink_tangential_pct=_number(wood.shrink_tangential_pct),
        health_note=wood.health_note,
        source=wood.source,
        from_memory=wood.from_memory,
        health_detail=wood.health_detail,
        oily=wood.oily,
        dust_stains=wood.dust_stains,
        fades=wood.fades,
        protected_note=wood.protected_note,
        traits_source=wood.traits_source,
    )


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _plain(section: dict[str, Any]) -> dict[str, Any]:
    """A section as JSON holds it: money as text, lists for tuples, and nothing where nothing is said."""
    return {
        key: str(value) if isinstance(value, Decimal) else list(value) if isinstance(value, tuple) else value
        for key, value in section.items()
        if value is not None
    }
