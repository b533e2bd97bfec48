"""The rack's forms: boards, reserving them, and logging that they were cut."""

from typing import Any

from django import forms
from django.db.models import Q

from projects.models import Board, Commission
from projects.models.commissions import OPEN_STAGES
from projects.models.rack import MOST_BOARDS, BoughtBy
from projects.pages.fields import LengthField, limits_of
from projects.pages.rack_fields import DefectsField
from projects.pages.record_form import RecordForm
from projects.services.rack import Offcut

# What a form may leave out, as the API may: the record then keeps, or starts with, what it usually has.
MAY_BE_LEFT_OUT = ("surface", "bought_by")


class BoardForm(RecordForm):
    """Like boards on the rack. The amount typed as the price is that of a unit where they are bought by one."""

    lengths, money = ("length", "width", "thickness"), ("price",)

    class Meta:
        model = Board
        fields = (
            *("wood", "count", "length", "width", "nominal", "surface", "thickness"),
            *("price", "bought_by", "defects", "place", "note"),
        )
        labels = {"count": "How many", "price": "Price", "bought_by": "Price is for a"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._offer_woods()
        self.fields["nominal"].choices = [("", "not by quarters"), *self.fields["nominal"].choices[1:]]  # type: ignore[attr-defined]  # a ChoiceField
        thickness = self.fields["thickness"]
        thickness.required = False
        thickness.help_text = "As it lies there. Empty: as thick as what it is sold as."
        for name in MAY_BE_LEFT_OUT:
            self.fields[name].required = False
        self.fields["defects"] = DefectsField(
            studio=self.studio,
            label="Defects",
            help_text=(
                "What is not used, one a line, measured from one end: 300 to 380 for the whole width; "
                f"300 to 380, 0 to 40 where only the 40 {self.studio.length_unit} at the near edge are bad."
            ),
        )
        if self.instance.pk:
            if self.instance.price_per_unit is not None:
                self.initial["price"] = self.instance.price_per_unit
            # How many lay there when the page was shown: what was cut since then is not put back unseen.
            seen = forms.IntegerField(required=False, widget=forms.HiddenInput, initial=self.instance.count)
            self.fields["count_seen"] = seen

    def _offer_woods(self) -> None:
        wood: Any = self.fields["wood"]
        rows = list(wood.queryset)
        offered = [(row.pk, row.name) for row in rows if row.active]
        others = [(row.pk, row.name) for row in rows if not row.active]
        groups = [("", "choose …"), ("Offered", offered), ("All others", others)]
        wood.choices = [group for group in groups if group[1]]

    def clean(self) -> dict[str, Any]:
        """What the service takes: nothing that was left out, and the price where it belongs."""
        given = super().clean() or {}
        for name in MAY_BE_LEFT_OUT:
            if not given.get(name):
                given.pop(name, None)
        bought_by = given.get("bought_by") or self.instance.bought_by
        given["price_per_unit"] = None
        if bought_by != BoughtBy.PIECE and "price" in given:
            given["price_per_unit"] = given.pop("price")
        return given


class ReserveForm(forms.Form):
    """Boards of one kind set aside for a commission."""

    commission = forms.ModelChoiceField(Commission.objects.none(), empty_label="choose …")
    count = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_BOARDS,
        initial=1,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short figure"}),
    )

    def __init__(self, *args: Any, board: Board, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        commission: Any = self.fields["commission"]
        commission.queryset = _open_commissions(board)


class CutForm(forms.Form):
    """Boards that were cut, and what for."""

    count = forms.IntegerField(
        label="How many were cut",
        min_value=1,
        max_value=MOST_BOARDS,
        initial=1,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short figure"}),
    )
    commission = forms.ModelChoiceField(
        Commission.objects.none(),
        required=False,
        label="For",
        empty_label="no commission",
        help_text="Boards reserved for it are taken first.",
    )
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, *args: Any, board: Board, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        commission: Any = self.fields["commission"]
        commission.queryset = _open_commissions(board)


def _open_commissions(board: Board) -> Any:
    """What may still need boards, and what has some of these."""
    jobs = Commission.objects.for_studio(board.wood.studio_id)
    return jobs.filter(Q(stage__in=OPEN_STAGES) | Q(reservations__board=board)).distinct().order_by("title")


class OffcutForm(forms.Form):
    """Like offcuts that go back on the rack; a row that is left empty is none."""

    def __init__(self, *args: Any, board: Board, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        count = forms.IntegerField(required=False, label="How many", min_value=1, max_value=MOST_BOARDS)
        count.widget = forms.TextInput(attrs={"inputmode": "numeric", "class": "short figure"})
        count.widget.attrs["placeholder"] = "1"
        self.fields["count"] = count
        for side in ("length", "width", "thickness"):
            field = LengthField(studio=board.wood.studio, label=side.capitalize(), required=False)
            field.limits = limits_of(Board._meta.get_field(side))
            self.fields[side] = field
        self.fields["thickness"].widget.attrs["placeholder"] = str(
            self.fields["thickness"].prepare_value(board.thickness)
        )

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed in this row."""
        return not any((self.data.get(self.add_prefix(name)) or "").strip() for name in self.fields)

    def clean(self) -> dict[str, Any]:
        """An offcut needs its length and width."""
        given = super().clean() or {}
        if not self.is_blank:
            for side in ("length", "width"):
                if side not in self.errors and given.get(side) is None:
                    self.add_error(side, f"Say its {side}, or empty the row.")
        return given

    def offcut(self) -> Offcut:
        """What the service takes."""
        given = self.cleaned_data
        sides = {side: given[side] for side in ("length", "width", "thickness")}
        return Offcut(**sides, count=given.get("count") or 1)
