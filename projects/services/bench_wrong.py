"""It went wrong: parts marked lost, what has to be made again put on the plan, and the new date said."""

from projects.models import Commission
from projects.services.bench_changes import Doing


def wrong(doing: Doing) -> str:
    """Mark what a mishap cost and plan it again.

    `kind` is a MishapKind, `layers` and `rings` are the numbers of what is lost (neither: the work is done again with
    the same wood), `note` is in the maker's words. Errors: ValidationError at `kind`, `layers` or `rings`.
    """
    raise NotImplementedError


def dates_after(commission: Commission) -> str:
    """Plan the studio's calendar anew and say the job's new date against the one before."""
    raise NotImplementedError
