"""Tax by line and by quote against published rules, payments that add up, failures by stage against many tries."""

import random
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import estimate
from estimating.glue.assembly import GlueUp
from estimating.piece import Pricing
from estimating.price.failures import are_staged, layers_at_stake, losses
from estimating.price.payments import in_stages
from estimating.price.tax import add_tax, tax_in, tax_lines
from estimating.sheet import read_sheet
from tests.estimating.sheets import answer, bowl, modest

D = Decimal
ENDS = st.sampled_from(["USD", "JPY", "KWD"])


def tax_of(lines: list[str], rate: str, *, by: Any, inclusive: bool = False, currency: str = "GBP") -> str:
    printed = [(D(line), D(rate)) for line in lines]
    return str(tax_lines(printed, inclusive=inclusive, by=by, currency=currency).tax)


# Worked from the rules. Each: halves up (HMRC VATREC12030), by line to the nearest penny or on the invoice (HMRC Notice
# 700 section 17.5, VATREC12010; Streamlined Sales and Use Tax Agreement section 324: item or invoice).
@pytest.mark.parametrize(
    ("lines", "rate", "by_line", "by_quote"),
    [
        (["1.99", "1.99", "1.99"], "0.2", "1.20", "1.19"),  # 3 x 0.398 up to 0.40; 1.194 down
        (["1.15"], "0.0825", "0.09", "0.09"),  # 0.094875: its third decimal is 4; not through 0.095
        (["1.15", "1.15"], "0.0825", "0.18", "0.19"),  # 0.18975: its third decimal is 9
        (["0.02", "0.03"], "0.2", "0.01", "0.01"),  # 0.004 down and 0.006 up; 0.010
        (["0.025"], "0.2", "0.01", "0.01"),  # exactly half a penny goes up
    ],
)
def test_tax_is_rounded_as_the_published_rules_work_it(
    lines: list[str], rate: str, by_line: str, by_quote: str
) -> None:
    assert (tax_of(lines, rate, by="line"), tax_of(lines, rate, by="quote")) == (by_line, by_quote)


def test_tax_in_a_price_is_a_sixth_at_a_fifth() -> None:
    """The fraction of a price with 20 % in it is 1/6 (HMRC VAT Guide, Notice 700, section 7.3.1; from memory)."""
    assert tax_of(["120.00"], "0.2", by="quote", inclusive=True) == "20.00"
    assert tax_of(["1.99"] * 3, "0.2", by="line", inclusive=True) == "0.99"  # 3 x 0.331666
    assert tax_of(["1.99"] * 3, "0.2", by="quote", inclusive=True) == "1.00"  # 0.995, a half, up


@modest
@given(st.decimals(0, 10**6, places=3), st.decimals(0, 10, places=4), ENDS)
def test_tax_that_was_added_comes_out_again(amount: Decimal, rate: Decimal, currency: str) -> None:
    before = amount.quantize(D(1).scaleb({"USD": -2, "JPY": 0, "KWD": -3}[currency]))
    printed = add_tax(before, rate=rate, currency=currency)
    assert printed - tax_in(printed, rate=rate, currency=currency) == before


@modest
@given(
    st.lists(st.decimals(0, 5000, places=2), min_size=1, max_size=6),
    st.decimals(0, 1, places=4),
    st.booleans(),
)
def test_by_line_and_by_quote_differ_by_half_a_coin_a_line_at_most(
    lines: list[Decimal], rate: Decimal, inclusive: bool
) -> None:
    line, quote = (
        tax_lines([(one, rate) for one in lines], inclusive=inclusive, by=by, currency="USD")  # type: ignore[arg-type]
        for by in ("line", "quote")
    )
    assert abs(line.tax - quote.tax) <= D("0.005") * (len(lines) + 1)
    for taxed in (line, quote):
        assert taxed.base + taxed.tax == taxed.total


# --- payments ---------------------------------------------------------------------------------------------------


def test_thirds_of_a_hundred_add_up() -> None:
    """33.33, 66.67 and 100.00 paid by the end of each: 33.33, 33.34, 33.33 (a third at order, approval, delivery)."""
    third = D(1) / 3
    paid = in_stages(D("100.00"), shares=[third, third], currency="USD")
    assert [str(payment.amount) for payment in paid] == ["33.33", "33.34", "33.33"]


