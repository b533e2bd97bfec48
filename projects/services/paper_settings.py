"""Changing what stands on papers besides the piece: who the studio is, and what it usually agrees."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import PaperDefaults, Studio
from projects.papers.clauses import settled_clauses
from projects.papers.terms import STANDARD_TERMS, clauses
from projects.services.freezing import frozen_letterhead
from projects.services.saving import changed, checked


def studio_papers_update(*, studio: Studio, **values: Any) -> Studio:
    """Change the studio as a party. Tax invoices need its tax number; ValidationError at `sends_invoices` without."""
    with transaction.atomic():
        saved = changed(studio, values)
        if saved.sends_invoices and not saved.tax_number:
            raise ValidationError({"sends_invoices": "Write your tax number on the letterhead first."})
        return checked(saved)


def paper_defaults_update(*, studio: Studio, **values: Any) -> PaperDefaults:
    """Change what is usually agreed; quotes already issued keep what they say."""
    with transaction.atomic():
        return checked(changed(PaperDefaults.objects.for_studio(studio).get(), values))


def said_by_terms(studio: Studio) -> list[str]:
    """Heads that the studio's own terms have as well: their paragraphs stand in the place of what is settled."""
    settled = settled_clauses(frozen_letterhead(studio)["usual"], {"edition": "unique", "ships": "studio"})
    own = {clause.head.casefold() for clause in clauses(studio.terms or STANDARD_TERMS)}
    return [clause.head.removesuffix(".") for clause in settled if clause.head.casefold() in own]
