"""What other parts of the studio show on the client's page: one function each, for the include of the same name."""

from typing import Any

from projects.models import ClientLink, Commission


def sign_offs(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/sign_offs.html`."""
    return {}


def changes(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/changes.html`."""
    return {}


def papers(commission: Commission, *, link: ClientLink) -> dict[str, Any]:
    """For `client/papers.html`."""
    return {}
