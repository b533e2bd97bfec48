"""What a gallery owes piece by piece: equal parts that add up, and what was paid for those that were sold first."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from projects.gallery_account import Account, allotted, shared

COINS = st.integers(0, 10**8).map(lambda cents: Decimal(cents) / 100)


def test_a_commission_of_three_is_shared_to_the_coin() -> None:
    # By hand: 1,000 in thirds is 333.33, 333.34 and 333.33; 400 pay the third, sold first, and 66.67 of another.
    found = shared(Decimal(1000), Decimal(400), pieces=3, sold=[3, 1], currency="USD")
    assert found.accounts == {
        3: Account(Decimal("333.33"), Decimal("333.33")),
        1: Account(Decimal("333.33"), Decimal("66.67")),
    }
    assert (found.sold, found.unsold) == (Decimal("266.66"), Decimal("333.34"))


def test_a_currency_without_decimals_is_shared_in_whole_ones() -> None:
    # The yen has no minor unit (ISO 4217).
    found = shared(Decimal(1000), Decimal(0), pieces=3, sold=[1, 2, 3], currency="JPY")
    assert [account.asked for account in found.accounts.values()] == [333, 334, 333]


def test_what_is_not_known_takes_nothing_and_what_is_over_is_for_none() -> None:
    assert allotted([None, Decimal(50)], Decimal(70)) == [
        Account(None, Decimal(0)),
        Account(Decimal(50), Decimal(50)),
    ]
    assert allotted([Decimal(50)], Decimal(-20)) == [Account(Decimal(50), Decimal(0))]
    assert Account(None, Decimal(5)).open is None
    assert Account(Decimal(0), Decimal(5)).open == -5


def test_nothing_sold_and_more_pieces_in_the_log_than_were_ordered() -> None:
    assert shared(Decimal(90), Decimal(30), pieces=2, sold=[], currency="USD").unsold == 60
    found = shared(Decimal(90), Decimal(0), pieces=1, sold=[3], currency="USD")
    assert (found.accounts[3].asked, found.unsold) == (30, 60)


@given(COINS, COINS, st.integers(1, 12), st.data())
def test_what_is_open_adds_up_and_no_piece_is_paid_twice(
    total: Decimal, paid: Decimal, pieces: int, data: st.DataObject
) -> None:
    sold = data.draw(st.lists(st.integers(1, pieces), unique=True))
    found = shared(total, paid, pieces=pieces, sold=sold, currency="USD")
    assert list(found.accounts) == sold
    assert found.sold + found.unsold == total - paid
    kept = list(found.accounts.values())
    assert all(account.asked is not None and 0 <= account.paid <= account.asked for account in kept)
    # Equal to the coin, and a piece is paid in part only where all before it are paid.
    assert (
        max((abs(account.asked - total / pieces) for account in kept if account.asked is not None), default=0)
        <= 1
    )
    first = next((at for at, account in enumerate(kept) if account.open), len(kept))
    assert all(account.paid == 0 for account in kept[first + 1 :])
    assert sum((account.paid for account in kept), Decimal(0)) == min(
        paid, sum((account.asked or Decimal(0) for account in kept), Decimal(0))
    )
    if len(sold) == pieces:
        assert sum((account.asked or Decimal(0) for account in kept), Decimal(0)) == total
