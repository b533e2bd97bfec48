"""Papers of finished pieces, printed from the log as it is: certificates, catalogues, lists for galleries."""

from django.http import HttpResponse
from django.urls import URLPattern, path
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from projects.models import PieceRecord
from projects.pages.access import StudioRequest, in_studio, own
from projects.services.freezing import frozen_letterhead


@in_studio
@require_GET
def certificate(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece's certificate."""
    from projects.papers.certificate import certificate_pdf  # brings the PDF library

    record = own(PieceRecord, request, pk, "commission__design")
    printed = certificate_pdf(record, letterhead=frozen_letterhead(request.studio))
    return _handed_out(printed, name=f"certificate {record.serial}")


def _handed_out(printed: bytes, *, name: str) -> HttpResponse:
    return HttpResponse(
        printed,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{slugify(name)}.pdf"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, no-cache",
        },
    )


urlpatterns: list[URLPattern] = [
    path("log/<int:pk>/certificate.pdf", certificate, name="piece_certificate"),
]
