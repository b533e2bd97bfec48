"""The photos of a piece: taken in, put in order, and handed out to those who work in the studio, and to nobody else."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.models import PieceRecord, RecordDrawing, RecordPhoto
from projects.models.photos import PhotoKind
from projects.pages.access import StudioRequest, in_studio, own
from projects.services import record_photos

MOST_AT_ONCE = 20
SIZES = {"shown": "shown", "small": "small"}
# What is served was drawn anew as JPEG; the browser is to take it, and whatever came as a file, for nothing else.
LOCKED = {
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
}


@in_studio
@require_http_methods(["GET", "POST"])
def photos(request: StudioRequest, pk: int) -> HttpResponse:
    """The photos of a piece: more of them, their order, and which stands for it."""
    record = own(PieceRecord, request, pk)
    refused: list[str] = []
    if request.method == "POST":
        kept, refused = _taken_in(request, record)
        if kept:
            messages.success(request, f"Kept: {kept} photo{'' if kept == 1 else 's'}.")
        if not refused:
            return redirect("piece_photos", record.pk)
    there = list(record.photos.all())
    context: dict[str, Any] = {
        "section": "log",
        "piece": record,
        "refused": refused,
        "kinds": [
            (label, [one for one in there if one.kind == kind and one.taken_out_at is None])
            for kind, label in PhotoKind.choices
        ],
        "out": [one for one in there if one.taken_out_at is not None],
        "most": MOST_AT_ONCE,
    }
    return render(request, "log/photos.html", context, status=400 if refused else 200)


def _taken_in(request: StudioRequest, record: PieceRecord) -> tuple[int, list[str]]:
    """How many of the files sent were kept, and why the others were not."""
    files = request.FILES.getlist("photos")
    if not files:
        return 0, ["Choose one or more photos first."]
    if len(files) > MOST_AT_ONCE:
        return 0, [f"{len(files)} photos are too many at once. Send {MOST_AT_ONCE} at a time."]
    kind = PhotoKind.PROCESS if request.POST.get("kind") == PhotoKind.PROCESS else PhotoKind.PIECE
    kept, refused = 0, []
    for file in files:
        try:
            record_photos.photo_add(record=record, upload=file, member=request.member, kind=kind)
        except ValidationError as refusal:
            refused += refusal.messages
        else:
            kept += 1
    return kept, refused


@in_studio
@require_POST
def photo_act(request: StudioRequest, pk: int, act: str) -> HttpResponse:
    """One thing done to a photo: forward, back, chosen, words, taken out, put back, thrown away."""
    photo = own(RecordPhoto, request, pk, "record")
    acts = {
        "forward": lambda: record_photos.photo_move(photo=photo, by=-1),
        "back": lambda: record_photos.photo_move(photo=photo, by=1),
        "choose": lambda: record_photos.photo_choose(photo=photo),
        "words": lambda: record_photos.photo_update(photo=photo, caption=request.POST.get("caption", "")),
        "take-out": lambda: record_photos.photo_take_out(photo=photo),
        "put-back": lambda: record_photos.photo_put_back(photo=photo),
        "throw-away": lambda: record_photos.photo_throw_away(photo=photo),
    }
    if act not in acts:
        raise Http404
    try:
        acts[act]()
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        if act == "take-out":
            messages.success(request, "Taken out. It can be put back, below.")
    return redirect("piece_photos", photo.record_id)


@in_studio
@require_GET
def photo(request: StudioRequest, pk: int, size: str) -> HttpResponse:
    """A photo as it is shown, large or small."""
    row = own(RecordPhoto, request, pk)
    if size not in SIZES:
        raise Http404
    headers = {
        **LOCKED,
        "Content-Disposition": f'inline; filename="piece-{row.pk}.jpg"',
        # A file is never changed under its address, so that a browser need not ask again.
        "Cache-Control": "private, max-age=604800, immutable",
    }
    return HttpResponse(_content(getattr(row, size)), content_type="image/jpeg", headers=headers)


@in_studio
@require_GET
def photo_original(request: StudioRequest, pk: int) -> HttpResponse:
    """The file as it came, to be saved and never to be opened here."""
    row = own(RecordPhoto, request, pk)
    headers = {
        **LOCKED,
        "Content-Disposition": f'attachment; filename="{row.original_name.encode("ascii", "replace").decode()}"',
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(_content(row.original), content_type="application/octet-stream", headers=headers)


@in_studio
@require_GET
def drawing(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece as it was drawn when it was written into the log."""
    row = RecordDrawing.objects.filter(record=own(PieceRecord, request, pk)).first()
    if row is None:
        raise Http404
    headers = {
        **LOCKED,
        "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
        "Content-Disposition": f'inline; filename="piece-{pk}.svg"',
        "Cache-Control": "private, max-age=604800",
    }
    return HttpResponse(row.svg, content_type="image/svg+xml", headers=headers)


def _content(file: Any) -> bytes:
    if not file:
        raise Http404
    try:
        with file.open("rb") as stored:
            content: bytes = stored.read()
            return content
    except OSError:
        raise Http404 from None


urlpatterns: list[URLPattern] = [
    path("log/<int:pk>/photos/", photos, name="piece_photos"),
    path("log/<int:pk>/drawing.svg", drawing, name="piece_drawing"),
    path("log/photos/<int:pk>/original/", photo_original, name="photo_original"),
    path("log/photos/<int:pk>/do/<slug:act>/", photo_act, name="photo_act"),
    path("log/photos/<int:pk>/<slug:size>.jpg", photo, name="piece_photo"),
]
