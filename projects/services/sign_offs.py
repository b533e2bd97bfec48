"""Drawings and samples put to the client before the saw: frozen as they are shown, signed or refused once."""

import datetime
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from estimating.errors import InvalidSheet
from projects.agreed import agreed_piece, named_finish
from projects.design_differs import fingerprint
from projects.drawings import quote_drawing
from projects.estimates import estimate_design, finish_of, sheet_data
from projects.models import ClientLink, Commission, Member, SignOff, Wood
from projects.models.agreements import SignOffKind
from projects.services.agreements import (
    answer,
    job_held,
    refuse_at_end,
    tell_client,
    tell_studio,
    waiting,
    withdraw,
)
from projects.services.bench_photos import photo_cleaned
from projects.services.saving import checked
from projects.wording import said_length

if TYPE_CHECKING:
    from estimating.estimate import Estimate

NOT_DRAWN = "Give the commission a design first."
NOT_ESTIMATED = "The design cannot be worked out yet. Mend it on its page first."
SIGNED = "This very drawing is signed already."
SHOW = "Say what it is a sample of, or add a photo."
SIGNING = "Signing says: I have seen this, and the piece may be made to it."


@dataclass(frozen=True, slots=True)
class FrozenDrawing:
    """A design as it is frozen to be signed: its sheet with the finish by name, its drawing, and lines that say it."""

    sheet: Mapping[str, Any]
    drawing: str
    lines: tuple[str, ...]


def drawing_frozen(commission: Commission) -> FrozenDrawing:
    """The commission's design as it is now, to be put to the client. Errors: ValidationError at `design`."""
    design = commission.design
    if design is None:
        raise ValidationError({"design": NOT_DRAWN})
    try:
        _, estimate = estimate_design(design, commission=commission)
    except InvalidSheet as refusal:
        raise ValidationError({"design": [NOT_ESTIMATED, *map(str, refusal.errors)]}) from refusal
    finish = finish_of(design)
    sheet = named_finish(sheet_data(design, commission=commission), finish.name if finish else "")
    drawing = quote_drawing(estimate, studio=commission.studio)
    return FrozenDrawing(sheet, drawing, _lines(commission, estimate, sheet, drawing))


def _lines(
    commission: Commission, estimate: "Estimate", sheet: Mapping[str, Any], drawing: str
) -> tuple[str, ...]:
    """The piece in words, and what ties them to the drawing beside them."""
    studio = commission.studio
    woods = Wood.objects.for_studio(studio).filter(key__in=list(estimate.wood)).order_by("name")
    named = [f"{wood.name} ({wood.botanical})" if wood.botanical else wood.name for wood in woods]
    high, across = (said_length(round(mm), studio) for mm in (estimate.height, estimate.largest_diameter))
    finish, coats = sheet["finish"]["name"], sheet["finish"]["coats"]
    return (
        f"Size: {high} {studio.length_unit} high, {across} {studio.length_unit} across",
        *([f"Pieces: {sheet['quantity']}"] if sheet["quantity"] > 1 else []),
        f"Woods: {', '.join(named)}",
        *([f"Finish: {finish}, {coats} coat{'' if coats == 1 else 's'}"] if finish and coats else []),
        f"SHA-256 of the drawing: {hashlib.sha256(drawing.encode()).hexdigest()}",
        f"SHA-256 of what is compared with it later: {fingerprint(sheet)}",
    )


def sign_off_ask(
    *,
    commission: Commission,
    kind: str,
    words: str = "",
    photo: UploadedFile | None = None,
    member: Member,
    now: datetime.datetime | None = None,
) -> SignOff:
    """Put a drawing, a colour chip or a sample ring to the client; a drawing is frozen as the design is now.

    Errors: ValidationError by field; at `kind` where one of it waits already, or this very drawing is signed.
    """
    # Drawn and cleaned before anything is locked: both can take a second that no one else should wait for.
    frozen = drawing_frozen(commission) if kind == SignOffKind.DRAWING else None
    picture = photo_cleaned(photo) if photo else None
    if frozen is None and picture is None and not words.strip():
        raise ValidationError({"words": SHOW})
    with job_held(commission) as whose:
        refuse_at_end(whose)
        if frozen is not None:
            _refuse_signed(whose, frozen)
        row = SignOff(studio=whose.studio, commission=whose, kind=kind, words=words.strip(), asked_by=member)
        row.asked_at = now or timezone.now()
        if frozen is not None:
            row.sheet, row.drawing = dict(frozen.sheet), frozen.drawing
        row.text = _text(row, frozen.lines if frozen else (), picture)
        row.sha256 = hashlib.sha256(row.text.encode()).hexdigest()
        _kept(row, picture)
        tell_client(whose, "sign_off", member=member, sign_off=row, words=row.words)
        return row


def _refuse_signed(commission: Commission, frozen: FrozenDrawing) -> None:
    agreed = agreed_piece(commission)
    if agreed is not None and agreed.is_signed and fingerprint(agreed.sheet) == fingerprint(frozen.sheet):
        raise ValidationError({"kind": SIGNED})


def _text(row: SignOff, lines: tuple[str, ...], picture: ContentFile | None) -> str:
    """The whole of what is put, as the client's page shows it."""
    known = dict(SignOffKind.choices)
    said = [
        f"To be signed: {known.get(row.kind, row.kind)}",
        f"Piece: {row.commission.title}",
        f"For: {row.commission.client.name}",
        f"By: {row.studio.name}",
        f"Shown on {timezone.localtime(row.asked_at):%Y-%m-%d}",
        *([f"What it shows: {row.words}"] if row.words else []),
        *lines,
    ]
    if picture is not None:
        said.append(f"SHA-256 of the photo: {hashlib.sha256(picture.read()).hexdigest()}")
        picture.seek(0)
    return "\n".join([*said, SIGNING])


def _kept(row: SignOff, picture: ContentFile | None) -> None:
    if picture is not None:
        # Any name will do: where it is kept is the model's own choice.
        row.photo.save("sample.jpg", picture, save=False)
    try:
        checked(row)
    except BaseException:
        if row.photo:
            row.photo.delete(save=False)
        raise


def sign_off_answer(
    *,
    sign_off: SignOff,
    agreed: bool,
    name: str = "",
    words: str = "",
    link: ClientLink | None = None,
    member: Member | None = None,
    now: datetime.datetime | None = None,
) -> SignOff:
    """The client signs it, or says what should be other: by the private page (`link`), or taken down by `member`.

    Errors: ValidationError at `name` or `words`; with code `answered` for one that is answered or withdrawn already.
    """
    if not agreed and not words.strip():
        raise ValidationError({"words": "Say what should be other."})
    with waiting(sign_off) as row:
        answer(row, agreed=agreed, name=name, words=words, link=link, member=member, now=now)
        tell_studio(row, "signed", sign_off=row)
        return row


def sign_off_withdraw(
    *, sign_off: SignOff, member: Member, words: str = "", now: datetime.datetime | None = None
) -> SignOff:
    """Take back one that still waits. Errors: ValidationError with code `answered`."""
    return withdraw(sign_off, member=member, words=words, now=now)
