"""The demo's log: what the studio has made before, where it is now, and what grew from it."""

import datetime
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.utils import timezone

from projects.again import Asked, starts_of_piece
from projects.demo_bench import work_done
from projects.demo_pieces import BOWL, BUD_VASE, JAR, OPEN_BOWL, PLATTER, Piece
from projects.models import BenchStep, Client, Commission, Design, Member, PieceRecord, Studio, Wood
from projects.models.commissions import Stage
from projects.services import again, commissions, hours, moisture, record_out, records, saw_settings, studios
from projects.services.bench_cards import is_glue_up
from projects.services.calendar import calendar_plan
from projects.services.place_payments import place_payment_take
from projects.services.record_places import place_add
from projects.services.records import CoatSaid, WoodSaid

Designer = Callable[[Studio, Piece], Design]
Minutes = Iterable[tuple[int, str, int]]
"""Of the hours log: days ago, operation, minutes."""

BEGUN = 29
"""So many days ago the platter was begun: its taps at the bench cannot be older than a month."""

LOT = [{"part": "a", "lot": "R 26-0377"}, {"part": "b", "lot": "H 26-0388"}]

COAT = "apply finish coat and rub down"
PLATTER_TOOK = {
    "choose, check and mark boards": 52,
    "mill boards flat and to thickness": 70,
    "rip strips": 31,
    "set miter and prove with a test ring": 66,
    "crosscut segments": 33,
    "clean, sort and lay out segments": 14,
    "flatten ring face": 38,
    "turn outside": 84,
    "turn inside": 102,
    "sand through the grits": 168,
    "finish foot, sign and number": 46,
}
"""Minutes by operation; the glue-ups took what they were planned to take."""

A_COAT = 18

REASONS = {
    "sand through the grits": "Tear-out in two cherry segments of the side: back to 120 and through all grits again.",
    "set miter and prove with a test ring": "The fence had been moved; proven three times.",
}
PLATTER_WORDS = {
    "boards_words": "Cherry: one board of the 8/4 from C1. Walnut: an offcut from B2.",
    "repairs": "A hairline at the plug, filled with thin epoxy and walnut dust before the second coat.",
    "lessons": "Turn the side with a freshly ground gouge, and stop at the first tear-out.",
    "care": (
        "For dry food and fruit. Wipe with a damp cloth and dry at once; no dishwasher, no oven, no standing water."
    ),
}
BUD_VASE_HOURS: Minutes = [
    *[(74, "crosscut segments", 118), (73, "glue ring", 186), (70, "coat, stack and align layers", 92)],
    *[(66, "turn outside", 148), (66, "turn inside", 131), (65, "sand through the grits", 96)],
    *[(days, COAT, 18) for days in (63, 62, 61, 60, 59)],
]
OPEN_BOWL_HOURS: Minutes = [
    *[(171, "crosscut segments", 160), (169, "glue ring", 60), (165, "turn outside", 134)],
    *[(165, "turn inside", 150), (164, "sand through the grits", 128)],
    *[(days, COAT, 24) for days in (162, 161, 160, 159, 158)],
]
BOWL_HOURS: Minutes = [
    *[(255, "crosscut segments", 52), (254, "glue ring", 96), (250, "turn outside", 101)],
    *[(250, "turn inside", 122), (249, "sand through the grits", 84)],
    *[(days, COAT, 21) for days in (247, 246, 245, 244, 243)],
]
JAR_HOURS: Minutes = [
    *[(331, "crosscut segments", 74), (330, "glue ring", 82), (326, "turn outside", 118)],
    *[(326, "turn inside", 97), (325, "sand through the grits", 90)],
    *[(days, COAT, 22) for days in (322, 321, 320, 319, 318)],
]


def _ago(days: int) -> datetime.date:
    return timezone.localdate() - datetime.timedelta(days)


def fill_the_log(
    studio: Studio, maker: Member, *, gallery: Client, buyer: Client, designed: Designer
) -> None:
    """Write what was made before into the log, say where each piece is, and make one of them again, larger.

    To be called before anything else is at the bench. `designed` makes a design of a piece.
    """
    stock = studios.client_create(studio=studio, kind="private", name="For stock")
    _older(studio, maker, buyer, stock, designed)
    _at_galleries(studio, maker, gallery, stock, designed)
    platter = _platter(studio, maker, designed)
    _twice(studio, maker)
    for name, query in (
        ("Out and to be back", "back=due&sort=back"),
        ("Walnut, here to be sold", "wood=walnut&place=studio"),
    ):
        records.search_save(studio=studio, name=name, query=query)
    _larger(platter)


