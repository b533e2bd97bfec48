"""Money: rounding half up to a currency's smallest unit, and sharing out without a coin lost."""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Context, Decimal
from functools import cache
from itertools import pairwise

_MM3_IN_M3 = Decimal(10) ** 9
_ROOM = Context(prec=100)  # an amount of more than 28 digits is absurd, but it is no reason to stop


@cache
def minor_digits(currency: str) -> int | None:
    """Decimals of a currency's minor unit by ISO 4217; None for what is no currency with one."""
    from iso4217 import Currency  # reads its table on import: only when a currency is asked for

    try:
        digits: int | None = Currency(currency).exponent
    except ValueError:
        return None
    return digits


def round_money(amount: Decimal, *, currency: str) -> Decimal:
    """The amount in whole minor units, halves away from zero.

    Source: half up, not half even, as tax rules ask (Streamlined Sales and Use Tax Agreement section 324; HMRC
    VATREC12030).

    >>> round_money(Decimal("0.094875"), currency="USD"), round_money(Decimal("2.5"), currency="JPY")
    (Decimal('0.09'), Decimal('3'))
    """
    digits = minor_digits(currency)
    if digits is None:
        raise ValueError(f"not a currency with a minor unit: {currency!r}")
    return amount.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP, context=_ROOM)


def round_up_to(amount: Decimal, *, step: Decimal) -> Decimal:
    """The next whole multiple of a price step, or the amount itself where it is one or there is no step.

    >>> round_up_to(Decimal("1166.67"), step=Decimal(25))
    Decimal('1175')
    """
    return (amount / step).to_integral_value(rounding=ROUND_CEILING, context=_ROOM) * step if step else amount


def in_equal_parts(amount: Decimal, *, count: int, currency: str) -> tuple[Decimal, ...]:
    """Equal parts in whole coins that add up to the amount; what is less than a coin is in the last.

    Each part's end is rounded, not each part, so that no error gathers.

    >>> in_equal_parts(Decimal(100), count=3, currency="USD")
    (Decimal('33.33'), Decimal('33.34'), Decimal('33.33'))
    """
    between = (round_money(amount * at / count, currency=currency) for at in range(1, count))
    return tuple(after - before for before, after in pairwise((Decimal(0), *between, amount)))


def price_of_board(volume: float, *, per_m3: Decimal) -> Decimal:
    """What a board of so many mm3 costs at a price a cubic metre, to 0.01."""
    return (Decimal(repr(volume)) / _MM3_IN_M3 * per_m3).quantize(
        Decimal("0.01"), rounding=ROUND_HALF_UP, context=_ROOM
    )
