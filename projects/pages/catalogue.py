"""A catalogue: pieces ticked in the log's table, put in order on a page of their own, and printed."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.models import PieceRecord, Studio
from projects.pages.access import StudioRequest, in_studio
from projects.pages.catalogue_choice import (
    MOST_PIECES,
    Choice,
    choice_of,
    chosen_records,
    in_log,
    keep,
    keys_of,
)
from projects.pages.catalogue_form import CatalogueForm
from projects.pages.log_filter import SORTS, asked
from projects.pages.paper_files import pdf_file
from projects.services.freezing import frozen_letterhead

TOO_MANY = f"A catalogue has {MOST_PIECES} pieces at most."
NONE_YET = "No piece is chosen yet: tick them in the table."
_ACTS = {"up": -1, "down": 1, "first": -MOST_PIECES, "last": MOST_PIECES}


@in_studio
@require_POST
def choose(request: StudioRequest) -> HttpResponse:
    """Keep a page's ticks, or add all that is asked of the log; the table's script asks for the count alone.

    Nothing changes where that were more than a catalogue has.
    """
    choice, back = choice_of(request, request.studio), request.POST.get("back", "")
    if request.POST.get("of") == "all":
        found = asked(request.POST, request.studio)
        wanted = choice.of([*choice.pieces, *_keys(found.records)[: MOST_PIECES + 1]])
    else:
        shown, ticked = (_sent(request, name) for name in ("shown", "piece"))
        # One that somebody took out of the log meanwhile cannot be chosen any more.
        wanted = choice.with_page(shown, in_log(ticked, request.studio))
    refused = ""
    if wanted.is_too_long and len(wanted.pieces) > len(choice.pieces):
        refused = f"{TOO_MANY} These would be more: take some out first, or choose fewer."
    else:
        keep(request, request.studio, wanted)
        choice = wanted
    if request.headers.get("Accept") == "application/json":
        count = len(in_log(choice.pieces, request.studio))
        return JsonResponse({"count": count, "refused": refused}, status=409 if refused else 200)
    if refused:
        messages.error(request, refused)
    return redirect(f"{reverse('log_table')}?{back}#catalogue")


def _keys(records: Any) -> list[int]:
    return list(records.values_list("pk", flat=True)[: MOST_PIECES + 1])


def _sent(request: StudioRequest, name: str) -> list[int]:
    """The keys in a field. Errors: Http404 for what is none."""
    keys = keys_of(request.POST.getlist(name))
    if keys is None:
        raise Http404
    return keys


@in_studio
@require_http_methods(["GET", "POST"])
def catalogue_page(request: StudioRequest) -> HttpResponse:
    """The pieces chosen, in their order, and what is said before them; a press moves one, takes one out or prints."""
    choice = choice_of(request, request.studio)
    if request.method == "GET":
        return _page(request, choice, _form(choice.settings, request.studio))
    form = _form(request.POST, request.studio)
    act = request.POST.get("do", "keep")
    choice = _acted(choice, act, request)
    if form.is_valid():
        # As it was typed: what the page shows again is what somebody wrote there.
        choice = Choice(choice.pieces, {name: request.POST.get(name, "") for name in form.fields})
    keep(request, request.studio, choice)
    if not form.is_valid():
        return _page(request, choice, form, status=400)
    if act == "print":
        return redirect("catalogue")
    return redirect(f"{reverse('catalogue_page')}{_anchor(act)}")


def _acted(choice: Choice, act: str, request: StudioRequest) -> Choice:
    """The choice after a press: `up-7`, `out-7`, `sort`, `clear`; any other leaves it as it is."""
    name, _, text = act.partition("-")
    keys = keys_of([text]) if text else None
    if keys and name in _ACTS:
        return choice.moved(keys[0], _ACTS[name])
    if keys and name == "out":
        return choice.without(keys[0])
    if act == "clear":
        return choice.of(())
    sort = request.POST.get("sort", "")
    if act == "sort" and sort in SORTS:
        records = PieceRecord.objects.for_studio(request.studio).filter(pk__in=choice.pieces)
        return choice.of(_keys(records.order_by(*SORTS[sort][1])))
    return choice


def _anchor(act: str) -> str:
    name, _, key = act.partition("-")
    if name in _ACTS and keys_of([key]):
        return f"#piece-{key}"
    return "#pieces" if name in ("out", "sort", "clear") else ""


def _form(data: Any, studio: Studio) -> CatalogueForm:
    return CatalogueForm(data, usual_title=f"Pieces by {studio.name}")


def _page(request: StudioRequest, choice: Choice, form: CatalogueForm, *, status: int = 200) -> HttpResponse:
    from projects.papers.catalogue import without_photo  # brings the PDF library

    records = chosen_records(choice, request.studio)
    notes = without_photo(records)
    context = {
        "section": "log",
        "form": form,
        "pieces": [(record, notes.get(record.pk, "")) for record in records],
        "gone": len(choice.pieces) - len(records),
        "most": MOST_PIECES,
        "sorts": [(key, words) for key, (words, _) in SORTS.items()],
        "without": sum(bool(words) for words in notes.values()),
    }
    return render(request, "log/catalogue_page.html", context, status=status)


@in_studio
@require_GET
def catalogue(request: StudioRequest) -> HttpResponse:
    """The catalogue itself; what is wrong is said on its page."""
    choice = choice_of(request, request.studio)
    pieces, form = chosen_records(choice, request.studio), _form(choice.settings, request.studio)
    refused = [str(words) for errors in form.errors.values() for words in errors]
    if not pieces:
        refused.append(NONE_YET)
    elif len(pieces) > MOST_PIECES:
        refused.append(TOO_MANY)
    if refused:
        messages.error(request, " ".join(refused))
        return redirect("catalogue_page")
    from projects.papers.catalogue import catalogue_pdf  # brings the PDF library

    letterhead = frozen_letterhead(request.studio)
    printed = catalogue_pdf(pieces, letterhead=letterhead, on=timezone.localdate(), **form.settings)
    return pdf_file(printed, name=f"catalogue {form.settings['title']}")


urlpatterns: list[URLPattern] = [
    path("log/catalogue/", catalogue_page, name="catalogue_page"),
    path("log/catalogue/choose/", choose, name="catalogue_choose"),
    path("log/catalogue.pdf", catalogue, name="catalogue"),
]
