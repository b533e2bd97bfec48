"""One finished piece: its page, its words, what it took, where it has been, and the scheme it is numbered by."""

from datetime import date
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.consigned import paid_for
from projects.models import (
    Commission,
    PieceRecord,
    Place,
    PlacePayment,
    RecordChange,
    RecordDrawing,
    TakenLine,
)
from projects.models.photos import PhotoKind
from projects.models.studio import MemberRole
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.piece_forms import GROUPS, OutForm, PieceForm, PlaceForm, SerialForm
from projects.pages.record_form import RecordForm
from projects.services import record_places, records
from projects.services.record_photos import bench_photos_left
from projects.services.record_serials import scheme_of, scheme_update
from projects.services.record_taken import LARGE_SHARE, is_large

CHANGES_SHOWN = 50
_NAMES = {field.name: str(field.verbose_name) for field in PieceRecord._meta.concrete_fields}


@in_studio
@require_GET
def piece(request: StudioRequest, pk: int) -> HttpResponse:
    """The page of a piece; one that was taken out of the log stands in the list of those."""
    try:
        record = own(PieceRecord, request, pk, "commission", "design")
    except Http404:
        if PieceRecord.everything.for_studio(request.studio).filter(pk=pk).exists():
            return redirect(f"{reverse('pieces_out')}#piece-{pk}")
        raise
    return piece_page(request, record)


