"""The worked prices in DEVELOPERS.md are what the code makes of their inputs."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from estimating.piece import Pricing
from estimating.price.costs import Cost
from estimating.price.pricing import make_price

PAGE = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.split("<!-- worked:")[1].split("## Habits")[0].splitlines()
    if re.match(r"\| \d", line)
]


def test_there_are_worked_prices_to_hold() -> None:
    assert len(ROWS) >= 4


@pytest.mark.parametrize("row", ROWS, ids=lambda row: " ".join(row[:7]))
def test_the_page_s_worked_price_comes_out_to_the_cent(row: list[str]) -> None:
    nothing = Decimal("0.00")
    cost = Cost(
        wood=Decimal(row[1]),
        adhesive=nothing,
        consumables=nothing,
        labour=Decimal(row[0]),
        overhead=nothing,
        failures=nothing,
    )
    pricing = Pricing(
        margin=Decimal(row[3]),
        gallery_share=Decimal(row[4]),
        tax=Decimal(row[5]),
        tax_inclusive=row[6] == "yes",
        deposit_share=Decimal("0.5"),
    )
    price = make_price(cost, mean_hours=float(row[2]), pricing=pricing)
    found = (price.net, price.retail, price.gallery_share, price.tax, price.deposit, price.per_hour)
    assert [str(amount) for amount in found] == row[7:]


TERMS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.split("<!-- terms:")[1].split("<!-- worked:")[0].splitlines()
    if re.match(r"\| \d", line)
]


def test_there_are_worked_terms_to_hold() -> None:
    assert len(TERMS) >= 5


@pytest.mark.parametrize("row", TERMS, ids=lambda row: " ".join(row[:9]))
def test_the_page_s_worked_terms_come_out_to_the_cent(row: list[str]) -> None:
    nothing = Decimal("0.00")
    share, mode, step, fee, discount, bearer, freight, its_tax, tax = row[:9]
    pricing = Pricing(
        margin=Decimal(0),
        gallery_share=Decimal(share),
        gallery_mode=mode,  # type: ignore[arg-type]
        price_step=Decimal(step),
        payment_fee=Decimal(fee),
        discount=Decimal(discount),
        discount_borne_by=bearer,  # type: ignore[arg-type]
        freight=Decimal(freight),
        freight_tax=Decimal(its_tax) if its_tax else None,
        tax=Decimal(tax),
    )
    cost = Cost(Decimal("1000.00"), nothing, nothing, nothing, nothing, nothing)
    price = make_price(cost, mean_hours=1, pricing=pricing)
    found = (price.net, price.retail, price.gallery_share, price.fee, price.total)
    assert [str(amount) for amount in found] == row[9:]
