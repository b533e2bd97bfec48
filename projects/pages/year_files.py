"""Each table of the year's figures as a CSV file."""

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from projects.pages.access import StudioRequest, in_studio
from projects.pages.csv_files import handed_out, written
from projects.pages.year_figures import TABLES, YearForm, asked_of, figures


@in_studio
@require_GET
def year_csv(request: StudioRequest, table: str) -> HttpResponse:
    """One table of a year: amounts in the studio's currency, hours as decimals."""
    if table not in TABLES:
        raise Http404
    form = YearForm(request.GET, today=timezone.localdate())
    if not form.is_valid():
        said = " ".join(f"{name}: {one}" for name, words in form.errors.items() for one in words)
        return HttpResponse(said, status=400, content_type="text/plain; charset=utf-8")
    asked = asked_of(form)
    found = figures(request.studio, asked).tables[table]
    when = asked.day.isoformat() if table == "stock" else str(asked.year)
    return handed_out(written(found.heads, found.lines), name=f"{table}-{when}.csv")
