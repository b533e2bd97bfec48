"""What the client's page shows of sign-offs and changes: what waits with its forms, and what was answered."""

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from projects.models import ChangeOrder, Commission, Quote, SignOff
from projects.models.agreements import Answer
from projects.services.change_orders import days_words
from projects.statement import statement

LONGEST = 4000
MARK = "In the drawing:"


class SignForm(forms.Form):
    """A typed name under what is shown."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="It stands for your signature.",
        error_messages={"required": "Type your name: it stands for your signature."},
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


class OtherwiseForm(forms.Form):
    """What should be other, or why not."""

    words = forms.CharField(
        label="What should be different?",
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what should be different."},
    )


class NoForm(forms.Form):
    """Why not, where the client wants to say."""

    words = forms.CharField(
        label="Why not?", max_length=LONGEST, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


@dataclass(frozen=True, slots=True)
class Put:
    """One sign-off or change as the client sees it. The forms are there while it can be answered."""

    row: Any
    image: str
    yes: forms.Form | None
    no: forms.Form | None
    more: Mapping[str, Any]


def sign_off_rows(commission: Commission, *, typed: Mapping[str, forms.Form] | None = None) -> list[Put]:
    """What the client is shown to sign, what waits first; what was taken back is not shown.

    `typed` are refused forms by their names on the page.
    """
    rows = commission.sign_offs.exclude(answer=Answer.WITHDRAWN).defer("sheet")
    shown = [_put(row, typed or {}, SignForm, OtherwiseForm) for row in rows]
    return sorted(shown, key=lambda one: not one.row.is_waiting)


def change_rows(commission: Commission, *, typed: Mapping[str, forms.Form] | None = None) -> list[Put]:
    """The changes that were offered, what waits first; what was taken back is not shown."""
    today = timezone.localdate()
    rows = commission.change_orders.exclude(answer=Answer.WITHDRAWN).defer("sheet", "estimate")
    shown = []
    for row in rows:
        lapsed = row.is_waiting and row.valid_until < today
        more: dict[str, Any] = {
            "currency": currency_of(row),
            "differs": differs_of(row),
            "days": days_words(row.days),
            "lapsed": lapsed,
        }
        if row.is_waiting and not lapsed:
            so_far: Decimal = statement(commission, today=today).agreed
            more |= {"so_far": so_far, "in_all": so_far + row.amount}
        shown.append(_put(row, typed or {}, SignForm, NoForm, more=more))
    return sorted(shown, key=lambda one: not one.row.is_waiting)


def _put(
    row: SignOff | ChangeOrder,
    typed: Mapping[str, forms.Form],
    yes: type[forms.Form],
    no: type[forms.Form],
    *,
    more: Mapping[str, Any] | None = None,
) -> Put:
    name = form_name(row)
    given = more or {}
    drawn = base64.b64encode(row.drawing.encode()).decode()
    image = f"data:image/svg+xml;base64,{drawn}" if row.drawing else ""
    if not row.is_waiting or given.get("lapsed"):
        return Put(row, image, None, None, given)
    agreeing = typed.get(f"{name}-yes") or yes(prefix=f"{name}-yes")
    refusing = typed.get(f"{name}-no") or no(prefix=f"{name}-no")
    return Put(row, image, agreeing, refusing, given)


def form_name(row: SignOff | ChangeOrder) -> str:
    """What its forms are called on the page, where there may be several."""
    return f"{'change' if isinstance(row, ChangeOrder) else 'sign'}-{row.pk}"


def currency_of(change: ChangeOrder) -> str:
    """The currency of the quote that a change is to."""
    quote = Quote.objects.only("letterhead").get(pk=change.quote_id)
    return str(quote.letterhead.get("currency") or change.commission.studio.currency)


def differs_of(change: ChangeOrder) -> list[str]:
    """What differs in the drawing, as it stands in the text that is signed."""
    if not change.drawing:
        return []
    _, _, below = change.text.rpartition(f"\n{MARK}\n")
    return [line.removeprefix("- ") for line in below.splitlines() if line.startswith("- ")]
