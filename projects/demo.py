"""The demo: an invented studio, its clients, what it is at and what it has made, for trying the program out."""

import datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from projects import demo_life, demo_log
from projects.demo_bench import work_at_the_bench
from projects.demo_pieces import BOWL, JAR, OPEN_BOWL, VASE, Piece
from projects.models import Client, Commission, Design, Member, Studio, Wood
from projects.models.commissions import Stage
from projects.services import commissions, designs, hours, moisture, rack, saw_settings, shop, studios

LOG_IN = "demo"
PASSWORD = "turn-and-glue"
STUDIO = "Kestrel Hollow Woodturning"

LETTERHEAD: dict[str, Any] = {
    "tagline": "Segmented vessels, made to be handled",
    "address": "The Old Cooperage\n7 Hollow Lane\nEast Farrow",
    "email": "studio@kestrelhollow.example",
    "phone": "555 0142",
    "web": "kestrelhollow.example",
    "tax_number": "TX-0000-0142",
    "bank_details": "Farrow Vale Bank\nAccount 00 0142 0077",
    "currency": "USD",
    "letterhead_note": "Every piece is signed, numbered and recorded.",
    "care": (
        "Keep away from radiators, fires and direct sun, and out of water. Wipe with a soft dry cloth. "
        "Even humidity keeps the joints happy; the piece is for show and for dry things."
    ),
    "lead_time": "10 to 12 weeks from the deposit",
}
PRICES = {"maple": 4200, "walnut": 9800, "cherry": 6100, "padauk": 8900}
CARRIAGE = {"2": "8.40", "5": "12.50", "10": "18.90", "20": "31.00", "31.5": "44.00"}
RACK: list[dict[str, Any]] = [
    {
        "wood": "maple",
        "length": 2400,
        "width": 160,
        "thickness": 45,
        "count": 2,
        "price": "82.00",
        "place": "A2",
        "defects": [[0, 70], [1480, 1560, 0, 55]],
        "note": "end split, and a knot near one edge",
    },
    {
        "wood": "maple",
        "length": 1500,
        "width": 140,
        "thickness": 27,
        "count": 2,
        "price": "26.00",
        "place": "A3",
    },
    {
        "wood": "walnut",
        "length": 1800,
        "width": 150,
        "thickness": 27,
        "count": 3,
        "price": "78.00",
        "place": "B1",
    },
    {
        "wood": "walnut",
        "length": 900,
        "width": 120,
        "thickness": 45,
        "count": 1,
        "price": "52.00",
        "place": "B2",
        "defects": [[610, 660, 80, 120]],
    },
    {
        "wood": "cherry",
        "length": 2400,
        "width": 150,
        "thickness": 45,
        "nominal": "8/4",
        "count": 2,
        "bought_by": "board_foot",
        "price_per_unit": "13.40",
        "place": "C1",
    },
    {
        "wood": "cherry",
        "length": 1200,
        "width": 130,
        "thickness": 27,
        "nominal": "5/4",
        "count": 2,
        "price": "29.00",
        "place": "C1",
    },
]


# What has been done on the bowl before the bench: days ago, operation, minutes, how many.
LOGGED = [(26, "design and drawings", 80, 6)]

# What the moisture meter read of the bowl's strips before the first glue-up: wood, board, %.
READ = [("cherry", "C1, first board", "7.2"), ("walnut", "B1", "7.6"), ("maple", "A3", "6.9")]

# What the saw was set to for the bowl's rings of 16, first a trial: days ago, ° shown, the ring, its gap in mm, a note.
PROVEN = [
    (8, "11.3", "inside", "0.4", "Trial in offcuts; set again."),
    (7, "11.2", "tight", "0", "Closed at the second trial."),
]


def load_demo() -> Studio | None:
    """Make the demo studio with all that is in it; None, and nothing changed, when it is there already."""
    if User.objects.filter(username=LOG_IN).exists() or Studio.objects.filter(name=STUDIO).exists():
        return None
    with transaction.atomic():
        owner = User.objects.create_user(LOG_IN, password=PASSWORD, first_name="Demo", last_name="Turner")
        studio = studios.studio_create(name=STUDIO, owner=owner, **LETTERHEAD)
        _stock(studio)
        _take_on(studio, owner.member)
    return studio


