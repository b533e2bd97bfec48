"""The work at the saw of a design or commission: board diagrams, the saw list with boxes to tick, proven settings."""

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from estimating.errors import InvalidSheet
from projects.agreed import drawing_states
from projects.estimates import estimate_design
from projects.models import Commission, Design, SawSetting, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.of_design import about, of_design, of_job
from projects.pages.paper_files import pdf_file
from projects.pages.record_form import RecordForm
from projects.pages.saw_form import SawSettingForm
from projects.remakes import cut_again
from projects.services.bench_lots import lots_of_glue_ups
from projects.services.saw_settings import proven_settings, saw_setting_delete, saw_setting_record
from projects.services.sawing import plans_kept

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from projects.papers.bench_sheets import AngleWork, BenchSheets

FOLD, TEXT = 480.0, 18.0
"""mm of board in a row of a diagram, and its figures' height: what is read on a telephone held upright."""

SHOWN = 20
"""Proven settings listed, the last ones first."""


@require_http_methods(["GET", "POST"])
def _page(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    here = reverse("job_cut", args=[job.pk]) if job else reverse("design_cut", args=[design.pk])
    data = request.POST if request.method == "POST" else None
    form = SawSettingForm(data, studio=request.studio, initial=_asked_for(request))
    if data is not None and form.written(
        saw_setting_record, studio=request.studio, member=request.member, commission=job
    ):
        return redirect(f"{here}#settings")
    context = about(design, job) | {
        "form": form,
        "here": here,
        "kept": plans_kept(job) if job else [],
        "states": drawing_states([job]) if job else [],
    }
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        return render(request, "cut/page.html", {**context, "refusals": refusal.errors})
    context |= _shown(estimate, request, form) | (_again(job, request.studio) if job else {})
    return render(request, "cut/page.html", context, status=400 if form.errors else 200)


def _shown(estimate: "Estimate", request: StudioRequest, form: RecordForm) -> dict[str, Any]:
    # Imported here since it brings the drawings and numpy, which other pages do without.
    from projects.papers.bench_sheets import bench_sheets

    studio = request.studio
    sheets = bench_sheets(estimate, studio=studio, fold=FOLD, text=TEXT)
    proof = next(iter(sheets.proofs), None)
    if proof is not None and not form.is_bound:
        miter, tilt = proof.angle
        usual = {"miter_deg": miter, "tilt_deg": tilt, "segments": proof.ring.segments}
        form.initial = {**usual, **form.initial}
    settings = SawSetting.objects.for_studio(studio).select_related("member__user", "commission")
    return {
        "estimate": estimate,
        "sheets": sheets,
        # Drawn here, every word in it escaped.
        "boards": [(board, mark_safe(board.svg)) for board in sheets.boards],
        "batches": batches(sheets, studio),
        "settings": settings[:SHOWN],
    }


def _again(job: Commission, studio: Studio) -> dict[str, Any]:
    """What is sawn once more for rings that were lost at the bench, on boards of its own."""
    from projects.papers.bench_sheets import bench_sheets

    try:
        estimate = cut_again(job)
    except ValidationError as refusal:
        return {"again_trouble": " ".join(refusal.messages)}
    if estimate is None:
        return {}
    sheets = bench_sheets(estimate, studio=studio, fold=FOLD, text=TEXT)
    rings = sorted({ring for need in estimate.needs.strips for ring, _ in need.rings})
    # Drawn here, every word in it escaped.
    boards = [(board, mark_safe(board.svg)) for board in sheets.boards]
    return {"again": sheets, "again_boards": boards, "again_rings": rings}


def batches(sheets: "BenchSheets", studio: Studio) -> "list[tuple[AngleWork, SawSetting | None]]":
    """Each angle with the last setting that was proven for it."""
    proven = proven_settings(studio, angles=[at.key for at in sheets.angles])
    return [(at, proven.get(at.key)) for at in sheets.angles]


def _asked_for(request: StudioRequest) -> dict[str, Decimal]:
    """The angle that the link beside a batch brings along; what is no number is left out."""
    asked = {}
    for name in ("miter_deg", "tilt_deg", "segments"):
        try:
            value = Decimal(request.GET.get(name, ""))
        except InvalidOperation:
            continue
        if value.is_finite() and abs(value) < 1000:
            asked[name] = value
    return asked


@in_studio
@require_POST
def saw_setting_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a setting out of the record, and go back to where it was pressed."""
    setting = own(SawSetting, request, pk)
    saw_setting_delete(setting=setting)
    name, field = ("job_cut", "job") if request.POST.get("job") else ("design_cut", "design")
    back = request.POST.get(field, "")
    if not back.isdecimal() or len(back) > 12:
        return redirect("design_list")
    return redirect(f"{reverse(name, args=[int(back)])}#settings")


@require_GET
def _bench_book(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    return _book(
        job.title if job else design.title,
        lambda: estimate_design(design, commission=job)[1],
        request,
        kept=plans_kept(job) if job else (),
        lots=lots_of_glue_ups(job) if job else None,
    )


def _book(
    title: str,
    estimated: "Callable[[], Estimate]",
    request: StudioRequest,
    **known: Any,
) -> HttpResponse:
    """The book of an estimate; `known` is what else `write_bench_book` is told."""
    # Imported here since they bring the PDF library and the drawings.
    from projects.drawings import quote_drawing
    from projects.papers.bench_book import book_sheets, write_bench_book

    try:
        estimate = estimated()
    except InvalidSheet as refusal:
        return HttpResponse(
            f"{title} cannot be worked out yet: {refusal}", "text/plain; charset=utf-8", status=409
        )
    studio = request.studio
    sheets = book_sheets(estimate, studio=studio)
    book = write_bench_book(
        estimate,
        sheets=sheets,
        batches=batches(sheets, studio),
        drawing=quote_drawing(estimate, studio=studio),
        studio=studio,
        **known,
    )
    return pdf_file(book, name=f"{title} bench book")


urlpatterns = [
    path("designs/<int:pk>/cut/", of_design(_page), name="design_cut"),
    path("jobs/<int:pk>/cut/", of_job(_page), name="job_cut"),
    path("designs/<int:pk>/bench-book.pdf", of_design(_bench_book), name="design_bench_book"),
    path("jobs/<int:pk>/bench-book.pdf", of_job(_bench_book), name="job_bench_book"),
    path("saw-settings/<int:pk>/take-out/", saw_setting_take_out, name="saw_setting_take_out"),
]