def _made(
    studio: Studio, maker: Member, design: Design, client: Client, *, title: str, asked: int, minutes: Minutes
) -> Commission:
    """A commission that was finished, with the hours it took."""
    job = commissions.commission_create(
        studio=studio, client=client, title=title, design=design, asked_on=_ago(asked)
    )
    for stage in (Stage.DESIGNING, Stage.QUOTED, Stage.AGREED, Stage.MAKING):
        job = commissions.commission_move(commission=job, to=stage)
    _logged(job, maker, minutes)
    return job


def _logged(job: Commission, maker: Member, minutes: Minutes) -> None:
    for days, operation, took in minutes:
        hours.hours_log(commission=job, member=maker, operation=operation, worked_on=_ago(days), minutes=took)


def _written(job: Commission, maker: Member, *, price: str, **values: Any) -> list[PieceRecord]:
    """All pieces of a commission as they stand in the log; what is made for stock is over with that."""
    job = commissions.commission_move(commission=job, to=Stage.FINISHED)
    count = job.quantity or (job.design.quantity if job.design else 1)
    pieces = [records.record_finish(commission=job, member=maker) for _ in range(count)]
    return [
        records.record_update(record=piece, member=maker, price=Decimal(price), **values) for piece in pieces
    ]


def _over(job: Commission) -> None:
    for stage in (Stage.DELIVERED, Stage.CLOSED):
        job = commissions.commission_move(commission=job, to=stage)


def _for_stock(
    studio: Studio, maker: Member, stock: Client, piece: Design, *, title: str, minutes: Minutes, **said: Any
) -> list[PieceRecord]:
    first = max(days for days, _, _ in minutes)
    job = _made(studio, maker, piece, stock, title=title, asked=first + 6, minutes=minutes)
    pieces = _written(job, maker, **said)
    job.refresh_from_db()
    _over(job)
    return pieces


def _older(studio: Studio, maker: Member, buyer: Client, stock: Client, designed: Designer) -> None:
    """A bowl from the old notebook, sold; a jar that was given away, and a bowl that is lent."""
    records.record_create(
        studio=studio,
        member=maker,
        title="Walnut bowl with a maple line",
        year=_ago(0).year - 2,
        form="bowl",
        height=Decimal(94),
        diameter=Decimal(228),
        mass_g=Decimal(610),
        segments=84,
        price=Decimal(390),
        woods=[WoodSaid("walnut", Decimal("0.9")), WoodSaid("maple", Decimal("0.1"))],
        coats=[CoatSaid("wiping varnish"), CoatSaid("wiping varnish"), CoatSaid("wiping varnish")],
        place={"kind": "sold", "since": _ago(640), "client": buyer, "price": Decimal(390)},
    )
    jar = designed(studio, JAR)
    (given,) = _for_stock(
        studio,
        maker,
        stock,
        jar,
        title="Lidded jar, the first",
        minutes=JAR_HOURS,
        price="540",
        form="lidded jar",
    )
    place_add(
        record=given,
        member=maker,
        kind="given",
        since=_ago(290),
        words="Village hall, East Farrow",
        note="For the raffle; the roof fund.",
    )
    bowl = designed(studio, BOWL)
    (lent,) = _for_stock(
        studio, maker, stock, bowl, title="Low bowl, the first", minutes=BOWL_HOURS, price="620"
    )
    place_add(
        record=lent,
        member=maker,
        kind="lent",
        since=_ago(48),
        due_back=_ago(-54),
        words="Farrow Vale craft rooms",
        note="Winter exhibition; insured by them.",
    )


