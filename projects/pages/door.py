"""The way in: the first account of a fresh installation, and a first studio for a log-in without one."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from projects.models import Member
from projects.pages.forms import AccountForm, SetUpForm
from projects.pages.record_form import refuse
from projects.services.studios import studio_create


@require_http_methods(["GET", "POST"])
def first_account(request: HttpRequest) -> HttpResponse:
    """Make the first log-in; gone as soon as there is one, since anybody could walk in otherwise."""
    if User.objects.exists():
        return redirect("login")
    form = AccountForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        with transaction.atomic():
            if User.objects.select_for_update().exists():
                return redirect("login")
            user = form.save()
        login(request, user)
        return redirect("set_up")
    return render(request, "door/first_account.html", {"form": form}, status=400 if form.errors else 200)


@login_required
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Name the studio and choose its units; the shop's usual figures come with it."""
    if Member.objects.for_member(request.user).exists():
        return redirect("job_list")
    form = SetUpForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            studio_create(owner=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # login_required
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            return redirect("job_list")
    return render(request, "door/set_up.html", {"form": form}, status=400 if form.errors else 200)
