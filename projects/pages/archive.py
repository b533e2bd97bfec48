"""The whole studio as one file to keep, for its owner."""

import datetime
import tempfile
from typing import cast

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from projects.models.studio import MemberRole
from projects.pages.access import StudioRequest, in_studio
from projects.services.archive import UnwritableArchive, studio_archive


@in_studio
@require_GET
def studio_file(request: StudioRequest) -> HttpResponse:
    """The studio's archive, written to disk first and sent piece by piece."""
    if request.member.role != MemberRole.OWNER:
        messages.error(request, "Only the studio's owner takes the whole of it out.")
        return redirect("studio")
    file = tempfile.TemporaryFile()  # noqa: SIM115  # the answer closes it, and with that it is gone
    try:
        studio_archive(studio=request.studio, file=file)
    except (UnwritableArchive, OSError) as refusal:
        file.close()
        words = refusal.strerror if isinstance(refusal, OSError) else refusal
        messages.error(request, f"The archive could not be written. {words}")
        return redirect("studio")
    file.seek(0)
    name = f"{slugify(request.studio.name) or 'studio'}-{datetime.datetime.now(datetime.UTC):%Y-%m-%d}.zip"
    sent = FileResponse(
        file,
        as_attachment=True,
        filename=name,
        content_type="application/zip",
        headers={"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"},
    )
    return cast(HttpResponse, sent)  # which it is in all that a view's guard asks


urlpatterns = [path("studio/archive/", studio_file, name="studio_archive")]
