"""A year's figures worked out by hand, and what must hold of any year. The sums are of our own, done on paper."""

import datetime
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from projects.year import (
    Compared,
    Cut,
    Job,
    Open,
    accuracy,
    by_gallery,
    by_kind,
    earned,
    kind_of,
    last_day,
    unpaid,
    woods_used,
)
from projects.year_stock import CONSIGNED, IN_STUDIO, LENT, Pile, Spent, labour_of, stock

ROW, QUAY = (1, "Row Gallery"), (2, "Quay")
DAY = datetime.date(2025, 12, 31)

# 1,200 with a fifth on top: 200 is tax, 1,000 earned in 10 h.
BOUGHT = Job(
    "bowl",
    ROW,
    "EUR",
    Decimal(600),
    Decimal(1200),
    agreed=Decimal(1000),
    base=Decimal(1000),
    tax=Decimal(200),
)
# 330 of 660 from a gallery that keeps 400 of 1,000: 30 is tax, 300 earned, 200 of the share goes with it.
CONSIGNMENT = Job(
    "bowl", ROW, "EUR", Decimal(300), Decimal(330), base=Decimal(600), tax=Decimal(60), share=Decimal(400)
)
# Half of 1,000 comes in, and 150 of it goes on to the gallery that passed the work on.
PASSED_ON = Job(
    "vase", QUAY, "EUR", received=Decimal(500), base=Decimal(1000), share=Decimal(300), from_base=True
)
# 20 went back to somebody at home, after an hour and a half.
BACK = Job("not in the log", None, "EUR", Decimal(90), Decimal(-20))
YEAR = [BOUGHT, CONSIGNMENT, PASSED_ON, BACK]


def test_a_year_worked_out_by_hand_comes_out_to_the_cent() -> None:
    whole = earned(YEAR, words="in all", currency="EUR")
    assert (whole.jobs, whole.received, whole.tax, whole.passed_on) == (4, 2010, 230, 150)
    assert (whole.earned, whole.share, whole.sales, whole.agreed) == (1630, 350, 1980, 1000)
    assert (whole.minutes, whole.an_hour) == (990, Decimal("98.79"))  # 1630 / 16.5


def test_kinds_and_galleries_worked_out_by_hand() -> None:
    kinds = by_kind(YEAR, currency="EUR")
    assert [(row.words, row.earned, row.an_hour) for row in kinds] == [
        ("bowl", 1300, Decimal("86.67")),  # 1300 / 15
        ("vase", 350, None),
        ("not in the log", -20, Decimal("-13.33")),  # -20 / 1.5
    ]
    galleries = by_gallery(YEAR, currency="EUR")
    assert [(row.words, row.earned, row.share) for row in galleries] == [
        ("Row Gallery", 1300, 200),
        ("Quay", 350, 150),
        ("without a gallery", -20, 0),
    ]


def test_two_galleries_of_one_name_stay_two() -> None:
    namesake = Job("bowl", (3, "Row Gallery"), "EUR", received=Decimal(1))
    assert [row.received for row in by_gallery([BOUGHT, namesake], currency="EUR")] == [1200, 1]


def test_money_of_two_currencies_is_not_added_up() -> None:
    with pytest.raises(ValueError, match="several currencies"):
        earned([BOUGHT, Job("bowl", None, "USD", received=Decimal(1))], words="in all", currency="EUR")


amounts = st.decimals(-10_000, 10_000, places=2)
positive = st.decimals(0, 10_000, places=2)
jobs = st.builds(
    Job,
    st.sampled_from(["bowl", "vase", "platter"]),
    st.sampled_from([None, ROW, QUAY]),
    st.just("EUR"),
    positive,
    amounts,
    agreed=positive,
    base=positive,
    tax=positive,
    share=positive,
    from_base=st.booleans(),
)


@given(st.lists(jobs, max_size=8), st.sampled_from([by_kind, by_gallery]))
def test_the_parts_of_a_year_add_up_to_all_of_it(rows: list[Job], part: Callable[..., Any]) -> None:
    whole, parts = earned(rows, words="", currency="EUR"), part(rows, currency="EUR")
    for name in ("jobs", "received", "tax", "share", "passed_on", "agreed", "minutes", "earned", "sales"):
        assert sum(getattr(row, name) for row in parts) == getattr(whole, name), name


@given(jobs)
def test_tax_and_share_are_the_same_part_of_a_payment_as_of_the_order(job: Job) -> None:
    found = earned([job], words="", currency="EUR")
    if job.base + job.tax:
        assert abs(found.tax * (job.base + job.tax) - job.received * job.tax) <= Decimal("0.005") * (
            job.base + job.tax
        )
    assert found.passed_on == (found.share if job.from_base else 0)


@pytest.mark.parametrize(
    ("forms", "kind"),
    [
        ([], "not in the log"),
        (["", " "], "not in the log"),
        (["Bowl", " bowl"], "bowl"),
        (["bowl", "vase"], "of several kinds"),
    ],
)
def test_a_commission_is_of_the_kind_its_pieces_are(forms: list[str], kind: str) -> None:
    assert kind_of(forms) == kind


