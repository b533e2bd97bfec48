"""What other parts of the studio show on the client's page: one function each, for the include of the same name."""

from typing import Any

from django.utils import timezone

from projects.models import ClientLink, Commission
from projects.statement import statement


def sign_offs(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/sign_offs.html`."""
    return {}


def changes(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/changes.html`."""
    return {}


def papers(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/papers.html`: what is owed and paid, and the papers handed out, the newest first."""
    handed_out = commission.papers.exclude(sha256="").defer("pdf", "content")
    return {"owing": statement(commission, today=timezone.localdate()), "handed_out": list(handed_out)}
