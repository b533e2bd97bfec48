"""A printed paper as a browser is given it."""

from django.http import HttpResponse
from django.utils.text import slugify


def pdf_file(printed: bytes, *, name: str, saved: bool = False) -> HttpResponse:
    """A PDF to be shown, or `saved` at once, under a name made from plain words."""
    disposition = "attachment" if saved else "inline"
    return HttpResponse(
        printed,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'{disposition}; filename="{slugify(name)}.pdf"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, no-cache",
        },
    )