def test_woods_are_what_was_cut_less_what_came_back() -> None:
    board, offcut = Decimal(1000 * 100 * 25), Decimal(200 * 100 * 25)
    found = woods_used(
        [
            Cut(1, "walnut", "#5b3f2b", False, 2, board, Decimal(40)),
            Cut(1, "walnut", "#5b3f2b", True, 3, offcut, Decimal(8)),
            Cut(2, "maple", "#e8d3a8", False, 1, board, Decimal(20)),
        ]
    )
    assert [(wood.name, wood.cut, wood.came_back, wood.used, wood.cost) for wood in found] == [
        ("walnut", 5_000_000, 1_500_000, 3_500_000, 56),
        ("maple", 2_500_000, 0, 2_500_000, 20),
    ]


def test_the_median_piece_and_those_within_a_quarter_of_their_estimate() -> None:
    pieces = [Compared(2025, Decimal(100), Decimal(took)) for took in (75, 90, 120, 126)]
    silent = [Compared(2025, Decimal(0), Decimal(60)), Compared(2025, Decimal(60), Decimal(0))]
    earlier, this = accuracy([*pieces, *silent, Compared(2024, Decimal(60), Decimal(90))])
    assert (earlier.year, earlier.pieces, earlier.ratio, earlier.near) == (2024, 1, Decimal("1.50"), 0)
    assert (this.year, this.pieces, this.ratio, this.near) == (2025, 4, Decimal("1.05"), 3)
    assert (this.estimated, this.taken) == (400, 411)


def test_what_galleries_owe_for_pieces_sold_and_for_those_that_are_not() -> None:
    found = unpaid(
        [
            Open(ROW, sold=Decimal(300), overdue=Decimal(100)),
            Open(ROW, sold=Decimal(100), out=Decimal(500)),
            Open(QUAY, sold=Decimal(700)),
            Open(ROW, sold=Decimal(60), is_job=False),
            Open(ROW, sold=Decimal(-20), is_job=False),
        ]
    )
    assert [(row.name, row.jobs, row.pieces, row.sold, row.overdue, row.out) for row in found] == [
        ("Quay", 1, 0, 700, 0, 0),
        ("Row Gallery", 2, 2, 440, 100, 500),
    ]


def test_an_empty_year_is_nothing_everywhere() -> None:
    whole = earned([], words="in all", currency="EUR")
    assert (whole.earned, whole.minutes, whole.an_hour) == (0, 0, None)
    assert by_kind([], currency="EUR") == by_gallery([], currency="EUR") == woods_used([]) == unpaid([]) == ()
    assert accuracy([]) == ()
    assert stock([], [], day=DAY, currency="EUR").total == 0


def test_the_last_day_of_a_year_or_today() -> None:
    today = datetime.date(2026, 5, 4)
    assert last_day(2025, today=today) == DAY
    assert last_day(2026, today=today) == today


# --- stock --------------------------------------------------------------------------------------------------------


def test_stock_worked_out_by_hand() -> None:
    found = stock(
        [Pile(False, 3, Decimal(40)), Pile(True, 2, Decimal("7.50"))],
        [
            # 8 h at 30 and 100 of wood: one of two pieces is finished, the other in progress at 170.
            Spent(Decimal(480), Decimal(30), Decimal(100), 2, (IN_STUDIO,)),
            # 100 among three, to the coin: 33.33 sold, 33.34 out, 33.33 lent.
            Spent(Decimal(0), Decimal(30), Decimal(100), 3, ("sold", CONSIGNED, LENT)),
            Spent(Decimal(60), Decimal(45), Decimal(5), 1, is_over=True),
        ],
        unknown=[IN_STUDIO, "sold", CONSIGNED],
        day=DAY,
        currency="EUR",
    )
    assert (found.boards.count, found.boards.cost, found.offcuts.count, found.offcuts.cost) == (3, 120, 2, 15)
    assert (found.finished.material, found.finished.labour) == (50, 120)
    assert (found.in_progress.count, found.in_progress.cost) == (1, 170)
    assert (found.gone.cost, found.consigned.cost, found.lent.cost) == (
        Decimal("33.33"),
        Decimal("33.34"),
        Decimal("33.33"),
    )
    assert (found.over.cost, found.unknown) == (50, 2)
    assert found.total == 120 + 15 + 170 + 170 + Decimal("66.67")


places = st.lists(st.sampled_from([IN_STUDIO, CONSIGNED, LENT, "sold", "given"]), max_size=4).map(tuple)
spent = st.builds(Spent, positive, positive, positive, st.integers(1, 4), places, st.booleans())


@given(st.lists(spent, max_size=6))
def test_no_cost_is_lost_between_the_lines_of_the_stock(rows: list[Spent]) -> None:
    found = stock([], rows, day=DAY, currency="EUR")
    spent_in_all = sum(row.wood + labour_of(row, currency="EUR") for row in rows)
    assert found.total + found.gone.cost + found.over.cost == spent_in_all
    pieces = (found.finished, found.consigned, found.lent, found.gone)
    assert sum(line.count for line in pieces) == sum(len(row.places) for row in rows)
