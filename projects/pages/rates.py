"""The page of the studio's own rates: what the hours log says of each operation, and how well estimates did."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_http_methods

from projects.models import LearningSettings
from projects.pages.access import StudioRequest, in_studio
from projects.pages.rates_rows import rates_shown
from projects.pages.record_form import RecordForm
from projects.rates import curve_of, settings_of
from projects.services.learning import learning_update


class LearningForm(RecordForm):
    """How much the log counts."""

    shares = ("repeat_rate",)

    class Meta:
        model = LearningSettings
        fields = ("use_log", "standing_weight", "half_life_days", "repeat_rate")


@in_studio
@require_http_methods(["GET", "POST"])
def learned_rates(request: StudioRequest) -> HttpResponse:
    """By operation the standing rate, the studio's own, its spread, and how past estimates did."""
    studio = request.studio
    settings = settings_of(studio)
    data = request.POST if request.method == "POST" else None
    form = LearningForm(data, instance=settings, studio=studio)
    if data is not None and form.written(learning_update, studio=studio):
        messages.success(
            request, "Saved. Estimates go by it from now on; quotes already issued stay as they are."
        )
        return redirect("learned_rates")
    context = {
        "section": "shop",
        "form": form,
        "learning": settings,
        "shown": rates_shown(studio),
        "curve": curve_of(studio),
    }
    return render(request, "shop/learned_rates.html", context, status=400 if form.errors else 200)


urlpatterns: list[URLPattern] = [path("shop/rates/yours/", learned_rates, name="learned_rates")]
