"""What pages show of money: a commission's section, marks on the job list, and all that is owed, client by client."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db.models import Q
from django.utils import timezone

from projects.models import Client, Commission, Letter, Studio
from projects.pages.payment_forms import PaymentForm, WordsForm
from projects.services.letters import not_sent
from projects.statement import Statement, late, statement, statements

ON_CONSOLE = "django.core.mail.backends.console.EmailBackend"


def money_section(job: Commission, *, studio: Studio, form: PaymentForm | None = None) -> dict[str, Any]:
    """For `jobs/money.html`: the statement, a form for a payment, and the letters written for it."""
    found = statement(job, today=timezone.localdate())
    now = timezone.now()
    stuck = set(Letter.objects.filter(not_sent(now=now), commission=job).values_list("pk", flat=True))
    letters = list(job.letters.select_related("written_by__user"))
    return {
        "found": found,
        "payment_form": form or PaymentForm(studio=studio, found=found),
        "words_form": WordsForm(),
        "letters": [(letter, letter.pk in stuck) for letter in letters],
        "no_mail_server": settings.EMAIL_BACKEND == ON_CONSOLE,
    }


def mark_money(jobs: Iterable[Commission], *, studio: Studio, today: datetime.date) -> dict[str, Any]:
    """Say of each job since when a payment is late, `late_since`, and whether a letter was not sent, `letter_stuck`.

    Returns what the job list says of all of them.
    """
    rows = list(jobs)
    overdue = late(rows, today=today)
    stuck = set(
        Letter.objects.for_studio(studio)
        .filter(not_sent(now=timezone.now()))
        .values_list("commission", flat=True)
    )
    for job in rows:
        days = [row.paper.due_on for row in overdue.get(job.pk, ()) if row.paper.due_on]
        job.late_since = min(days, default=None)  # type: ignore[attr-defined]  # for the list alone
        job.letter_stuck = job.pk in stuck  # type: ignore[attr-defined]
    return {
        "late_payments": [job for job in rows if job.pk in overdue],
        "letters_stuck": [job for job in rows if job.pk in stuck],
    }


@dataclass(frozen=True, slots=True)
class Owing:
    """One commission and its statement."""

    job: Commission
    found: Statement


@dataclass(frozen=True, slots=True)
class Whose:
    """A client's commissions of which money is open, and what they come to in each currency."""

    client: Client
    rows: tuple[Owing, ...]
    owed: tuple[tuple[str, Decimal], ...]


@dataclass(frozen=True, slots=True)
class Overview:
    """All money of a studio: open by client, what of it is late first; and commissions that are settled."""

    clients: tuple[Whose, ...]
    settled: tuple[Owing, ...]
    owed: tuple[tuple[str, Decimal], ...]
    overdue: tuple[tuple[str, Decimal], ...]
    owed_back: tuple[tuple[str, Decimal], ...]


def overview(studio: Studio, *, today: datetime.date) -> Overview:
    """What is owed to a studio and by it, as of a day."""
    touched = Q(quotes__events__what="accepted") | Q(papers__amount__isnull=False) | Q(payments__isnull=False)
    jobs = list(
        Commission.objects.for_studio(studio)
        .filter(pk__in=Commission.objects.for_studio(studio).filter(touched).values("pk"))
        .select_related("client", "studio")
        .order_by("client__name", "promised_on", "pk")
    )
    found = statements(jobs, today=today)
    rows = [Owing(job, found[job.pk]) for job in jobs if not found[job.pk].is_empty]
    still = [row for row in rows if not is_settled(row.found)]
    by_client: defaultdict[Client, list[Owing]] = defaultdict(list)
    for row in still:
        by_client[row.job.client].append(row)
    clients = [
        Whose(client, tuple(mine), _sums((row.found.currency, row.found.balance) for row in mine))
        for client, mine in by_client.items()
    ]
    return Overview(
        clients=tuple(sorted(clients, key=_latest_first)),
        settled=tuple(row for row in rows if is_settled(row.found)),
        owed=_sums((row.found.currency, max(row.found.balance, Decimal(0))) for row in still),
        overdue=_sums((row.found.currency, row.found.overdue) for row in still),
        owed_back=_sums((row.found.currency, max(-row.found.balance, Decimal(0))) for row in still),
    )


def is_settled(found: Statement) -> bool:
    """Whether nothing is owed either way, and no request is open."""
    return found.balance == 0 and not any(row.open for row in found.requests)


def _latest_first(whose: Whose) -> tuple[bool, datetime.date, str]:
    since = min((row.found.overdue_since for row in whose.rows if row.found.overdue_since), default=None)
    return since is None, since or datetime.date.max, whose.client.name


def _sums(amounts: Iterable[tuple[str, Decimal]]) -> tuple[tuple[str, Decimal], ...]:
    """What is above or below nothing, by currency."""
    sums: defaultdict[str, Decimal] = defaultdict(Decimal)
    for currency, amount in amounts:
        sums[currency] += amount
    return tuple((currency, amount) for currency, amount in sorted(sums.items()) if amount)