def _at_galleries(studio: Studio, maker: Member, gallery: Client, stock: Client, designed: Designer) -> None:
    """Two bud vases with one gallery, of which one was sold and is half paid; an open bowl late with another."""
    other = studios.client_create(
        studio=studio,
        kind="gallery",
        name="Tidewrack Rooms",
        contact="Corin Ashby",
        address="2 Ropewalk\nPort Sele",
        email="hello@tidewrack.example",
        gallery_share=Decimal("0.4"),
    )
    vases = _for_stock(
        studio,
        maker,
        stock,
        designed(studio, BUD_VASE),
        title=BUD_VASE.title,
        minutes=BUD_VASE_HOURS,
        price="320",
    )
    asked = {"client": gallery, "price": Decimal(320)}
    for vase in vases:
        place_add(record=vase, member=maker, kind="consigned", since=_ago(52), due_back=_ago(-38), **asked)
    sale = place_add(record=vases[1], member=maker, kind="sold", since=_ago(23), **asked)
    place_payment_take(
        place=sale, member=maker, amount=Decimal(90), paid_on=_ago(9), note="On account, by their statement."
    )
    (late,) = _for_stock(
        studio,
        maker,
        stock,
        designed(studio, OPEN_BOWL),
        title="Open-work bowl, the first",
        minutes=OPEN_BOWL_HOURS,
        price="780",
    )
    asked = {"client": other, "price": Decimal(780)}
    place_add(record=late, member=maker, kind="consigned", since=_ago(140), due_back=_ago(8), **asked)


def _platter(studio: Studio, maker: Member, designed: Designer) -> PieceRecord:
    """A platter that was glued by the cards at the bench, finished, and waits to be fetched."""
    client = studios.client_create(
        studio=studio, kind="private", name="Ansel Threave", address="The Weir House\nLower Farrow"
    )
    design = designed(studio, PLATTER)
    job = _made(studio, maker, design, client, title=PLATTER.title, asked=44, minutes=())
    _measured(job, maker)
    _worked(job, maker)
    measures = {"height": Decimal("36.2"), "diameter": Decimal("291.5"), "mass_g": Decimal(336)}
    (piece,) = _written(job, maker, price="460", **measures, **PLATTER_WORDS)
    reasons: Mapping[int, str] = {
        line.pk: REASONS[line.key] for line in piece.taken.all() if line.key in REASONS
    }
    records.reasons_give(record=piece, reasons=reasons, member=maker)
    return piece


def _measured(job: Commission, maker: Member) -> None:
    """What the moisture meter read of its strips, and what the saw was set to."""
    woods = {wood.key: wood for wood in Wood.objects.for_studio(job.studio)}
    for wood, percent in (("cherry", "7.4"), ("walnut", "7.1")):
        moisture.reading_add(
            commission=job,
            member=maker,
            wood=woods[wood],
            what="strips, before the rings",
            percent=Decimal(percent),
            read_on=_ago(BEGUN),
            milled_on=_ago(BEGUN + 9),
        )
    for count, shown in ((12, "15.1"), (24, "7.5")):
        saw_settings.saw_setting_record(
            studio=job.studio,
            member=maker,
            commission=job,
            saw="Table saw, miter sled",
            miter_deg=Decimal(180) / count,
            shown_deg=Decimal(shown),
            segments=count,
            closed="tight",
            gap=Decimal(0),
            proven_on=_ago(28),
        )


def _worked(job: Commission, maker: Member) -> None:
    """Every glue-up as it was planned then, with the lots of its adhesive; all else in the hours log on its day."""
    calendar_plan(studio=job.studio, now=timezone.now() - datetime.timedelta(BEGUN))
    minutes = [(BEGUN, "design and drawings", 95)]
    left, today = dict(PLATTER_TOOK), timezone.localdate()
    for step in BenchStep.objects.filter(commission=job, kind="hands_on").live().by_time():
        assert step.planned_start is not None, "it was planned"
        days = (today - timezone.localdate(step.planned_start)).days
        if is_glue_up(step):
            end = step.planned_start + datetime.timedelta(minutes=step.minutes)
            work_done(step, maker, start=step.planned_start, end=end, lots=LOT)
        elif COAT in step.shares:
            minutes.append((days, COAT, A_COAT))
        else:
            minutes += [(days, name, left.pop(name)) for name in step.shares if name in left]
    _logged(job, maker, minutes)


def _twice(studio: Studio, maker: Member) -> None:
    """A piece that got into the log twice, and was taken out of it."""
    double = records.record_create(
        studio=studio, member=maker, title="Jar with a zigzag band", year=_ago(331).year, form="lidded bowl"
    )
    record_out.record_take_out(
        record=double, reason="Written in twice: it is the lidded jar that was given away.", member=maker
    )


def _larger(platter: PieceRecord) -> None:
    """The platter made again at a quarter more: a design of its own, that says where it came from."""
    start, asked = starts_of_piece(platter)["design"], Asked(factor=1.25)
    shown = again.again_shown(start=start, asked=asked)
    again.again_make(start=start, asked=asked, title="Platter with a walnut rim, large", seen=shown.mark)
