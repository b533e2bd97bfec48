"""What other parts of the studio show on the client's page: one function each, for the include of the same name."""

from typing import Any

from django.utils import timezone

from projects.models import ClientLink, Commission
from projects.models.issued import ASKS_FOR_MONEY
from projects.pages.client_agreements_rows import change_rows, sign_off_rows
from projects.statement import statement


def sign_offs(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/sign_offs.html`."""
    return {"sign_offs": sign_off_rows(commission)}


def changes(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/changes.html`."""
    return {"changes": change_rows(commission)}


def papers(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/papers.html`: what is owed and paid, and the papers that ask for nothing, the newest first."""
    handed_out = commission.papers.exclude(sha256="").exclude(kind__in=ASKS_FOR_MONEY)
    return {
        "owing": statement(commission, today=timezone.localdate()),
        "handed_out": list(handed_out.defer("pdf", "content")),
    }
