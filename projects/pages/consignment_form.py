"""The form by which a gallery's payment is written down: one day, and an amount beside each piece it is for."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from projects.consigned import Stay
from projects.models import Client, Member, PlacePayment
from projects.pages.fields import MoneyField
from projects.pages.record_form import RecordForm
from projects.services.payments import TWICE
from projects.services.place_payments import place_payments_take
from projects.templatetags.turnery import money

PREFIX = "amount-"


class PaidForm(RecordForm):
    """What one payment of a gallery is for, by piece: its sales that are open and not of a commission it ordered."""

    class Meta:
        model = PlacePayment
        fields = ("way", "paid_on", "note")
        widgets = {"paid_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})}

    def __init__(self, *args: Any, stays: list[Stay], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # Today, and not compared with a second, hidden field.
        self.fields["paid_on"].show_hidden_initial = False
        for stay in stays:
            if stay.sale and stay.account and stay.job is None and stay.account.open != 0:
                self.fields[f"{PREFIX}{stay.sale.pk}"] = _amount(stay)
        self.fields["again"] = forms.BooleanField(
            required=False, label="It is another one like the one that is there"
        )

    @property
    def pieces(self) -> list[Any]:
        """The fields of the pieces."""
        return [self[name] for name in self.fields if name.startswith(PREFIX)]

    @property
    def about(self) -> list[Any]:
        """The fields that are said once of the payment."""
        return [self[name] for name in self._meta.fields or ()]

    @property
    def asks_again(self) -> bool:
        """Whether one like it is there, so that it is asked whether this is another."""
        return any(TWICE in errors for errors in self.errors.values()) or bool(self["again"].value())

    def taken(self, *, client: Client, member: Member) -> list[PlacePayment]:
        """The payments as written down; none where the form or the service refused, with the messages on it."""
        if not self.is_valid():
            return []
        once = {name: self.cleaned_data[name] for name in ("way", "paid_on", "note", "again")}
        amounts: dict[int, Decimal] = {
            int(name.removeprefix(PREFIX)): amount
            for name, amount in self.cleaned_data.items()
            if name.startswith(PREFIX) and amount is not None
        }
        try:
            return place_payments_take(client=client, amounts=amounts, member=member, **once)
        except ValidationError as refusal:
            for place, messages in refusal.message_dict.items():
                self._refuse(place, messages)
            return []

    def _refuse(self, place: str, messages: list[str]) -> None:
        """Put what the service refuses at its field, once for the form: `7.amount` at the amount of the sale 7."""
        number, _, name = place.rpartition(".")
        field = f"{PREFIX}{number}" if name == "amount" else name
        known = field if field in self.fields else None
        for said in messages:
            if said not in self.errors.get(known or "__all__", []):
                self.add_error(known, said)


def _amount(stay: Stay) -> MoneyField:
    record, account = stay.record, stay.account
    still = account.open if account else None
    due = "No share is agreed, so what is due is not known." if still is None else ""
    if still is not None:
        due = f"Still due: {money(still, record.currency)}."
    limits = {"max_digits": 14, "decimal_places": 4}
    field = MoneyField(
        currency=record.currency,
        label=f"{record.title} ({record.serial})",
        required=False,
        help_text=due,
        **limits,
    )
    field.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "short figure"})
    return field
