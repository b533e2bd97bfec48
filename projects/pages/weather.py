"""What the weather does to a piece: the page that tells it, the room it will live in, and the moisture read."""

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from estimating.errors import InvalidSheet
from projects.estimates import estimate_design, shop_air
from projects.models import Commission, Design, MoistureReading
from projects.models.climate import USUAL_ROOMS, own_room
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.of_design import about, of_design, of_job
from projects.pages.weather_forms import ReadingForm, RoomForm, TriedRoomForm
from projects.pages.weather_rows import Rows, said
from projects.services.moisture import reading_add, reading_delete
from projects.services.rooms import room_set

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.wood.weather import Movement

WEATHER_CODES = {"solid_beside_ring", "joint_slides", "ring_strained", "movement_unknown"}

PLUG_WORDS = (
    "What the plug's radius gains, its strain across the grain × radius, less how far the ring's inner edge moves out. "
    "+ presses on the bore, − opens a gap; the range is that of how growth rings may lie."
)
LID_WORDS = (
    "The room as made, and how far the rim's opening moves out, less how far the lid's edge does. Below 0 it binds; "
    "the range is that of how growth rings may lie."
)


@of_design
@require_GET
def design_weather(request: StudioRequest, design: Design, *, job: None) -> HttpResponse:
    """A design in a room that is tried; nothing is kept."""
    usual = USUAL_ROOMS.get(request.GET.get("usual", ""))
    form = TriedRoomForm(request.GET if "room_humidity" in request.GET and usual is None else None)
    if usual is not None:
        form.initial = {"room_temperature_c": usual.room.temperature_c, "room_humidity": usual.room.humidity}
    return _page(request, design, job=job, room=usual.room if usual else form.room, room_form=form)


