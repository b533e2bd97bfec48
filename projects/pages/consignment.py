"""What galleries have on consignment: by gallery, as a page and as the list they are sent."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.http import require_GET

from projects.models import Client, PieceRecord
from projects.models.records import PlaceKind
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.paper_files import pdf_file
from projects.papers.consignment import groups
from projects.services.consigned import galleries, stays_with
from projects.services.freezing import frozen_letterhead


@in_studio
@require_GET
def consignment(request: StudioRequest) -> HttpResponse:
    """Who has pieces on consignment, or had any."""
    out = PieceRecord.objects.for_studio(request.studio).filter(place=PlaceKind.CONSIGNED)
    context = {"section": "log", "galleries": galleries(request.studio), "out": out.count()}
    return render(request, "log/consignment.html", context)


@in_studio
@require_GET
def gallery_consignment(request: StudioRequest, pk: int) -> HttpResponse:
    """What one gallery has, sold and sent back."""
    client = own(Client, request, pk, "studio__pricing")
    context = {"section": "log", "client": client, "groups": groups(stays_with(client))}
    return render(request, "log/consignment_of.html", context)


@in_studio
@require_GET
def gallery_consignment_pdf(request: StudioRequest, pk: int) -> HttpResponse:
    """The same as a paper."""
    client = own(Client, request, pk, "studio__pricing")
    if not (stays := stays_with(client)):
        raise Http404
    from projects.papers.consignment import consignment_pdf

    letterhead, today = frozen_letterhead(request.studio), timezone.localdate()
    printed = consignment_pdf(stays, client=client, letterhead=letterhead, on=today)
    return pdf_file(printed, name=f"consignment {client.name} {today.isoformat()}")


urlpatterns: list[URLPattern] = [
    path("log/consignment/", consignment, name="consignment"),
    path("log/consignment/<int:pk>/", gallery_consignment, name="gallery_consignment"),
    path("log/consignment/<int:pk>/list.pdf", gallery_consignment_pdf, name="gallery_consignment_pdf"),
]
