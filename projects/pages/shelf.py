"""One way to keep a list of like records: show it, add to it, change a row, take a row away."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.views.decorators.http import require_http_methods

from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.record_form import RecordForm


@dataclass(frozen=True)
class Shelf:
    """A kind of record and its page: which form, which services, which words."""

    model: type[Model]
    noun: str
    plural: str
    section: str
    form: type[RecordForm]
    create: Callable[..., Any]
    update: Callable[..., Any]
    delete: Callable[..., Any] | None
    template: str
    new_form: type[RecordForm] | None = None
    related: tuple[str, ...] = ()
    order: tuple[Any, ...] = ()
    form_template: str = "shelf/form.html"
    new_title: str = ""

    def address(self, what: str, *args: int) -> str:
        """The address of a page of this shelf: `list`, `new`, `edit` or `delete`."""
        return reverse(f"{self.noun}_{what}", args=args)

    def words(self) -> dict[str, Any]:
        """What every page of the shelf is shown with."""
        return {"shelf": self, "section": self.section, "back": self.address("list")}


def addresses(shelf: Shelf, at: str) -> list[URLPattern]:
    """The addresses of a shelf's pages below `at`."""
    noun = shelf.noun
    found = [
        path(at, _list_view(shelf), name=f"{noun}_list"),
        path(f"{at}new/", _new_view(shelf), name=f"{noun}_new"),
        path(f"{at}<int:pk>/", _edit_view(shelf), name=f"{noun}_edit"),
    ]
    if shelf.delete:
        found.append(
            path(f"{at}<int:pk>/take-away/", _delete_view(shelf, shelf.delete), name=f"{noun}_delete")
        )
    return found


def _list_view(shelf: Shelf) -> Callable[..., HttpResponse]:
    @in_studio
    @require_http_methods(["GET"])
    def listed(request: StudioRequest) -> HttpResponse:
        rows = shelf.model.objects.for_studio(request.studio).select_related(*shelf.related)  # type: ignore[attr-defined]
        if shelf.order:
            rows = rows.order_by(*shelf.order)
        return render(request, shelf.template, {**shelf.words(), "rows": rows})

    return listed


def _new_view(shelf: Shelf) -> Callable[..., HttpResponse]:
    @in_studio
    @require_http_methods(["GET", "POST"])
    def new(request: StudioRequest) -> HttpResponse:
        kind = shelf.new_form or shelf.form
        data = request.POST if request.method == "POST" else None
        form = kind(data, studio=request.studio, initial=request.GET.dict())
        if data is not None and (made := form.written(shelf.create, studio=request.studio)):
            messages.success(request, f"Added: {made}.")
            return redirect(_next(request, shelf, made))
        context = {**shelf.words(), "form": form, "title": shelf.new_title or f"New {shelf.noun}"}
        return render(request, shelf.form_template, context, status=400 if form.errors else 200)

    return new


def _edit_view(shelf: Shelf) -> Callable[..., HttpResponse]:
    @in_studio
    @require_http_methods(["GET", "POST"])
    def edit(request: StudioRequest, pk: int) -> HttpResponse:
        row = own(shelf.model, request, pk)
        data = request.POST if request.method == "POST" else None
        form = shelf.form(data, instance=row, studio=request.studio, initial=request.GET.dict())
        if data is not None and form.written(shelf.update, **{shelf.noun: row}):
            messages.success(request, f"Saved: {row}.")
            return redirect(shelf.address("list"))
        context = {**shelf.words(), "form": form, "row": row, "title": str(row)}
        if shelf.delete:
            context["delete_at"] = shelf.address("delete", row.pk)
        return render(request, shelf.form_template, context, status=400 if form.errors else 200)

    return edit


def _delete_view(shelf: Shelf, service: Callable[..., Any]) -> Callable[..., HttpResponse]:
    @in_studio
    @require_http_methods(["POST"])
    def delete(request: StudioRequest, pk: int) -> HttpResponse:
        row = own(shelf.model, request, pk)
        name = str(row)
        try:
            service(**{shelf.noun: row})
        except ValidationError as refusal:
            messages.error(request, " ".join(refusal.messages))
            return redirect(shelf.address("edit", row.pk))
        messages.success(request, f"Taken away: {name}.")
        return redirect(shelf.address("list"))

    return delete


def _next(request: StudioRequest, shelf: Shelf, made: Any) -> str:
    """Back to the commission being written, where that is where one came from; else to the list."""
    if shelf.noun == "client" and request.GET.get("then") == "commission":
        return f"{reverse('job_new')}?client={made.pk}"
    return shelf.address("list")
