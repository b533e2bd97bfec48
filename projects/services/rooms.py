"""Saying in what air a piece will live."""

from decimal import Decimal

from django.db import transaction

from projects.models import Commission
from projects.services.commissions import commission_update
from projects.services.studios import client_update


def room_set(
    *,
    commission: Commission,
    for_client: bool,
    room_temperature_c: Decimal | None,
    room_humidity: Decimal | None,
) -> Commission:
    """Say where a piece will live: in a room of this commission's, or in the client's for all that is theirs.

    The client's room then counts for this commission too; without figures the room is forgotten.
    Errors: ValidationError at a figure out of range, or at the one that is missing.
    """
    room = {"room_temperature_c": room_temperature_c, "room_humidity": room_humidity}
    if not for_client:
        return commission_update(commission=commission, **room)
    with transaction.atomic():
        client_update(client=commission.client, **room)
        return commission_update(commission=commission, room_temperature_c=None, room_humidity=None)
