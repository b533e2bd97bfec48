"""What is printed of a sawing plan for several commissions: its bench book, and the list for the timber yard."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.urls import URLPattern, path
from django.views.decorators.http import require_GET

from projects.models import SawingPlan, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.cut import batches
from projects.pages.paper_files import pdf_file
from projects.pages.sawing_rows import letter_of, rings_of
from projects.pages.sawing_work import plan_commissions, plan_work
from projects.papers.sizes import paper_of
from projects.papers.to_buy import Printer, Units, write_timber_list
from projects.sawing import inputs_of
from projects.sawing_json import FrozenPlan, UnreadablePlan
from projects.services.sawing import plan_checked, thawed
from projects.wording import in_shop_units

if TYPE_CHECKING:
    from estimating.quantities import InchStyle, Unit
    from estimating.wood.to_buy import ToBuy
    from projects.papers.bench_sheets import Sawn


@in_studio
@require_GET
def sawing_book(request: StudioRequest, pk: int) -> HttpResponse:
    """The bench book of a plan."""
    return _paper(request, pk, "bench book", _book)


@in_studio
@require_GET
def sawing_timber_list(request: StudioRequest, pk: int) -> HttpResponse:
    """What is still to buy for a plan."""
    return _paper(request, pk, "timber list", _timber_list)


def _paper(
    request: StudioRequest, pk: int, kind: str, printed: Callable[[SawingPlan, FrozenPlan, Studio], bytes]
) -> HttpResponse:
    plan = own(SawingPlan, request, pk, "studio__shop", "studio__pricing")
    try:
        paper = printed(plan, thawed(plan), request.studio)
    except (UnreadablePlan, ValidationError) as refusal:
        words = " ".join(getattr(refusal, "messages", [str(refusal)]))
        said = in_shop_units(f"The {kind} of {plan.title} cannot be made: {words}", request.studio)
        return HttpResponse(said, "text/plain; charset=utf-8", status=409)
    return pdf_file(paper, name=f"{plan.title} {kind}")


def _book(plan: SawingPlan, frozen: FrozenPlan, studio: Studio) -> bytes:
    # Imported here since it brings the PDF library.
    from projects.papers.saw_book import saw_book_sheets, write_saw_book

    sawn, rings = plan_work(frozen, plan_commissions(plan, frozen), studio)
    sheets = saw_book_sheets(sawn, studio=studio)
    return write_saw_book(
        plan.title,
        sheets=sheets,
        batches=batches(sheets, studio),
        rings=rings,
        shop=frozen.shop,
        studio=studio,
        changes=[in_shop_units(words, studio) for words in plan_checked(plan)],
    )


def _timber_list(plan: SawingPlan, frozen: FrozenPlan, studio: Studio) -> bytes:
    sawn, rings = plan_work(frozen, plan_commissions(plan, frozen), studio)
    printer = Printer(
        units=Units(unit=cast("Unit", studio.length_unit), inches=cast("InchStyle", studio.inch_style)),
        currency=studio.currency,
        names={key: wood.name for key, wood in sawn.woods.items()},
        colours={key: wood.colour for key, wood in sawn.woods.items()},
        rings=lambda numbers: rings_of(numbers, frozen),
    )
    return write_timber_list(
        _still_to_buy(plan, frozen, sawn, studio),
        title=plan.title,
        printer=printer,
        paper=paper_of(unit=studio.length_unit, currency=studio.currency),
        studio=studio.name,
        letters=[(letter_of(at), one.commission.title) for at, one in enumerate(rings)]
        if len(rings) > 1
        else [],
    )


def _still_to_buy(plan: SawingPlan, frozen: FrozenPlan, sawn: "Sawn", studio: Studio) -> "ToBuy":
    """Boards that are cut are bought no more; once one is, the rack has no longer what the plan was held against."""
    from estimating.wood.to_buy import to_buy, without_spares

    cutting = frozen.plan.cutting
    cut = set(plan.boards.filter(cut_at__isnull=False).values_list("number", flat=True))
    left = tuple(board for number, board in enumerate(cutting.boards, start=1) if number not in cut)
    listed = to_buy(
        replace(cutting, boards=left),
        needs=sawn.needs.strips,
        wanted=without_spares(sawn.needs.strips, rings=sawn.rings, pieces=sawn.pieces),
        boards=inputs_of(studio, plan_commissions(plan, frozen)).boards,
        shop=frozen.shop,
    )
    return replace(listed, rack=()) if cut else listed


urlpatterns: list[URLPattern] = [
    path("sawing/<int:pk>/bench-book.pdf", sawing_book, name="sawing_book"),
    path("sawing/<int:pk>/timber-list.pdf", sawing_timber_list, name="sawing_timber_list"),
]
