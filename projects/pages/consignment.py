"""What galleries have on consignment: by gallery, as a page and as the list they are sent, and what they paid."""

import datetime
from collections import defaultdict
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from projects.consigned import Stay, dues_of
from projects.models import Client, PlacePayment
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.consignment_form import PaidForm
from projects.pages.paper_files import pdf_file
from projects.papers.consignment import Summary, groups, summary
from projects.services.freezing import frozen_letterhead
from projects.services.place_payments import place_payment_take_back, sale_of
from projects.templatetags.turnery import money


@in_studio
@require_GET
def consignment(request: StudioRequest) -> HttpResponse:
    """Who has pieces on consignment, or had any, what is late there and what is still due."""
    today = timezone.localdate()
    stays = dues_of(request.studio, today=today).stays
    found = summary(stays, on=today)
    context = {"section": "log", "galleries": _by_gallery(stays, today), "found": found}
    return render(request, "log/consignment.html", context)


def _by_gallery(stays: list[Stay], today: datetime.date) -> list[tuple[Client, int, Summary]]:
    """Each client with a stay, by name: how many pieces ever, and the rest in short."""
    whose: defaultdict[Client, list[Stay]] = defaultdict(list)
    for stay in stays:
        whose[stay.client].append(stay)
    return [
        (client, len({stay.record.pk for stay in mine}), summary(mine, on=today))
        for client, mine in sorted(whose.items(), key=lambda one: (one[0].name, one[0].pk))
    ]


@in_studio
@require_GET
def gallery_consignment(request: StudioRequest, pk: int) -> HttpResponse:
    """What one gallery has, sold, paid and sent back."""
    return _gallery_page(request, own(Client, request, pk))


def _gallery_page(
    request: StudioRequest, client: Client, *, form: PaidForm | None = None, status: int = 200
) -> HttpResponse:
    today = timezone.localdate()
    stays = dues_of(request.studio, today=today, client=client).stays
    context: dict[str, Any] = {
        "section": "log",
        "client": client,
        "groups": groups(stays, on=today),
        "found": summary(stays, on=today),
        "paid_form": form or PaidForm(stays=stays, studio=request.studio),
        "payments": _payments(stays),
        "by_order": any(stay.job and stay.sale for stay in stays),
    }
    return render(request, "log/consignment_of.html", context, status=status)


def _payments(stays: list[Stay]) -> list[tuple[PlacePayment, Stay, bool]]:
    """What was paid for a gallery's sales, the newest first, and whether it was taken back."""
    sold = {stay.sale.pk: stay for stay in stays if stay.sale and stay.job is None}
    rows = PlacePayment.objects.filter(place__in=sold).select_related("member__user")
    gone = {row.takes_back_id for row in rows}
    kept = [row for row in rows if row.takes_back_id is None]
    return [(row, sold[row.place_id], row.pk in gone) for row in reversed(kept)]


@in_studio
@require_POST
def gallery_paid(request: StudioRequest, pk: int) -> HttpResponse:
    """Write down what a gallery paid."""
    client = own(Client, request, pk)
    stays = dues_of(request.studio, today=timezone.localdate(), client=client).stays
    form = PaidForm(request.POST, stays=stays, studio=request.studio)
    if made := form.taken(client=client, member=request.member):
        count = f"{len(made)} piece{'' if len(made) == 1 else 's'}"
        messages.success(request, f"Written down for {count}.")
        return redirect("gallery_consignment", client.pk)
    return _gallery_page(request, client, form=form, status=400)


@in_studio
@require_POST
def gallery_paid_back(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a payment back that was wrong."""
    payment = own(PlacePayment, request, pk, "place__record")
    try:
        place_payment_take_back(payment=payment, member=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"Taken back: {money(payment.amount, payment.currency)}.")
    stay = sale_of(payment.place)
    return (
        redirect("gallery_consignment", stay.client.pk)
        if stay
        else redirect("piece", payment.place.record_id)
    )


@in_studio
@require_GET
def gallery_consignment_pdf(request: StudioRequest, pk: int) -> HttpResponse:
    """The same as a paper."""
    client, today = own(Client, request, pk), timezone.localdate()
    if not (stays := dues_of(request.studio, today=today, client=client).stays):
        raise Http404
    from projects.papers.consignment import consignment_pdf

    letterhead = frozen_letterhead(request.studio)
    printed = consignment_pdf(stays, client=client, letterhead=letterhead, on=today)
    return pdf_file(printed, name=f"consignment {client.name} {today.isoformat()}")


urlpatterns: list[URLPattern] = [
    path("log/consignment/", consignment, name="consignment"),
    path("log/consignment/<int:pk>/", gallery_consignment, name="gallery_consignment"),
    path("log/consignment/<int:pk>/paid/", gallery_paid, name="gallery_paid"),
    path("log/consignment/<int:pk>/list.pdf", gallery_consignment_pdf, name="gallery_consignment_pdf"),
    path("log/consignment/payments/<int:pk>/take-back/", gallery_paid_back, name="gallery_paid_back"),
]
