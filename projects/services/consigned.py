"""What galleries have or had on consignment, read from where the pieces have been. Reads only."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import groupby

from django.db.models import Count, Q, QuerySet

from estimating.price.money import round_money
from estimating.price.shares import part_of_studio
from estimating.price.tax import tax_in
from projects.models import Client, PieceRecord, Place, Studio
from projects.models.records import PlaceKind
from projects.models.studio import ClientKind
from projects.papers.consignment import Stay
from projects.pricing_data import pricing_of


def galleries(studio: Studio) -> QuerySet[Client]:
    """Clients who have or had pieces on consignment, by name; `pieces` is how many pieces they ever had."""
    stood = Q(placed__kind=PlaceKind.CONSIGNED, placed__takes_back=None, placed__taken_back_by=None)
    clients = Client.objects.for_studio(studio).filter(stood)
    found: QuerySet[Client] = clients.annotate(pieces=Count("placed__record", distinct=True)).order_by(
        "name", "pk"
    )
    return found


def stays_with(client: Client) -> list[Stay]:
    """Every stay of a piece with a client on consignment, by the day it came; three queries."""
    standing = Place.objects.for_studio(client.studio_id).filter(takes_back=None, taken_back_by=None)
    records = standing.filter(kind=PlaceKind.CONSIGNED, client=client).values("record")
    places = standing.filter(record__in=records).select_related(
        "client", "record__commission__client", "record__commission__studio__pricing"
    )
    stays = [
        stay
        for _, been in groupby(places.order_by("record", "since", "pk"), lambda place: place.record_id)
        for stay in _stays(list(been), client)
    ]
    return sorted(stays, key=lambda stay: (stay.since, stay.record.pk))


def _stays(been: Sequence[Place], client: Client) -> Iterator[Stay]:
    """Entries with the same gallery after one another are one stay, at the price of the last."""
    there: list[Place] = []
    for place in [*been, None]:
        if place is not None and place.kind == PlaceKind.CONSIGNED and place.client_id == client.pk:
            there.append(place)
        elif there:
            yield _stay(there, place, client)
            there = []


def _stay(there: Sequence[Place], then: Place | None, client: Client) -> Stay:
    record: PieceRecord = there[0].record
    sold = then if then is not None and then.kind == PlaceKind.SOLD else None
    said = [place.price for place in ([sold] if sold else []) + list(reversed(there))]
    price = next((amount for amount in (*said, record.price) if amount is not None), None)
    return Stay(
        record=record,
        since=there[0].since,
        price=price,
        part=None if price is None else studios_part(price, record=record, client=client),
        until=then.since if then else None,
        went=then.kind if then else "",
        where=str(then) if then else "",
    )


def studios_part(price: Decimal, *, record: PieceRecord, client: Client) -> Decimal | None:
    """What of a price that a gallery's buyer pays is the studio's, before tax; None where no share is known.

    The share is the commission's where the piece was made for this client, else the client's own, else the usual one of
    a gallery. A price that holds tax is taken without it first.
    """
    job = record.commission if record.commission and record.commission.client_id == client.pk else None
    pricing = pricing_of(client.studio, adhesive=None, commission=job)
    if job is None and client.gallery_share is not None:
        pricing = replace(pricing, gallery_share=client.gallery_share)
    elif client.kind != ClientKind.GALLERY and not (job and pricing.gallery_share):
        return None
    tax = tax_in(price, rate=pricing.tax, currency=record.currency) if pricing.tax_inclusive else Decimal(0)
    part = part_of_studio(price - tax, listed=price - tax, pricing=pricing)
    return round_money(part, currency=record.currency)
