"""The certificate of a finished piece: one page with its picture, what it is and is made of, and a line to sign on."""

from collections.abc import Mapping
from typing import Any

from projects.models import Commission, PieceRecord
from projects.models.paper_terms import Edition
from projects.papers import of_piece, words
from projects.papers.clauses import edition


def certificate_pdf(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> bytes:
    """The certificate, from the record and the letterhead as they are now; the same bytes while they stay so.

    It has no day: that is written beside the signature.
    """
    return of_piece.print_piece_paper(
        "certificate.html",
        certificate_context(record, letterhead=letterhead),
        letterhead=letterhead,
        made_at=record.updated_at,
    )


def certificate_context(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> dict[str, Any]:
    """All that it says; what nobody wrote down is left out."""
    return {
        "head": "Certificate",
        "number": record.serial,
        "title": record.title,
        "picture": of_piece.pictures_of([record], longest=of_piece.CERTIFICATE_PX).get(record.pk),
        "facts": of_piece.said_facts(
            (
                ("Number", record.serial),
                ("Year", str(record.year or "")),
                ("Size", of_piece.sized(record, letterhead)),
                ("Segments", f"{record.segments:,}" if record.segments else ""),
                ("Finish", of_piece.finish(record)),
            )
        ),
        "woods": list(record.woods.all()),
        "edition": edition_said(record),
        "signed": _signed(letterhead),
    }


def edition_said(record: PieceRecord) -> str:
    """Whether there are others like it, as its commission says; the number is given where that is of one piece.

    The pieces of a commission of several share what it says, so that none of them can claim its number.
    """
    job: Commission | None = record.commission
    if job is None or not job.edition:
        return ""
    count = count_of(job)
    if count > 1 and job.edition == Edition.SERIES:
        return f"It is one of a series of {job.edition_size}."
    if count > 1:
        return f"It is one of {words.spelled(count)} made together, and not made again."
    return edition(
        {
            "edition": job.edition,
            "edition_number": job.edition_number,
            "edition_size": job.edition_size,
        }
    ).replace(" as it stands here", "")


def count_of(job: Commission) -> int:
    """How many pieces a commission is of."""
    return job.quantity or (job.design.quantity if job.design else 1)


def _signed(letterhead: Mapping[str, Any]) -> str:
    """How pieces are signed, as the studio usually says it, as a sentence."""
    said = " ".join((letterhead.get("usual") or {}).get("signature", "").split())
    return said if not said else said[:1].upper() + said[1:] + ("" if said[-1] in ".!?" else ".")
