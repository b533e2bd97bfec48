"""Pages about a design: of one by itself, and of the one that a commission goes by."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from projects.models import Commission, Design
from projects.pages.access import StudioRequest, in_studio, own

Page = Callable[..., HttpResponse]
"""What takes the request and the design, and by name the commission as `job`."""


def of_design(page: Page) -> Page:
    """The page of a design by itself; `job` is None."""

    @in_studio
    @wraps(page)
    def view(request: StudioRequest, pk: int) -> HttpResponse:
        return page(request, own(Design, request, pk, "studio"), job=None)

    return view


def of_job(page: Page) -> Page:
    """The page of a commission's design; where nothing is drawn yet, the way to begin."""

    @in_studio
    @wraps(page)
    def view(request: StudioRequest, pk: int) -> HttpResponse:
        job = own(Commission, request, pk, "client", "design__studio")
        if job.design is None:
            return redirect(f"{reverse('design_new')}?job={job.pk}")
        return page(request, job.design, job=job)

    return view


def about(design: Design, job: Commission | None) -> dict[str, Any]:
    """What the template of every such page asks for."""
    return {"section": "jobs" if job else "designs", "design": design, "job": job}
