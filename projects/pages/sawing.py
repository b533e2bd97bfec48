"""Sawing plans: for which commissions, what came of it, and the boards reserved, let go and cut by them."""

from collections.abc import Callable, Iterable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.agreed import drawing_states
from projects.models import Commission, SawingPlan, Studio
from projects.models.sawing import EFFORTS, PlanState
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.record_form import refuse
from projects.sawing import SAWN_STAGES
from projects.sawing_json import UnreadablePlan
from projects.services import sawing, sawing_rack, sawing_search
from projects.wording import in_shop_units

SHOWN = 100
"""Plans listed, the newest first."""

WORDS = {
    PlanState.SEARCHING: "still sought",
    PlanState.READY: "ready",
    PlanState.RESERVED: "boards reserved",
    PlanState.CUT: "all cut",
    PlanState.STALE: "out of date",
    PlanState.FAILED: "search broke off",
}


class ChooseForm(forms.Form):
    """The commissions that are sawn for together."""

    commissions = forms.ModelMultipleChoiceField(
        Commission.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one commission."},
    )

    def __init__(self, data: Any = None, *, studio: Studio, only: str = "") -> None:
        super().__init__(data)
        rows = Commission.objects.for_studio(studio).open().filter(design__isnull=False)
        field: Any = self.fields["commissions"]
        field.queryset = rows.job_list()
        usual = (
            rows.filter(pk=int(only))
            if only.isdecimal() and len(only) < 19
            else rows.filter(stage__in=SAWN_STAGES)
        )
        self.initial = {"commissions": list(usual.values_list("pk", flat=True))}

    def ticked(self) -> set[str]:
        """Keys of what is ticked, as it was sent or as it is offered."""
        return {str(key) for key in self["commissions"].value() or ()}


@in_studio
@require_GET
def sawing_list(request: StudioRequest) -> HttpResponse:
    """The plans, the newest first."""
    rows = (
        SawingPlan.objects.for_studio(request.studio).defer("plan", "marks").prefetch_related("commissions")
    )
    shown = [(row, _state_words(row), _distance(row)) for row in rows[:SHOWN]]
    return render(request, "sawing/list.html", {"section": "rack", "tab": "sawing", "rows": shown})


@in_studio
@require_http_methods(["GET", "POST"])
def sawing_new(request: StudioRequest) -> HttpResponse:
    """Choose commissions; the first answer is made at once."""
    data = request.POST if request.method == "POST" else None
    form = ChooseForm(data, studio=request.studio, only=request.GET.get("job", ""))
    if data is not None and form.is_valid():
        chosen = form.cleaned_data["commissions"]
        try:
            plan = sawing.plan_create(studio=request.studio, commissions=chosen, member=request.member)
        except ValidationError as refusal:
            refuse(form, _in_units(refusal, request.studio))
        else:
            sawing_search.search_start(plan)
            return redirect("sawing_plan", plan.pk)
    ticked = form.ticked()
    offered: Any = form.fields["commissions"]
    rows = [(job, str(job.pk) in ticked) for job in offered.queryset]
    context = {"section": "rack", "tab": "sawing", "form": form, "rows": rows}
    return render(request, "sawing/new.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def sawing_plan(request: StudioRequest, pk: int) -> HttpResponse:
    """One plan."""
    return _page(request, own(SawingPlan, request, pk, "studio__shop", "studio__pricing", "member__user"))


def _page(
    request: StudioRequest, plan: SawingPlan, *, refusal: Iterable[str] = (), status: int = 200
) -> HttpResponse:
    from projects.pages.sawing_rows import plan_shown

    context = _progress(plan) | {
        "section": "rack",
        "tab": "sawing",
        "changes": _said(sawing.plan_checked(plan), request.studio),
        "refusal": list(refusal),
        "commissions": plan.commissions.select_related("client"),
        "states": drawing_states(plan.commissions.select_related("design__studio", "studio")),
    }
    try:
        shown = plan_shown(plan, request.studio)
    except UnreadablePlan as trouble:
        context["unreadable"] = str(trouble)
    else:
        left = [board.row for board in shown.boards if board.row.cut_at is None]
        context |= {
            "shown": shown,
            "left": left,
            "cut": len(shown.boards) - len(left),
            "lying": [row for row in left if row.board_id],
            "state_words": _state_words(plan),
        }
    return render(request, "sawing/plan.html", context, status=status)


def _progress(plan: SawingPlan) -> dict[str, Any]:
    return {
        "plan": plan,
        "distance": _distance(plan),
        "state_words": _state_words(plan),
        "highest": EFFORTS[-1],
        "seen": _seen(plan),
    }


def _seen(plan: SawingPlan) -> str:
    """Changes whenever the page as a whole has to be loaded anew."""
    return f"{plan.cost} {plan.state} {plan.is_silent}"


@in_studio
@require_GET
def sawing_progress(request: StudioRequest, pk: int) -> HttpResponse:
    """How far the search is, for a page that asks again and again; a better plan has the page load itself anew."""
    plan = own(SawingPlan, request, pk)
    if request.GET.get("seen", "") != _seen(plan):
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "sawing/progress.html", _progress(plan))


