"""A printed paper as a browser is given it."""

from django.http import HttpResponse
from django.utils.text import slugify


def pdf_file(printed: bytes, *, name: str) -> HttpResponse:
    """A PDF to be shown, and saved under a name made from plain words."""
    return HttpResponse(
        printed,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{slugify(name)}.pdf"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, no-cache",
        },
    )
