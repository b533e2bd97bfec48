"""Drawing quotes up and issuing them: numbered without a gap, frozen with everything they were made from."""

import datetime
import hashlib
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from estimating.errors import InvalidSheet
from projects.drawings import quote_drawing
from projects.estimates import estimate_design, finish_of, sheet_data
from projects.models import Commission, Quote, Studio
from projects.models.commissions import Stage
from projects.models.quotes import QuoteState
from projects.papers.clauses import settled_clauses
from projects.papers.terms import in_full
from projects.quote_state import accepted_quote
from projects.services.freezing import frozen_addressee, frozen_letterhead, frozen_species
from projects.services.quote_options import options_freeze, options_frozen
from projects.services.saving import changed, checked

LAST_REVISION = "Z"
STANDS = (
    "A quote of this commission stands accepted. What changes now is a change order; or withdraw the quote first, and "
    "say why."
)
NOT_ESTIMATED = "The design cannot be estimated yet. Mend it on its page, then issue the quote."


def quote_draft(*, commission: Commission, **values: Any) -> Quote:
    """The commission's draft quote, made if there is none, with the studio's terms, care and lead time."""
    studio = commission.studio
    usual = {"terms": studio.terms, "care": studio.care, "lead_time": studio.lead_time}
    with transaction.atomic():
        drafts = Quote.objects.for_studio(studio).filter(state=QuoteState.DRAFT)
        draft = drafts.filter(commission=commission).first()
        if draft is None:
            return checked(changed(Quote(studio=studio, commission=commission), usual | values))
        return checked(changed(draft, values)) if values else draft


def quote_issue(
    *, quote: Quote, today: datetime.date | None = None, now: datetime.datetime | None = None
) -> Quote:
    """Issue a draft: number it, freeze all it shows, print both papers, and move its commission to quoted.

    A commission's later quotes keep the number of its first and go by the next revision letter. None is issued while
    one stands accepted.
    Errors: ValidationError, keyed by field where there is one; nothing is saved and no number used up then.
    """
    moment = now or timezone.now()
    today = today or timezone.localdate(moment)
    # Estimated before anything is locked: a sawing plan can take a second that no one else should wait for.
    frozen, options = _frozen(quote.commission), options_frozen(quote.commission)
    with transaction.atomic():
        studio = Studio.objects.select_for_update().get(pk=quote.studio_id)
        # Held before the quote, as whoever accepts one does.
        commission = Commission.objects.select_for_update().get(pk=quote.commission_id)
        current: Quote = Quote.objects.select_for_update().get(pk=quote.pk)
        current.commission = commission
        if current.is_issued:
            raise ValidationError(Quote.FROZEN, code="issued")
        if accepted_quote(commission):
            raise ValidationError(STANDS, code="accepted")
        for name, value in frozen.items():
            setattr(current, name, value)
        current.terms = _terms(current)
        current.number, current.revision = _next_reference(studio, current.commission, today=today)
        current.valid_until = current.valid_until or today + datetime.timedelta(days=studio.quote_valid_days)
        if current.valid_until < today:
            raise ValidationError({"valid_until": "This day has passed."})
        current.state, current.issued_at = QuoteState.ISSUED, moment
        options_freeze(quote=current, frozen=options)
        _print(current)
        checked(current)
        _mark_quoted(current.commission)
    return current


def _frozen(commission: Commission) -> dict[str, Any]:
    design = commission.design
    if design is None:
        raise ValidationError({"commission": "Give the commission a design first."})
    # Imported here since both bring the arithmetic, which only issuing needs of all that this module does.
    from estimating.answer import as_json

    try:
        sheet, estimate = estimate_design(design, commission=commission)
    except InvalidSheet as refusal:
        raise ValidationError([NOT_ESTIMATED, *map(str, refusal.errors)]) from refusal
    studio = commission.studio
    finish = finish_of(design)
    return {
        "title": sheet.title,
        "sheet": sheet_data(design, commission=commission),
        "estimate": as_json(estimate),
        "drawing": quote_drawing(estimate, studio=studio),
        "letterhead": frozen_letterhead(studio),
        "addressee": frozen_addressee(commission),
        "finish": {"name": finish.name, "coats": finish.coats} if finish else {},
        "species": frozen_species(studio, estimate.wood),
    }


def _terms(quote: Quote) -> str:
    """The whole of the terms, in words: what is printed and agreed to, whatever becomes of the settings."""
    settled = settled_clauses(quote.letterhead.get("usual", {}), quote.addressee.get("delivery", {}))
    return in_full(quote.terms, settled)


def _next_reference(studio: Studio, commission: Commission, *, today: datetime.date) -> tuple[str, str]:
    """The number and revision letter to use; the studio's row is locked, so no other quote can take them."""
    issued = Quote.objects.for_studio(studio).filter(commission=commission, state=QuoteState.ISSUED)
    if latest := issued.order_by("-revision").first():
        if latest.revision == LAST_REVISION:
            raise ValidationError("This quote has been revised 25 times. Take the commission on anew.")
        return latest.number, chr(ord(latest.revision) + 1)
    if today.year > studio.quote_year:
        studio.quote_year, studio.quote_count = today.year, 0
    studio.quote_count += 1
    studio.save(update_fields=["quote_year", "quote_count"])
    return f"{studio.quote_year}-{studio.quote_count:03}", "A"


def _print(quote: Quote) -> None:
    # Imported here since the printer takes half a second to load and only an issued quote is printed.
    from projects.papers.quote import quote_pdf

    quote.trade_pdf = quote_pdf(quote, copy="trade")
    quote.trade_sha256 = hashlib.sha256(quote.trade_pdf).hexdigest()
    quote.client_pdf = quote_pdf(quote, copy="client")
    quote.client_sha256 = hashlib.sha256(quote.client_pdf).hexdigest()


def _mark_quoted(commission: Commission) -> None:
    if commission.stage in (Stage.ENQUIRY, Stage.DESIGNING):
        commission.stage = Stage.QUOTED
        checked(commission)
