"""What a recall of a lot asks besides the log: commissions that have it and are not written down yet. Reads only."""

from django.db.models import Count, Q

from projects.models import AdhesiveLot, Commission, Studio
from projects.services.record_known import pieces_of

FEW_LETTERS = 2


def jobs_with_lot(studio: Studio, asked: str) -> list[Commission]:
    """Commissions with a lot in which these words stand, of which some piece is not in the log.

    Empty where nothing is asked. One question. So few letters stand in any number: they have to be all of it.
    """
    words = " ".join(asked.split())
    if not words:
        return []
    way = "lot__icontains" if len(words) > FEW_LETTERS else "lot__iexact"
    kept = AdhesiveLot.objects.for_studio(studio).filter(**{way: words})
    jobs = Commission.objects.for_studio(studio).filter(pk__in=kept.values("step__commission"))
    logged = Count("records", filter=Q(records__taken_out_at=None), distinct=True)
    rows = jobs.select_related("design", "client").annotate(logged=logged).order_by("asked_on", "pk")
    return [job for job in rows if job.logged < pieces_of(job)]
