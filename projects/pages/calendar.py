"""The calendar: when each job is done, what is done on which day, and how good the plan is; each job's own dates."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_POST

from projects.calendar import AT_THE_BENCH
from projects.models import CalendarPlan, Commission, Studio
from projects.models.calendar import EFFORTS
from projects.models.commissions import Stage
from projects.models.defaults import usual_settings
from projects.pages import calendar_rows as rows
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.calendar_days import Wall, last_of, open_days, said_day
from projects.services import calendar as planning
from projects.services import calendar_search as searching
from projects.services.bench_clock import settle
from projects.services.calendar_asked import asked_times

OPEN_DAYS = 2
"""Days of the list that stand open; the others are folded."""

FURTHEST = datetime.timedelta(days=400)
"""The picture goes no further ahead: a promise of next year is told in words."""


@dataclass(frozen=True)
class Shown:
    """What both pages are made of: a studio's clock, its plan, and the steps that are on it."""

    studio: Studio
    now: datetime.datetime
    wall: Wall
    plan: CalendarPlan | None
    jobs: list[Commission]
    steps: list[rows.Placed]

    @property
    def today(self) -> datetime.date:
        """The day it is at the bench."""
        return self.wall.day(self.now)

    def job_rows(self) -> list[rows.JobRow]:
        """Every job that has dates."""
        dated = [(job, dates) for job in self.jobs if (dates := rows.dates_of(job)) is not None]
        return [
            rows.job_row(job, dates, self.wall, mark=rows.mark_of(number), steps=self.steps)
            for number, (job, dates) in enumerate(dated)
        ]

    def first_day(self) -> datetime.date:
        """The first that is shown: today, or the day on which something that is still shown began."""
        return min([self.today, *(self.wall.day(placed.start) for placed in self.steps)])

    def last_day(self, jobs: list[rows.JobRow]) -> datetime.date:
        """The last that is shown: when all is done and promised."""
        days = [self.wall.day(placed.end) for placed in self.steps]
        days += [day for row in jobs for day in (row.finish, row.job.promised_on) if day is not None]
        return min(last_of(days, usual=self.today), self.today + FURTHEST)


def shown(studio: Studio) -> Shown:
    """A studio's calendar as it stands now."""
    now = timezone.now()
    settle(studio=studio, now=now)
    plan = CalendarPlan.objects.for_studio(studio).first()
    steps = rows.placed_steps(studio, now)
    return Shown(studio, now, Wall(studio.bench.zone), plan, rows.jobs_planned(studio), steps)


@in_studio
@require_GET
def calendar(request: StudioRequest) -> HttpResponse:
    """All jobs on one bench."""
    return _page(request)


def _page(request: StudioRequest, *, refusal: list[str] | None = None, status: int = 200) -> HttpResponse:
    view = shown(request.studio)
    context: dict[str, Any] = {
        "section": "calendar",
        "refusal": refusal,
        "holding_up": rows.holding_up(request.studio, view.jobs, view.plan),
        "waiting": Commission.objects.for_studio(request.studio).filter(stage=Stage.QUOTED).count(),
        **_of_plan(view),
    }
    if job_rows := view.job_rows():
        context |= _planned(view, job_rows)
    return render(request, "calendar/page.html", context, status=status)


def _of_plan(view: Shown) -> dict[str, Any]:
    """What is said of the plan itself, and of the search for a better one."""
    plan = view.plan
    is_planned = plan is not None and plan.planned_at is not None
    return {
        "plan": plan,
        "is_planned": is_planned,
        "jobs": view.jobs,
        "zone": view.wall.zone,
        "highest": EFFORTS[-1],
        "plan_words": rows.plan_words(plan) if plan is not None else "",
        "changes": planning.calendar_changes(plan) if plan is not None and is_planned else [],
        "seen": _seen(plan),
        "can_seek": plan is not None and plan.finish is not None and not plan.is_running and not plan.proven,
        "interrupted": plan is not None and bool(plan.runner) and not plan.is_running,
    }


def _planned(view: Shown, job_rows: list[rows.JobRow]) -> dict[str, Any]:
    """Everything that is there once something is planned."""
    from projects.pages.calendar_picture import pictures  # brings numpy, which other pages do without

    first, last = view.first_day(), view.last_day(job_rows)
    days = open_days(view.studio, first - datetime.timedelta(days=7), last)
    finish, likely = rows.answer_words(job_rows, view.today)
    listed = rows.days_listed(view.steps, view.wall, {row.job.pk: row.mark for row in job_rows}, days.closed)
    listed = [day for day in listed if day.day >= view.today or not day.over]
    return {
        "rows": job_rows,
        "late": rows.toned_words(job_rows, "late", "late at the earliest"),
        "close": rows.toned_words(job_rows, "close", "in time if all goes well, and late at the 80 % date"),
        "finish": finish,
        "likely": likely,
        "today": view.today,
        "days": listed,
        "open_days": OPEN_DAYS,
        "pictures": pictures(
            view.steps,
            job_rows,
            wall=view.wall,
            first=first,
            last=last,
            days=days,
            now=view.now,
            words=f"From {said_day(first)} to {said_day(last)}. The table of jobs and the list by day say the same.",
        ),
    }


@in_studio
@require_POST
def calendar_again(request: StudioRequest) -> HttpResponse:
    """Plan everything anew behind the page, around what has happened."""

    def begin() -> None:
        searching.search_start(searching.calendar_begin(studio=request.studio), anew=True)

    return _begun(request, begin)