@modest
@given(st.decimals(0, 10**7, places=2), st.lists(st.decimals("0.01", 1, places=3), max_size=10), ENDS)
def test_payments_add_up_to_the_coin(total: Decimal, weights: list[Decimal], currency: str) -> None:
    shares = [weight / (sum(weights) + 1) for weight in weights]
    whole = total.quantize(D(1).scaleb({"USD": -2, "JPY": 0, "KWD": -3}[currency]))
    paid = in_stages(whole, shares=shares, currency=currency)
    assert sum(payment.amount for payment in paid) == whole
    assert len(paid) == len(shares) + 1
    assert all(payment.amount >= 0 for payment in paid)


# --- failures ---------------------------------------------------------------------------------------------------


def loss(**shares: str) -> Pricing:
    return replace(Pricing(), **{name: D(share) for name, share in shares.items()})  # type: ignore[arg-type]


def test_a_piece_lost_at_the_lathe_takes_along_all_that_was_spent() -> None:
    """A tenth of 100 + 50 + 50 + 25 = 225: 225 / 9 = 25."""
    found = losses((D(100), D(50), D(50), D(25)), at_stake=D(1), pricing=loss(lathe_loss="0.1"))
    assert (found.segment, found.ring, found.glue_up, found.lathe) == (0, 0, 0, 25)


def test_each_failure_takes_along_what_failed_before_it() -> None:
    """A fifth each: 100/4 = 25; (125 + 75)/4 = 50; twice (250 + 50)/4 = 150; (450 + 30)/4 = 120."""
    pricing = loss(segment_loss="0.2", ring_loss="0.2", glue_up_loss="0.2", lathe_loss="0.2")
    assert losses((D(100), D(75), D(50), D(30)), at_stake=D(2), pricing=pricing).each == (25, 50, 150, 120)


def test_failures_cost_what_trying_until_it_holds_costs() -> None:
    """A second way: 40,000 jobs tried with a coin at every stage. Their mean lies within 4 of its standard errors."""
    spent, shares = (100.0, 60.0, 40.0, 80.0), (0.1, 0.05, 0.08, 0.15)
    luck = random.Random(20)

    def made(stage: int) -> float:
        cost = 0.0
        while True:
            cost += (made(stage - 1) if stage else 0.0) + spent[stage]
            if luck.random() >= shares[stage]:
                return cost

    tried = [made(3) for _ in range(40_000)]
    mean = sum(tried) / len(tried)
    error = (sum((cost - mean) ** 2 for cost in tried) / len(tried) ** 2) ** 0.5
    names = ("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss")
    pricing = loss(**{name: str(share) for name, share in zip(names, shares, strict=True)})
    found = losses(tuple(map(D, spent)), at_stake=D(1), pricing=pricing)  # type: ignore[arg-type]
    assert abs(mean - sum(spent) - float(sum(found.each))) < 4 * error


def test_a_glue_up_has_at_stake_what_it_glues_and_what_that_is_glued_to() -> None:
    """Six layers as two stacks of three, joined: 3 + 3 + 6 layers at stake, twice the piece. Rings have none."""
    glue_ups = [
        GlueUp(1, "ring", rings=(1, 2), layers=(1, 2)),
        GlueUp(2, "stack", layers=(1, 2, 3), after=(1,)),
        GlueUp(3, "stack", layers=(4, 5, 6)),
        GlueUp(4, "join", layers=(3, 4), joins=(2, 3), after=(2, 3)),
        GlueUp(5, "waste_block", layers=(1,), after=(4,)),
    ]
    assert layers_at_stake(glue_ups, layers=6) == 2


def test_losses_by_stage_stand_in_the_place_of_one_share() -> None:
    sheet = bowl()
    sheet["pricing"] |= {"failure_share": 0.2, "lathe_loss": 0.1}
    found = answer(sheet)
    cost, failures = found["cost"], found["money"]["failures"]
    assert cost["failures"] == failures["lathe"]
    assert (failures["segment"], failures["ring"], failures["glue_up"]) == ("0.00", "0.00", "0.00")
    # Design, finishing and delivery are not lost, so it is less than a ninth of all costs.
    rest = D(cost["total"]) - D(cost["failures"])
    assert 0 < D(cost["failures"]) < rest / 9
    sheet["pricing"] |= {"lathe_loss": 0}
    assert answer(sheet)["cost"]["failures"] == str((rest / 4).quantize(D("0.01")))


def test_every_loss_makes_the_piece_dearer() -> None:
    sheet = bowl()
    for name in ("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"):
        sheet["pricing"] = {**bowl()["pricing"], name: 0.05}
        found = estimate(read_sheet(sheet))
        assert are_staged(found.sheet.pricing)
        assert found.cost.failures == sum(found.cost.by_stage.values()) > 0