@of_job
@require_http_methods(["GET", "POST"])
def job_weather(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """A commission's piece in the room it will live in, which can be said here."""
    form = _room_form(request, job)
    if form.is_bound and form.written(room_set, commission=job):
        messages.success(request, "Saved. Estimates of it say from now on what moves there.")
        return redirect("job_weather", job.pk)
    return _page(request, design, job=job, room_form=form)


def _room_form(request: StudioRequest, job: Commission, *, filled: bool = True) -> RoomForm:
    """Filled with the room in force, wherever that is written down."""
    room = job.room
    initial: dict[str, Any] = {"for_client": "job" if own_room(job) else "client"}
    if room is not None:
        initial |= {"room_temperature_c": room.temperature_c, "room_humidity": room.humidity}
    data = request.POST if filled and request.method == "POST" else None
    return RoomForm(data, instance=job, studio=request.studio, initial=initial)


@of_job
@require_POST
def reading_new(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """Write down what the moisture meter read."""
    form = ReadingForm(request.POST, studio=request.studio)
    if form.written(reading_add, commission=job, member=request.member):
        messages.success(request, "Written down.")
        return redirect(f"{reverse('job_weather', args=[job.pk])}#gluing")
    room_form = _room_form(request, job, filled=False)
    return _page(request, design, job=job, room_form=room_form, reading_form=form)


@in_studio
@require_POST
def reading_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a reading out."""
    reading = own(MoistureReading, request, pk)
    reading_delete(reading=reading)
    messages.success(request, f"Taken out: {reading}.")
    return redirect(f"{reverse('job_weather', args=[reading.commission_id])}#gluing")


def _page(
    request: StudioRequest, design: Design, *, job: Commission | None, room: Any = None, **forms: Any
) -> HttpResponse:
    context = about(design, job) | {
        "usual_rooms": USUAL_ROOMS,
        "shop_air": shop_air(request.studio),
        **forms,
    }
    try:
        _, estimate = estimate_design(design, commission=job, room=room)
    except InvalidSheet as refusal:
        context["refusals"] = refusal.errors
    else:
        context |= _moving(request, estimate) | _gluing(request, estimate, job=job)
        if job:
            context.setdefault("reading_form", ReadingForm(studio=request.studio)).offer(estimate.wood.keys())
    wrong = any(form.errors for form in forms.values())
    return render(request, "weather/page.html", context, status=400 if wrong else 200)


def _moving(request: StudioRequest, estimate: "Estimate") -> dict[str, Any]:
    """What moves, where it is known in what air the piece will live."""
    movement = estimate.movement
    if movement is None:
        return {"estimate": estimate}
    from estimating.answer_woods import masses_of
    from estimating.wood.fits_weather import lids_of, plugs_of
    from estimating.wood.weather import OPENS

    rows = Rows(estimate, movement, request.studio)
    shown = {
        "estimate": estimate,
        "movement": movement,
        "rooms": rows.rooms(),
        "layer_rows": rows.layers(),
        "joint_rows": rows.joints(),
        "bases": rows.bases(),
        "discs": rows.discs(),
        "weather_cautions": [caution for caution in estimate.cautions if caution.code in WEATHER_CODES],
        "masses": dict(zip(("shop", "client"), masses_of(estimate), strict=True)),
        "mass_words": _mass_words(movement),
        "opens": OPENS,
        "plugs": plugs_of(estimate.shapes, movement=movement, woods=estimate.workshop.woods),
        "lids": lids_of(estimate.shapes, movement=movement),
        "plug_words": PLUG_WORDS,
        "lid_words": LID_WORDS,
        "several_parts": len(estimate.shapes) > 1,
        "asked": _asked(request),
    }
    number = request.GET.get("layer", "")
    if number.isascii() and number.isdigit() and 1 <= int(number[:6]) <= len(movement.layers):
        shown |= {"layer": int(number), "layer_words": rows.layer_words(int(number))}
    return shown


def _asked(request: StudioRequest) -> str:
    """The room that is tried, to go on with it to the working of a layer."""
    query = request.GET.copy()
    query.pop("layer", None)
    return query.urlencode()


def _mass_words(movement: "Movement") -> dict[str, str]:
    shop, client = (f"{moisture:.2f} %" for moisture in (movement.emc_shop, movement.emc_client))
    density = f"each wood’s density at {shop} moisture, from that at 12 % (Wood Handbook ch. 4)"
    return {
        "blank": f"Volume of each wood in the blank as glued up, allowances in it, × {density}, and the glue lines.",
        "finished": f"Turned volume of each wood × {density}, and the glue lines between layers.",
        "client": f"The wood of it × (100 + {client}) ÷ (100 + {shop}): the same wood with other water.",
    }


def _gluing(request: StudioRequest, estimate: "Estimate", *, job: Commission | None) -> dict[str, Any]:
    """The readings of a commission, and all that is to be known before the piece is glued."""
    from estimating.wood.gluing import Reading, gluing_findings

    today = timezone.localdate()
    readings: list[MoistureReading] = list(_readings(job)) if job else []
    milled = [reading.milled_on for reading in readings if reading.milled_on is not None]
    movement = estimate.movement
    findings = gluing_findings(
        estimate.shapes,
        woods=estimate.workshop.woods,
        laminates=estimate.sheet.laminates,
        # Oldest first: of several on one day the last written down holds.
        readings=[
            Reading(reading.wood.key, _board(reading), float(reading.percent), reading.read_on)
            for reading in reversed(readings)
            if reading.wood is not None
        ],
        rested_days=(today - max(milled)).days if milled else None,
        acclimatise_days=request.studio.shop.acclimatise_days,
        emc_client=movement.emc_client if movement else None,
        on=today,
    )
    return {
        "readings": readings,
        "findings": [
            (finding, said([finding.message], request.studio)[0])
            for finding in findings
            # A design by itself has no wood to read yet.
            if job or finding.code != "no_reading"
        ],
    }


def _readings(job: Commission) -> "QuerySet[MoistureReading]":
    return job.readings.select_related("wood", "member__user")


def _board(reading: MoistureReading) -> str:
    """What is written on the board; nothing where the reading is of the wood in general."""
    return "" if reading.wood is not None and reading.what == reading.wood.name else reading.what


urlpatterns = [
    path("designs/<int:pk>/weather/", design_weather, name="design_weather"),
    path("jobs/<int:pk>/weather/", job_weather, name="job_weather"),
    path("jobs/<int:pk>/readings/", reading_new, name="reading_new"),
    path("readings/<int:pk>/take-out/", reading_take_out, name="reading_take_out"),
]