@in_studio
@require_POST
def calendar_seek(request: StudioRequest) -> HttpResponse:
    """Seek a better plan behind the page."""

    def begin() -> None:
        searching.search_start(searching.calendar_seek(studio=request.studio))

    return _begun(request, begin)


def _begun(request: StudioRequest, begin: Callable[[], None]) -> HttpResponse:
    """Back to the calendar, which shows how far it is; where it is refused, the calendar with why."""
    try:
        begin()
    except ValidationError as refusal:
        return _page(request, refusal=refusal.messages, status=409)
    return redirect("calendar")


@in_studio
@require_GET
def calendar_progress(request: StudioRequest) -> HttpResponse:
    """How far the search is; a new plan has the page load itself anew."""
    plan = CalendarPlan.objects.for_studio(request.studio).first()
    if request.GET.get("seen", "") != _seen(plan):
        return HttpResponse(headers={"HX-Refresh": "true"})
    context = {"plan": plan, "seen": _seen(plan), "highest": EFFORTS[-1], "zone": request.studio.bench.zone}
    return render(request, "calendar/progress.html", context)


def _seen(plan: CalendarPlan | None) -> str:
    """Changes whenever the page as a whole has to be loaded anew."""
    return "" if plan is None else f"{plan.planned_at} {plan.effort} {plan.is_running}"


@in_studio
@require_GET
def job_calendar(request: StudioRequest, pk: int) -> HttpResponse:
    """When one job is done, and the steps until then."""
    return _job_page(request, own(Commission, request, pk, "client", "design", "dates"))


def _job_page(
    request: StudioRequest, job: Commission, *, refusal: list[str] | None = None, status: int = 200
) -> HttpResponse:
    view = shown(request.studio)
    dates = rows.dates_of(job)
    context: dict[str, Any] = {
        "section": "jobs",
        "job": job,
        "refusal": refusal,
        "is_planned_stage": job.stage in AT_THE_BENCH,
        "asked": "asked" in request.GET,
        **_of_plan(view),
    }
    if dates is not None and job.stage in AT_THE_BENCH:
        steps = [placed for placed in view.steps if placed.step.commission_id == job.pk]
        row = rows.job_row(job, dates, view.wall, mark="", steps=steps)
        days = open_days(view.studio, view.first_day(), row.likely)
        context |= {
            "row": row,
            "today": view.today,
            "promise": planning.promised_day(job, buffer=usual_buffer()),
            "buffer": usual_buffer(),
            "days": rows.days_listed(steps, view.wall, {}, days.closed),
            "open_days": OPEN_DAYS,
        }
    return render(request, "calendar/job.html", context, status=status)


def usual_buffer() -> float:
    """The share of the time until the 80 % date that is usually kept in hand before a day is promised."""
    return float(usual_settings()["date_buffer"].number)


@in_studio
@require_GET
def job_asked(request: StudioRequest, pk: int) -> HttpResponse:
    """When a job would be done if it were agreed now: a part of its page, which takes some seconds to work out."""
    job = own(Commission, request, pk, "client", "design__studio__bench", "studio__bench")
    wall, now = Wall(request.studio.bench.zone), timezone.now()
    context: dict[str, Any] = {"job": job, "buffer": usual_buffer()}
    try:
        times = asked_times(commission=job, now=now)
    except ValidationError as refusal:
        context["refusal"] = refusal.messages
    else:
        context |= {"finish": wall.day(times.finish), "likely": wall.day(times.likely)}
        context["promise"] = planning.day_to_promise(
            request.studio, planned_at=now, likely=times.likely, buffer=usual_buffer()
        )
    return render(request, "calendar/asked.html", context)


@in_studio
@require_POST
def job_promise(request: StudioRequest, pk: int) -> HttpResponse:
    """Take the calendar's day over as the promised one, as far as it is still the one that was shown."""
    job = own(Commission, request, pk, "client", "design", "dates")
    day = planning.promised_day(job, buffer=usual_buffer())
    if day is not None and _day_of(request.POST.get("day", "")) != day:
        words = "It was planned anew since you opened the page. Nothing was promised; look at the new dates."
        return _job_page(request, job, refusal=[words], status=409)
    try:
        promised = planning.promise_take(commission=job, buffer=usual_buffer()).promised_on
    except ValidationError as refusal:
        job.refresh_from_db()
        return _job_page(request, job, refusal=refusal.messages, status=409)
    messages.success(request, f"Promised for {said_day(promised)}." if promised else "Nothing was promised.")
    return redirect(reverse("job_calendar", args=[job.pk]))


def _day_of(written: str) -> datetime.date | None:
    try:
        return parse_date(written)
    except ValueError:
        return None


urlpatterns: list[URLPattern] = [
    path("calendar/", calendar, name="calendar"),
    path("calendar/plan/", calendar_again, name="calendar_again"),
    path("calendar/seek/", calendar_seek, name="calendar_seek"),
    path("calendar/progress/", calendar_progress, name="calendar_progress"),
    path("jobs/<int:pk>/calendar/", job_calendar, name="job_calendar"),
    path("jobs/<int:pk>/calendar/asked/", job_asked, name="job_asked"),
    path("jobs/<int:pk>/calendar/promise/", job_promise, name="job_promise"),
]
