"""Papers of finished pieces, printed from the log as it is: certificates, catalogues, lists for galleries."""

from django.http import HttpResponse
from django.urls import URLPattern, path
from django.views.decorators.http import require_GET

from projects.models import PieceRecord
from projects.pages import catalogue, consignment
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.paper_files import pdf_file
from projects.services.freezing import frozen_letterhead, frozen_species


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
def care(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece's care sheet, for its buyer."""
    from projects.papers.care_sheet import care_pdf  # brings the PDF library

    record = own(PieceRecord, request, pk, "studio", "commission__client")
    printed = care_pdf(record, letterhead=frozen_letterhead(request.studio))
    return pdf_file(printed, name=f"care {record.serial}")


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


urlpatterns: list[URLPattern] = [
    path("log/<int:pk>/certificate.pdf", certificate, name="piece_certificate"),
    path("log/<int:pk>/care.pdf", care, name="piece_care"),
    path("log/<int:pk>/condition.pdf", condition, name="piece_condition"),
    path("log/<int:pk>/packing.pdf", packing, name="piece_packing"),
    *catalogue.urlpatterns,
    *consignment.urlpatterns,
]
