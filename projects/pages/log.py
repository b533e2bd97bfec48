"""The log of finished pieces: as pictures to be enjoyed, as a table to work with, and the searches that are kept."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Count, Max, Min, Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from projects.models import PieceRecord, SavedSearch, Studio
from projects.models.records import PlaceKind
from projects.pages import log_files, piece, piece_out, piece_papers, piece_photos
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.catalogue_choice import choice_of, in_log
from projects.pages.log_filter import Asked, asked, with_pictures
from projects.services import records
from projects.services.record_recall import jobs_with_lot

PICTURES_A_PAGE = 24
ROWS_A_PAGE = 50
VIEWS = {"pictures": "log", "table": "log_table"}


@in_studio
@require_GET
def log(request: StudioRequest) -> HttpResponse:
    """The pieces as pictures, the newest first."""
    return _shown(request, "pictures", PICTURES_A_PAGE)


@in_studio
@require_GET
def log_table(request: StudioRequest) -> HttpResponse:
    """The pieces as a table."""
    return _shown(request, "table", ROWS_A_PAGE)


def _shown(request: StudioRequest, view: str, a_page: int) -> HttpResponse:
    found = asked(request.GET, request.studio)
    in_all = _in_all(request.studio)
    paginator = Paginator(with_pictures(found.records), a_page)
    page = paginator.get_page(request.GET.get("page"))
    context = {
        "section": "log",
        "view": view,
        "asked": found,
        "page": page,
        "pieces": list(page.object_list),
        "today": timezone.localdate(),
        "all": in_all,
        "searches": SavedSearch.objects.for_studio(request.studio),
        "chosen": in_log(choice_of(request, request.studio).pieces, request.studio),
        "unlogged": jobs_with_lot(request.studio, found.given.get("q", "")),
        "more": any(name not in ("q", "sort") for name in found.given),
    }
    return render(request, f"log/{view}.html", context, status=400 if found.form.errors else 200)


def _in_all(studio: Studio) -> dict[str, Any]:
    """How many pieces there are, from when to when, and how many are where. One query."""
    counts = {kind.value: Count("pk", filter=Q(place=kind)) for kind in PlaceKind}
    pieces = PieceRecord.objects.for_studio(studio).order_by()
    return pieces.aggregate(count=Count("pk"), first=Min("year"), last=Max("year"), **counts)


@in_studio
@require_POST
def search_save(request: StudioRequest) -> HttpResponse:
    """Keep what is asked under a name."""
    data = request.POST.copy()
    found: Asked = asked(data, request.studio)
    view = VIEWS.get(data.get("view", ""), "log")
    try:
        kept = records.search_save(studio=request.studio, name=data.get("name", ""), query=found.query)
    except ValidationError as refusal:
        messages.error(request, f"The search was not saved. {' '.join(refusal.messages)}")
    else:
        messages.success(request, f"Saved: {kept.name}.")
    return redirect(f"{reverse(view)}?{found.query}")


@in_studio
@require_POST
def search_delete(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a saved search out."""
    kept = own(SavedSearch, request, pk)
    records.search_delete(search=kept)
    messages.success(request, f"Taken out: {kept.name}.")
    return redirect("log")


urlpatterns: list[URLPattern] = [
    path("log/", log, name="log"),
    path("log/table/", log_table, name="log_table"),
    path("log/pieces.csv", log_files.log_csv, name="log_csv"),
    path("log/pieces.json", log_files.log_json, name="log_json"),
    path("log/import/", log_files.log_import, name="log_import"),
    path("log/searches/", search_save, name="search_save"),
    path("log/searches/<int:pk>/take-out/", search_delete, name="search_delete"),
    *piece.urlpatterns,
    *piece_out.urlpatterns,
    *piece_photos.urlpatterns,
    *piece_papers.urlpatterns,
]
