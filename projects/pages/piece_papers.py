"""Papers of finished pieces, printed from the log as it is: certificates, catalogues, lists for galleries."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from projects.models import PieceRecord
from projects.pages import consignment
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.catalogue_form import MOST_PIECES, CatalogueForm
from projects.pages.log_filter import SORTS, asked
from projects.pages.paper_files import pdf_file
from projects.services.freezing import frozen_letterhead, frozen_species

_LONGEST_KEY = 18
"""Digits of a row's key: what is longer is nobody's."""


@in_studio
@require_GET
def certificate(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece's certificate."""
    from projects.papers.certificate import certificate_pdf  # brings the PDF library

    record = own(PieceRecord, request, pk, "commission__design")
    printed = certificate_pdf(record, letterhead=frozen_letterhead(request.studio))
    return pdf_file(printed, name=f"certificate {record.serial}")


@in_studio
@require_GET
def condition(request: StudioRequest, pk: int) -> HttpResponse:
    """A condition report of a piece, to be filled in at both ends of its way."""
    from projects.papers.piece_notes import condition_pdf  # brings the PDF library

    record = own(PieceRecord, request, pk)
    printed = condition_pdf(record, letterhead=frozen_letterhead(request.studio))
    return pdf_file(printed, name=f"condition {record.serial}")


@in_studio
@require_GET
def packing(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece's packing note."""
    from projects.papers.piece_notes import packing_pdf  # brings the PDF library

    record = own(PieceRecord, request, pk, "studio__pricing", "commission__design", "commission__client")
    species = frozen_species(request.studio, record.woods.exclude(key="").values_list("key", flat=True))
    printed = packing_pdf(record, letterhead=frozen_letterhead(request.studio), species=species)
    return pdf_file(printed, name=f"packing {record.serial}")


@in_studio
@require_GET
def catalogue(request: StudioRequest) -> HttpResponse:
    """A catalogue of the pieces ticked in the table, or of all that it shows; what is wrong is said beside it."""
    form = CatalogueForm(request.GET)
    pieces = _chosen(request)
    refused = [str(words) for errors in form.errors.values() for words in errors]
    if not pieces:
        refused.append("Tick the pieces first, or take all that are shown.")
    elif len(pieces) > MOST_PIECES:
        refused.append(f"A catalogue has {MOST_PIECES} pieces at most. Choose fewer, or ask for less.")
    if refused:
        messages.error(request, " ".join(refused))
        return redirect(f"{reverse('log_table')}?{request.GET.urlencode()}#catalogue")
    from projects.papers.catalogue import catalogue_pdf  # brings the PDF library

    title = form.cleaned_data["title"] or f"Pieces by {request.studio.name}"
    printed = catalogue_pdf(
        pieces,
        letterhead=frozen_letterhead(request.studio),
        title=title,
        with_prices=form.cleaned_data["prices"],
        a_page=int(form.cleaned_data["a_page"]),
        on=timezone.localdate(),
    )
    return pdf_file(printed, name=f"catalogue {title}")


def _chosen(request: StudioRequest) -> list[PieceRecord]:
    """The pieces ticked, or all that is asked for, in the order asked; one more than are printed at most.

    Errors: Http404 for a tick that stands for no piece of the studio.
    """
    found = asked(request.GET, request.studio)
    records = found.records
    if request.GET.get("of") != "all":
        ticks = set(request.GET.getlist("piece"))
        if any(not (tick.isascii() and tick.isdigit() and len(tick) <= _LONGEST_KEY) for tick in ticks):
            raise Http404
        keys = {int(tick) for tick in ticks}
        order = SORTS[found.form.cleaned_data.get("sort", "")][1]
        records = PieceRecord.objects.for_studio(request.studio).filter(pk__in=keys).order_by(*order)
        if records.count() != len(keys):
            raise Http404
    return list(records.prefetch_related("woods", "coats")[: MOST_PIECES + 1])


urlpatterns: list[URLPattern] = [
    path("log/<int:pk>/certificate.pdf", certificate, name="piece_certificate"),
    path("log/<int:pk>/condition.pdf", condition, name="piece_condition"),
    path("log/<int:pk>/packing.pdf", packing, name="piece_packing"),
    path("log/catalogue.pdf", catalogue, name="catalogue"),
    *consignment.urlpatterns,
]
