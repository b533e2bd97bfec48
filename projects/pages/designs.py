"""Designs: the list, a new one, and the drawing board where a piece is drawn and answers at once."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.drawings import thumbnail
from projects.models import Commission, Design
from projects.pages import drawing_board, starting
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.forms import COPY, NewDesignForm
from projects.pages.of_design import of_job
from projects.pages.record_form import refuse
from projects.services.commissions import commission_update
from projects.services.designs import design_copy, design_delete, design_mark


@in_studio
@require_GET
def design_list(request: StudioRequest) -> HttpResponse:
    """The studio's designs, the one worked on last first."""
    designs = Design.objects.for_studio(request.studio).prefetch_related(
        "parts__form", "parts__bands", "commissions"
    )
    rows = [(design, mark_safe(thumbnail(design))) for design in designs]  # of numbers alone
    context = {
        "section": "designs",
        "designs": [row for row in rows if not row[0].is_template],
        "templates": [row for row in rows if row[0].is_template],
    }
    return render(request, "designs/list.html", context)


@in_studio
@require_http_methods(["GET", "POST"])
def design_new(request: StudioRequest) -> HttpResponse:
    """Start a design from a shape or a copy, for a commission where one is named."""
    named = request.GET.get("job", "")
    job = own(Commission, request, int(named)) if named.isdecimal() and len(named) < 19 else None
    data = request.POST if request.method == "POST" else None
    first = {"title": job.title if job else "", "start": "bowl", **starting.usual_size(request.studio)}
    form = NewDesignForm(data, studio=request.studio, shapes=starting.choices(), initial=first)
    if data is not None and (design := _started(form)):
        if job is None:
            return redirect("design", design.pk)
        commission_update(commission=job, design=design)
        return redirect("job_drawing", job.pk)
    context = {
        "section": "jobs" if job else "designs",
        "form": form,
        "job": job,
        "shapes": _shapes(form),
    }
    return render(request, "designs/new.html", context, status=400 if form.errors else 200)


def _shapes(form: NewDesignForm) -> list[dict[str, str]]:
    """The shapes to choose from, each with its picture and the size that the form then offers, as it is typed."""
    pictures = starting.pictures(form.studio)
    rows = []
    for shape, words in starting.choices():
        size = starting.usual_size(form.studio, shape)
        offered = {name: form.fields[name].prepare_value(mm) for name, mm in size.items()}
        rows.append({"key": shape, "words": words, "picture": pictures[shape], **offered})
    return rows


def _started(form: NewDesignForm) -> Design | None:
    if not form.is_valid():
        return None
    start, title = form.cleaned_data["start"], form.cleaned_data["title"]
    try:
        if start == COPY:
            return design_copy(design=form.cleaned_data["original"], title=title)
        size = starting.Size(
            **{name: float(form.cleaned_data[name]) for name in ("height", "diameter", "wall")}
        )
        return starting.start_design(studio=form.studio, title=title, shape=start, size=size)
    except ValidationError as refusal:
        refuse(form, refusal)
        return None


@in_studio
@require_http_methods(["GET", "POST"])
def design(request: StudioRequest, pk: int) -> HttpResponse:
    """The drawing board of a design by itself."""
    return drawing_board.answer(request, own(Design, request, pk, "studio"), job=None)


@of_job
@require_http_methods(["GET", "POST"])
def job_drawing(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """The drawing board of a commission's design, with what is agreed for the commission."""
    return drawing_board.answer(request, design, job=job)


@in_studio
@require_POST
def design_template(request: StudioRequest, pk: int) -> HttpResponse:
    """Keep a design as a template to begin others from, or no longer."""
    row = design_mark(design=own(Design, request, pk), is_template=request.POST.get("keep") == "yes")
    words = "Kept as a template" if row.is_template else "A design like any other again"
    messages.success(request, f"{words}: {row.title}.")
    return redirect("design_list")


@in_studio
@require_POST
def design_take_away(request: StudioRequest, pk: int) -> HttpResponse:
    """Throw a design away that no commission goes by."""
    row = own(Design, request, pk)
    title = row.title
    try:
        design_delete(design=row)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("design_list")
    messages.success(request, f"Taken away: {title}.")
    return redirect("design_list")
