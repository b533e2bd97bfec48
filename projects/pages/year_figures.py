"""What of a year is asked for, read from the page's address, and the tables that answer it."""

import datetime
from dataclasses import dataclass, field
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.http import QueryDict
from django.utils import timezone

from projects import year_rows as rows
from projects.models import Studio
from projects.models.records import FIRST_YEAR
from projects.models.studio import GalleryShareAs
from projects.pages.year_stock_table import stock_table
from projects.pages.year_tables import WITHIN, Table, accuracy_table, earned_table, unpaid_table, woods_table
from projects.year import (
    Accuracy,
    Earned,
    accuracy,
    by_gallery,
    by_kind,
    earned,
    last_day,
    unpaid,
    woods_used,
)
from projects.year_stock import Stock, stock

TABLES = ("kinds", "galleries", "unpaid", "woods", "accuracy", "stock")


class YearForm(forms.Form):
    """Which year, and the day of the stock; what is empty is as usual."""

    year = forms.IntegerField(
        label="year", widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short figure"})
    )
    on = forms.DateField(
        label="stock on",
        required=False,
        help_text="Empty: the last day of the year, or today.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    def __init__(self, data: QueryDict, *, today: datetime.date) -> None:
        given = {name: data.get(name, "").strip() for name in ("year", "on")}
        super().__init__({**given, "year": given["year"] or str(today.year)}, auto_id="year-%s")
        self.today = today

    def clean_year(self) -> int:
        """A year that has begun."""
        year: int = self.cleaned_data["year"]
        if not FIRST_YEAR <= year <= self.today.year:
            raise forms.ValidationError(f"Write a year from {FIRST_YEAR} to {self.today.year}.")
        return year

    def clean_on(self) -> datetime.date | None:
        """A day that has come."""
        day: datetime.date | None = self.cleaned_data["on"]
        if day is not None and day > self.today:
            raise forms.ValidationError("This day is yet to come.")
        if day is not None and day.year < FIRST_YEAR:
            raise forms.ValidationError(f"Not before {FIRST_YEAR}.")
        return day


@dataclass(frozen=True, slots=True)
class Asked:
    """A year, and a day of stock."""

    year: int
    day: datetime.date
    given: dict[str, str] = field(default_factory=dict)

    @property
    def query(self) -> str:
        """As it stands in an address."""
        return urlencode(self.given)


@dataclass(frozen=True, slots=True)
class Figures:
    """All that the page shows of a year; `as_expense` where the studio counts the galleries' share as one."""

    asked: Asked
    as_expense: bool
    whole: Earned
    tables: dict[str, Table]
    this_year: Accuracy | None
    stock: Stock
    foreign: int
    """Commissions and sales whose money is in another currency, which no sum has."""
    within: str = WITHIN


def asked_of(form: YearForm) -> Asked:
    """What a valid form asks."""
    values: dict[str, Any] = form.cleaned_data
    year, on = values["year"], values["on"]
    given = {"year": str(year), **({"on": on.isoformat()} if on else {})}
    return Asked(year, on or last_day(year, today=form.today), given)


def figures(studio: Studio, asked: Asked) -> Figures:
    """The year's figures of a studio."""
    currency, as_expense = studio.currency, studio.gallery_share_as == GalleryShareAs.EXPENSE
    everything = [*rows.jobs_of(studio, asked.year), *rows.sales_of(studio, asked.year)]
    jobs = [job for job in everything if job.currency == currency]
    whole = earned(jobs, words="in all", currency=currency)
    earning = partial(earned_table, whole=whole, as_expense=as_expense)
    owing, foreign = rows.open_of(studio, today=timezone.localdate())
    years = accuracy(rows.compared_of(studio, asked.year))
    spent, unknown = rows.spent_of(studio, day=asked.day)
    piles = rows.piles_of(studio, day=asked.day)
    stocked = stock(piles, spent, unknown=unknown, day=asked.day, currency=currency)
    kinds = by_kind(jobs, currency=currency)
    galleries = by_gallery(jobs, currency=currency)
    tables = (
        earning("kinds", "kind of piece", kinds, caption="Earned by kind of piece"),
        earning("galleries", "gallery", galleries, caption="Earned gallery by gallery"),
        unpaid_table(unpaid(owing), currency=currency),
        woods_table(woods_used(rows.cuts_of(studio, asked.year)), studio=studio),
        accuracy_table(years),
        stock_table(stocked, currency=currency),
    )
    return Figures(
        asked=asked,
        as_expense=as_expense,
        whole=whole,
        tables={table.slug: table for table in tables},
        this_year=next((one for one in years if one.year == asked.year), None),
        stock=stocked,
        foreign=len(everything) - len(jobs) + foreign,
    )