def piece_page(
    request: StudioRequest,
    record: PieceRecord,
    *,
    place_form: PlaceForm | None = None,
    out_form: OutForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """The page of a piece with its forms, as they were refused where they were."""
    photos = [photo for photo in record.photos.all() if photo.taken_out_at is None]
    shown = [photo for photo in photos if photo.kind == PhotoKind.PIECE]
    places: list[Any] = list(record.places.select_related("client", "member__user"))
    gone = {place.takes_back_id for place in places if place.takes_back_id}
    paid = paid_for(PlacePayment.objects.filter(place__in=places))
    for place in places:
        place.paid = paid.get(place.pk)
    lines: list[Any] = list(record.taken.all())
    for line in lines:
        line.large = is_large(line.estimated, line.taken, kind=line.kind)
        line.apart = _apart(line)
    changes: list[Any] = list(record.changes.select_related("member__user")[:CHANGES_SHOWN])
    for change in changes:
        change.shown = _before(change)
    context: dict[str, Any] = {
        "section": "log",
        "piece": record,
        "chosen": next((photo for photo in shown if photo.chosen), None),
        "drawn": RecordDrawing.objects.filter(record=record).exists(),
        "others": [photo for photo in shown if not photo.chosen],
        "process": [photo for photo in photos if photo.kind == PhotoKind.PROCESS],
        "places": [(place, place.pk in gone) for place in reversed(places) if not place.takes_back_id],
        "standing": len(places) - 2 * len(gone),
        "is_late": record.due_back is not None and record.due_back < timezone.localdate(),
        "place_form": place_form or PlaceForm(studio=request.studio),
        "out_form": out_form or OutForm(),
        "made_again": record.made_again.select_related("design").prefetch_related(
            "design__commissions__client"
        ),
        "coats": _coats(record),
        "lines": lines,
        "unsaid": sum(line.large and not line.reason for line in lines),
        "reasons_asked": any(line.large or line.reason for line in lines),
        "threshold": LARGE_SHARE,
        "changes": changes,
        "made": _told(record, GROUPS["How it was made"]),
        "taught": _told(record, GROUPS["What it taught"]),
    }
    return render(request, "log/piece.html", context, status=status)


def _coats(record: PieceRecord) -> list[tuple[str, int, list[date]]]:
    """Coats of one finish after one another together: its name, how many, and the days that are known."""
    return [
        (name, len(coats), list(dict.fromkeys(coat.put_on for coat in coats if coat.put_on)))
        for name, coats in (
            (name, list(group)) for name, group in groupby(record.coats.all(), lambda c: c.name)
        )
    ]


def _apart(line: TakenLine) -> str | None:
    """How far what was taken is from the estimate: `+30 %`."""
    if line.estimated is None or line.taken is None or not line.estimated:
        return None
    share = round(100 * (line.taken - line.estimated) / line.estimated)
    return f"{share:+} %".replace("-", "−") if share else "0 %"


def _told(record: PieceRecord, names: tuple[str, ...]) -> list[tuple[str, str]]:
    """Fields of words with something in them, each with its name."""
    told = [(_NAMES[name].capitalize(), getattr(record, name)) for name in names]
    return [(head, words) for head, words in told if words]


def _before(change: RecordChange) -> list[tuple[str, str]]:
    """What was there before a change, by the names on the form; copies are too long to be shown."""
    shown = []
    for name, was in change.before.items():
        if name == "known":
            continue
        if isinstance(was, list):
            was = "; ".join(str(row[0]) for row in was)
        shown.append((_NAMES.get(name, name), was or "empty"))
    return shown


def _form_page(request: StudioRequest, form: RecordForm, title: str, **context: Any) -> HttpResponse:
    groups = [(head, [form[name] for name in names]) for head, names in GROUPS.items()]
    context = {"section": "log", "form": form, "groups": groups, "title": title, **context}
    return render(request, "log/form.html", context, status=400 if form.errors else 200)


@in_studio
@require_http_methods(["GET", "POST"])
def piece_new(request: StudioRequest) -> HttpResponse:
    """Write a piece into the log that is of no commission."""
    data = request.POST if request.method == "POST" else None
    start = {"currency": request.studio.currency, "care": request.studio.care}
    form = PieceForm(data, studio=request.studio, initial=start)
    by = {"studio": request.studio, "member": request.member}
    if data is not None and (made := form.written(records.record_create, **by)):
        messages.success(request, f"In the log as {made.serial}.")
        return redirect("piece", made.pk)
    return _form_page(request, form, "A piece for the log")


@in_studio
@require_http_methods(["GET", "POST"])
def piece_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what the log says of a piece."""
    record = own(PieceRecord, request, pk)
    data = request.POST if request.method == "POST" else None
    form = PieceForm(data, instance=record, studio=request.studio)
    if data is not None and form.written(records.record_update, record=record, member=request.member):
        messages.success(request, "Saved.")
        return redirect("piece", record.pk)
    return _form_page(request, form, record.title, piece=record)


@in_studio
@require_POST
def job_record(request: StudioRequest, pk: int) -> HttpResponse:
    """Write a commission's next piece into the log."""
    job = own(Commission, request, pk, "client", "design", "studio")
    try:
        record = records.record_finish(commission=job, member=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("job", job.pk)
    messages.success(request, f"In the log as {record.serial}. Look it through, and add its photos.")
    if left := bench_photos_left(record):
        words = "1 photo" if left == 1 else f"{left} photos"
        messages.warning(
            request, f"{words} of the bench did not come along: gone, not to be read, or too many."
        )
    return redirect("piece", record.pk)


@in_studio
@require_POST
def piece_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Take the figures of its commission once more."""
    record = own(PieceRecord, request, pk, "commission__design", "commission__studio")
    try:
        records.figures_again(record=record, member=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, "The figures are those of the commission as it is now.")
    return redirect("piece", record.pk)


@in_studio
@require_POST
def piece_reasons(request: StudioRequest, pk: int) -> HttpResponse:
    """Say why what it took and what was estimated are apart."""
    record = own(PieceRecord, request, pk)
    keys = [name.removeprefix("reason-") for name in request.POST if name.startswith("reason-")]
    known = [key for key in keys if key.isascii() and key.isdigit() and len(key) < 19]
    reasons = {int(key): request.POST.get(f"reason-{key}", "") for key in known}
    try:
        records.reasons_give(record=record, reasons=reasons, member=request.member)
    except ValidationError as refusal:
        messages.error(request, f"Nothing was saved. {' '.join(refusal.messages)}")
    else:
        messages.success(request, "Saved.")
    return redirect("piece", record.pk)


@in_studio
@require_POST
def piece_place(request: StudioRequest, pk: int) -> HttpResponse:
    """Say where a piece went."""
    record = own(PieceRecord, request, pk, "commission", "design")
    form = PlaceForm(request.POST, studio=request.studio)
    if form.written(record_places.place_add, record=record, member=request.member):
        holder = f", {record.place_words}" if record.place_words else ""
        messages.success(request, f"Written down. It is now {record.get_place_display()}{holder}.")
        return redirect("piece", record.pk)
    return piece_page(request, record, place_form=form, status=400)


@in_studio
@require_POST
def place_take_back(request: StudioRequest, pk: int) -> HttpResponse:
    """Take an entry back that was wrong."""
    place = own(Place, request, pk, "record")
    try:
        record_places.place_take_back(place=place, member=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"Taken back: {place}.")
    return redirect("piece", place.record_id)


@in_studio
@require_http_methods(["GET", "POST"])
def serials(request: StudioRequest) -> HttpResponse:
    """The studio's scheme of serial numbers; only an owner changes it."""
    if request.method == "POST" and request.member.role != MemberRole.OWNER:
        messages.error(request, "Only the studio's owner changes these. Nothing was saved.")
        return redirect("serials")
    data = request.POST if request.method == "POST" else None
    form = SerialForm(data, instance=scheme_of(request.studio), studio=request.studio)
    if data is not None and form.written(scheme_update, studio=request.studio):
        messages.success(request, "Saved. Numbers given out stay as they are.")
        return redirect("serials")
    context = {"section": "studio", "form": form, "may_change": request.member.role == MemberRole.OWNER}
    return render(request, "log/serials.html", context, status=400 if form.errors else 200)


urlpatterns: list[URLPattern] = [
    path("log/new/", piece_new, name="piece_new"),
    path("log/<int:pk>/", piece, name="piece"),
    path("log/<int:pk>/change/", piece_edit, name="piece_edit"),
    path("log/<int:pk>/figures/", piece_again, name="piece_again"),
    path("log/<int:pk>/reasons/", piece_reasons, name="piece_reasons"),
    path("log/<int:pk>/places/", piece_place, name="piece_place"),
    path("log/places/<int:pk>/take-back/", place_take_back, name="place_take_back"),
    path("jobs/<int:pk>/record/", job_record, name="job_record"),
    path("studio/serial-numbers/", serials, name="serials"),
]
