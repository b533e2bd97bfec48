"""The shop's settings and prices, and the studio's letterhead: one form each."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from projects.models import Member
from projects.models.studio import MemberRole
from projects.pages.access import StudioRequest, in_studio
from projects.pages.forms import AccountForm, PricingForm, ShopForm, StudioForm
from projects.pages.record_form import RecordForm
from projects.services.studios import member_add, pricing_update, shop_update, studio_update

Groups = Mapping[str, tuple[str, ...]]

SHOP_GROUPS: Groups = {
    "Sawing": ("rip_kerf", "crosscut_kerf", "board_end_trim", "board_edge_trim", "strip_hold", "strip_lies"),
    "Planing and resawing": ("plane_face", "resaw", "resaw_kerf", "resaw_clean"),
    "Offcuts and spares": ("keep_length", "keep_width", "spare_segments"),
    "Thin layers from thick rings": ("slice_kerf", "slice_hold", "slice_sanding", "flatten", "extra_ring"),
    "Gluing": (
        *("bond_line", "end_grain_factor", "squeeze_out", "coat_margin", "mix_loss_ml", "cup_ml"),
        *("cup_mark_ml", "coat_stack_min", "coat_joint_min", "working_share", "layers_per_glue_up"),
        "temperature_c",
    ),
    "How it is joined and held": (
        *("ring_joining", "half_true", "join_true", "ring_clamps"),
        *("mandrel_diameter", "mandrel_clearance", "clamp_force_n", "clamp_spacing"),
    ),
    "The air, and what rests in it": ("air_temperature_c", "air_humidity", "acclimatise_days"),
    "The usual board to buy": (
        *("usual_board_length", "usual_board_width", "usual_board_thicknesses", "usual_board_surface"),
        "usual_board_price_per_m3",
        *("veneer_length", "veneer_width", "veneer_price_per_m2"),
    ),
    "Allowances of a new design": (
        *("allowance_outside", "allowance_inside", "allowance_top", "allowance_bottom"),
    ),
    "How true the work runs": ("centring_error", "height_tolerance"),
    "What is safe, and what the machines take": (
        *("safe_segment_length", "min_tip_edge", "min_rip_length", "min_rip_width", "min_planer_length"),
        *("min_wall", "open_contact", "hollowing_reach"),
        *("lathe_swing", "lathe_length", "lathe_load_kg", "bandsaw_height"),
    ),
}
PRICING_GROUPS: Groups = {
    "What an hour costs": ("labour_rate", "overhead_rate", "consumables_rate", "consumables"),
    "What goes wrong": ("failure_share", "segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"),
    "Wood": ("whole_boards",),
    "What is asked": ("margin", "wanted_hourly", "gallery_share", "price_step", "deposit_share"),
    "Being paid": ("payment_fee", "fee_borne_by"),
    "Tax": ("tax_name", "tax", "tax_inclusive", "tax_by", "freight_tax", "crate_tax", "stand_tax"),
    "The box it goes in": ("box_padding", "box_kg_m2", "volume_divisor", "crate_per_m2", "crate_fixed"),
}
STUDIO_GROUPS: Groups = {
    "Letterhead": (
        *("name", "tagline", "address", "email", "phone", "web", "tax_number", "letterhead_note"),
    ),
    "Units": ("currency", "length_unit", "inch_style"),
    "In the year’s figures": ("gallery_share_as",),
    "On every quote": ("quote_valid_days", "lead_time", "terms", "care"),
}


@in_studio
@require_GET
def overview(request: StudioRequest) -> HttpResponse:
    """Where the shop's tables are, and what each is for."""
    studio = request.studio
    context = {
        "section": "shop",
        "glue": studio.adhesives.filter(usual=True).first(),
        "finish": studio.finishes.filter(usual=True).first(),
    }
    return render(request, "shop/overview.html", context)


@in_studio
@require_http_methods(["GET", "POST"])
def settings(request: StudioRequest) -> HttpResponse:
    """How the shop cuts and glues."""
    return _one_form(
        request, request.studio.shop, ShopForm, shop_update, SHOP_GROUPS, "shop/settings.html", section="shop"
    )


@in_studio
@require_http_methods(["GET", "POST"])
def pricing(request: StudioRequest) -> HttpResponse:
    """What an hour costs and how a price is made."""
    row = request.studio.pricing
    return _one_form(
        request, row, PricingForm, pricing_update, PRICING_GROUPS, "shop/pricing.html", section="shop"
    )


@in_studio
@require_http_methods(["GET", "POST"])
def studio(request: StudioRequest) -> HttpResponse:
    """The letterhead and the words on every quote; only an owner changes them."""
    if request.method == "POST" and request.member.role != MemberRole.OWNER:
        messages.error(request, "Only the studio's owner changes these. Nothing was saved.")
        return redirect("studio")
    members = Member.objects.for_studio(request.studio).select_related("user")
    return _one_form(
        request,
        request.studio,
        StudioForm,
        studio_update,
        STUDIO_GROUPS,
        "studio/studio.html",
        section="studio",
        members=members,
        may_change=request.member.role == MemberRole.OWNER,
    )


@in_studio
@require_http_methods(["GET", "POST"])
def member_new(request: StudioRequest) -> HttpResponse:
    """Let someone else work in the studio, with a log-in of their own; only an owner does that."""
    if request.member.role != MemberRole.OWNER:
        messages.error(request, "Only the studio's owner lets others in. Nothing was changed.")
        return redirect("studio")
    form = AccountForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        with transaction.atomic():
            member_add(studio=request.studio, user=form.save())
        messages.success(request, f"{form.cleaned_data['username']} can log in now. Tell them the password.")
        return redirect("studio")
    context = {"section": "studio", "form": form}
    return render(request, "studio/member.html", context, status=400 if form.errors else 200)


def _one_form(
    request: StudioRequest,
    row: Model,
    kind: type[RecordForm],
    service: Any,
    groups: Groups,
    template: str,
    **context: Any,
) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = kind(data, instance=row, studio=request.studio)
    if data is not None and form.written(service, studio=request.studio):
        messages.success(
            request, "Saved. Estimates use these from now on; quotes already issued stay as they are."
        )
        return redirect(request.path)
    fields = [(title, [form[name] for name in names]) for title, names in groups.items()]
    return render(
        request, template, {**context, "form": form, "groups": fields}, status=400 if form.errors else 200
    )