@in_studio
@require_POST
def sawing_go_on(request: StudioRequest, pk: int) -> HttpResponse:
    """Seek further."""

    def go_on(plan: SawingPlan) -> str:
        sawing_search.search_start(sawing_search.search_go_on(plan=plan))
        return "The search goes on."

    return _done(request, pk, go_on)


@in_studio
@require_POST
def sawing_stop(request: StudioRequest, pk: int) -> HttpResponse:
    """Stop a search; what it has found stays."""
    stopped = sawing_search.search_stop
    return _done(request, pk, lambda plan: "Stopping." if stopped(plan=plan).stop_asked else "Stopped.")


@in_studio
@require_POST
def sawing_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Plan anew from what is there now."""

    def again(plan: SawingPlan) -> str:
        sawing_search.search_start(sawing.plan_again(plan=plan))
        return "Planned anew."

    return _done(request, pk, again)


@in_studio
@require_POST
def sawing_reserve(request: StudioRequest, pk: int) -> HttpResponse:
    """Reserve all boards of the plan."""
    seen, member = request.POST.get("cost") or None, request.member

    def reserve(plan: SawingPlan) -> str:
        sawing_rack.plan_reserve(plan=plan, member=member, cost_seen=seen)
        return "Reserved: every board of the rack in this plan."

    return _done(request, pk, reserve)


@in_studio
@require_POST
def sawing_release(request: StudioRequest, pk: int) -> HttpResponse:
    """Let go of the plan's boards."""

    def release(plan: SawingPlan) -> str:
        sawing_rack.plan_release(plan=plan, member=request.member)
        return "Released: its boards are free again."

    return _done(request, pk, release)


@in_studio
@require_POST
def sawing_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """Log one board as cut, or all that are left."""
    wanted = request.POST.get("board", "")
    if wanted != "all" and not (wanted.isascii() and wanted.isdigit() and len(wanted) < 6):
        return _page(
            request, own(SawingPlan, request, pk, "studio"), refusal=["Say which board."], status=400
        )

    def cut(plan: SawingPlan) -> str:
        numbers = None if wanted == "all" else [int(wanted)]
        back = sawing_rack.boards_cut(plan=plan, numbers=numbers, member=request.member)
        gone = "all boards cut" if numbers is None else f"board {wanted} cut"
        count = sum(board.count for board in back)
        return f"Logged: {gone}, {count} offcut{'' if count == 1 else 's'} back on the rack."

    return _done(request, pk, cut)


@in_studio
@require_POST
def sawing_delete(request: StudioRequest, pk: int) -> HttpResponse:
    """Throw a plan away."""

    def delete(plan: SawingPlan) -> str:
        sawing.plan_delete(plan=plan)
        return f"Taken away: {plan}."

    return _done(request, pk, delete, to=reverse("sawing_list"))


def _done(
    request: StudioRequest, pk: int, doing: Callable[[SawingPlan], str], *, to: str = ""
) -> HttpResponse:
    """What a button does; where it is refused, the plan's page as it is now, with why."""
    plan = own(SawingPlan, request, pk, "studio__shop", "studio__pricing")
    try:
        said = doing(plan)
    except ValidationError as refusal:
        found = SawingPlan.objects.for_studio(request.studio).select_related("studio").filter(pk=pk).first()
        if found is None:
            messages.error(request, "This plan was thrown away.")
            return redirect("sawing_list")
        return _page(request, found, refusal=_said(refusal.messages, request.studio), status=409)
    messages.success(request, said)
    return redirect(to or reverse("sawing_plan", args=[pk]))


def _said(words: Iterable[str], studio: Studio) -> list[str]:
    return [in_shop_units(one, studio) for one in words]


def _in_units(refusal: ValidationError, studio: Studio) -> ValidationError:
    return ValidationError({"commissions": _said(refusal.messages, studio)})


def _state_words(plan: SawingPlan) -> str:
    return "search was interrupted" if plan.is_silent else WORDS[PlanState(plan.state)]


def _distance(plan: SawingPlan) -> str:
    from projects.pages.sawing_rows import distance_words

    return distance_words(plan)


urlpatterns: list[URLPattern] = [
    path("sawing/", sawing_list, name="sawing_list"),
    path("sawing/new/", sawing_new, name="sawing_new"),
    path("sawing/<int:pk>/", sawing_plan, name="sawing_plan"),
    path("sawing/<int:pk>/progress/", sawing_progress, name="sawing_progress"),
    path("sawing/<int:pk>/go-on/", sawing_go_on, name="sawing_go_on"),
    path("sawing/<int:pk>/stop/", sawing_stop, name="sawing_stop"),
    path("sawing/<int:pk>/again/", sawing_again, name="sawing_again"),
    path("sawing/<int:pk>/reserve/", sawing_reserve, name="sawing_reserve"),
    path("sawing/<int:pk>/release/", sawing_release, name="sawing_release"),
    path("sawing/<int:pk>/cut/", sawing_cut, name="sawing_cut"),
    path("sawing/<int:pk>/take-away/", sawing_delete, name="sawing_delete"),
]