def _stock(studio: Studio) -> None:
    woods = {wood.key: wood for wood in Wood.objects.for_studio(studio).filter(key__in=PRICES)}
    for key, price in PRICES.items():
        shop.wood_update(wood=woods[key], price_per_m3=Decimal(price), active=True)
    for board in RACK:
        rack.board_create(studio=studio, **board | {"wood": woods[board["wood"]]})
    epoxy = studio.adhesives.get(usual=True)
    shop.adhesive_update(adhesive=epoxy, price_per_ml=Decimal("0.045"))
    varnish = studio.finishes.get(usual=True)
    shop.finish_update(finish=varnish, price_per_ml=Decimal("0.05"))
    studios.pricing_update(studio=studio, tax_name="Sales tax")
    for kg, asked in CARRIAGE.items():
        shop.carriage_create(studio=studio, up_to_kg=Decimal(kg), price=Decimal(asked))


def _take_on(studio: Studio, maker: Member) -> None:
    today = timezone.localdate()
    gallery = studios.client_create(
        studio=studio,
        kind="gallery",
        name="Lantern Row Gallery",
        contact="Ottilie Brand",
        address="12 Lantern Row\nPort Sele",
        email="desk@lanternrow.example",
        gallery_share=Decimal("0.45"),
    )
    private = studios.client_create(
        studio=studio,
        kind="private",
        name="Wilmet Sarrow",
        address="3 Quince Yard\nNether Holm",
        email="w.sarrow@mail.example",
        room_temperature_c=Decimal(21),
        room_humidity=Decimal(28),
    )
    demo_log.fill_the_log(studio, maker, gallery=gallery, buyer=private, designed=_design)
    vase = _commission(studio, gallery, VASE, asked=today - datetime.timedelta(12), weeks=13)
    bowl = _commission(studio, private, BOWL, asked=today - datetime.timedelta(30), weeks=5)
    _commission(studio, private, JAR, asked=today - datetime.timedelta(5), weeks=9)
    asked = {"offered_retail": Decimal(2400), "notes": "For the spring show; they would like to ask 2,400."}
    _commission(studio, gallery, OPEN_BOWL, asked=today - datetime.timedelta(2), weeks=20, stages=(), **asked)
    demo_life.agree(bowl, maker)
    bowl = commissions.commission_move(commission=bowl, to=Stage.MAKING)
    _log(bowl, maker, today=today)
    _read(bowl, maker, today=today)
    _prove(bowl, maker, today=today)
    message = "Thank you for asking. This is the vase we talked about, drawn to scale on this page."
    work_at_the_bench(studio, maker, bowl, gallery=gallery)
    demo_life.ask(vase, maker, message=message)
    demo_life.throw_letters_away(studio)


def _commission(
    studio: Studio,
    client: Client,
    piece: Piece,
    *,
    asked: datetime.date,
    weeks: int,
    stages: tuple[str, ...] = (Stage.DESIGNING,),
    **values: Any,
) -> Commission:
    design = _design(studio, piece)
    promised = timezone.localdate() + datetime.timedelta(weeks=weeks)
    dates = {"asked_on": asked, "promised_on": promised}
    commission = commissions.commission_create(
        studio=studio, client=client, title=piece.title, design=design, **dates, **values
    )
    for stage in stages:
        commission = commissions.commission_move(commission=commission, to=stage)
    return commission


def _design(studio: Studio, piece: Piece) -> Design:
    """The design of a piece, made where it is not there from an earlier one."""
    there = Design.objects.for_studio(studio).filter(title=piece.title).first()
    return there or designs.design_create(studio=studio, title=piece.title, parts=piece.parts, **piece.values)


def _log(commission: Commission, maker: Member, *, today: datetime.date) -> None:
    for days, operation, minutes, quantity in LOGGED:
        hours.hours_log(
            commission=commission,
            member=maker,
            operation=operation,
            worked_on=today - datetime.timedelta(days),
            minutes=minutes,
            quantity=quantity,
        )


def _read(commission: Commission, maker: Member, *, today: datetime.date) -> None:
    woods = {wood.key: wood for wood in Wood.objects.for_studio(commission.studio)}
    for wood, what, percent in READ:
        moisture.reading_add(
            commission=commission,
            member=maker,
            wood=woods[wood],
            what=what,
            percent=Decimal(percent),
            read_on=today - datetime.timedelta(5),
            milled_on=today - datetime.timedelta(13),
        )


def _prove(commission: Commission, maker: Member, *, today: datetime.date) -> None:
    for days, shown, closed, gap, note in PROVEN:
        saw_settings.saw_setting_record(
            studio=commission.studio,
            member=maker,
            commission=commission,
            saw="Table saw, miter sled",
            miter_deg=Decimal(180) / 16,
            shown_deg=Decimal(shown),
            segments=16,
            closed=closed,
            gap=Decimal(gap),
            proven_on=today - datetime.timedelta(days),
            note=note,
        )
