"""How figures are printed: money to the cent, hours to the quarter, lengths as the shop writes them."""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from math import degrees as in_degrees
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from estimating.price.money import minor_digits
from estimating.quantities import BOARD_FOOT, format_length, unit_in_mm
from projects import wording
from projects.models.fields import plain_text

register = template.Library()

SIGNS = frozenset({"USD", "EUR", "GBP"})
DASH = "–"
_A_DAY = 24 * 60


def _is_figure(value: Any) -> bool:
    return isinstance(value, int | float | Decimal) and not isinstance(value, bool)


@register.filter
def money(amount: Any, currency: str = "") -> str:
    """`$1,182.50`; the code before it where the sign would not be known to all: `CHF 1,182.50`.

    Written by Babel with the decimals of ISO 4217: the locales' own table has those in daily use, which are fewer for
    some currencies, and a price printed so would not be the price that is kept.
    """
    from babel.numbers import format_currency  # brings its tables, which most requests do without

    if amount is None or amount == "":
        return DASH
    digits = minor_digits(currency)
    places = 2 if digits is None else digits
    value = Decimal(str(amount)).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    value += 0  # a rounded loss of less than a coin is nothing, not minus nothing
    figures = f"#,##0.{'0' * places}" if places else "#,##0"
    sign, minus = ("¤", "−¤") if currency in SIGNS else ("¤¤ ", "¤¤ −")
    pattern = f"{sign}{figures};{minus}{figures}"
    written: str = format_currency(value, currency, format=pattern, locale="en", currency_digits=False)
    return written.strip()


@register.filter
def less(amount: Any) -> Any:
    """An amount that is taken off, for `money`."""
    return -amount if _is_figure(amount) else amount


@register.filter
def size(mm: Any, studio: Any) -> str:
    """A length in mm as the studio writes lengths, without its unit."""
    if not _is_figure(mm):
        return DASH
    return format_length(float(mm), unit=studio.length_unit, inches=studio.inch_style)


@register.filter
def lined_up(mm: Any, studio: Any) -> str:
    """Likewise for a column, where decimals stand below one another: 28.0 over 31.9."""
    if not _is_figure(mm) or (studio.length_unit == "in" and studio.inch_style == "fraction"):
        return size(mm, studio)
    places, measure = (1, 1.0) if studio.length_unit == "mm" else (3, unit_in_mm("in"))
    return f"{float(mm) / measure:.{places}f}"


@register.filter
def size_unit(mm: Any, studio: Any) -> str:
    """Likewise, with its unit."""
    return f"{size(mm, studio)} {studio.length_unit}" if _is_figure(mm) else DASH


@register.filter
def hours(minutes: Any) -> str:
    """Minutes as hours to the quarter: `38 ¾`. Under a quarter of an hour, the minutes."""
    if not _is_figure(minutes):
        return DASH
    quarters = round(float(minutes) / 15)
    whole, part = divmod(quarters, 4)
    fraction = ("", "¼", "½", "¾")[part]
    if not fraction:
        return f"{whole:,}"
    return f"{whole:,} {fraction}" if whole else fraction


@register.filter
def figure(value: Any, places: int = 0) -> str:
    """A plain figure with thousands marked: `1,752`, or with `places` decimals."""
    return f"{value:,.{places}f}" if _is_figure(value) else DASH


@register.filter
def percent(share: Any) -> str:
    """A share as a percentage without needless noughts: 0.45 as `45 %`, 0.0825 as `8.25 %`."""
    if not _is_figure(share):
        return DASH
    written = f"{float(share) * 100:.3f}".rstrip("0").removesuffix(".")
    return f"{written} %"


@register.filter
def degrees(value: Any) -> str:
    """An angle as the saw is set: `7.50°`."""
    return f"{value:.2f}°" if _is_figure(value) else DASH


@register.filter
def timber(mm3: Any, studio: Any) -> str:
    """A volume of wood in mm³ as the shop measures it: board feet (144 cubic inches) or dm³, to the hundredth."""
    return f"{in_timber(mm3, studio):,.2f}" if _is_figure(mm3) else DASH


@register.filter
def about_timber(mm3: Any, studio: Any) -> str:
    """Likewise to the tenth, for a sentence."""
    return f"{in_timber(mm3, studio):,.1f}" if _is_figure(mm3) else DASH


def in_timber(mm3: Any, studio: Any) -> float:
    """A volume of wood in mm³ in board feet or dm³, as the shop measures it."""
    return float(mm3) / (BOARD_FOOT if studio.length_unit == "in" else 1e6)


@register.filter
def timber_unit(studio: Any) -> str:
    """What `timber` is counted in."""
    return "board feet" if studio.length_unit == "in" else "dm³"


@register.filter
def unit_words(unit: str) -> str:
    """A standing rate's unit as it is printed: `dm2 outer surface` as `dm² outer surface`."""
    return unit.replace("dm2", "dm²")


@register.filter
def in_shop_units(words: str, studio: Any) -> str:
    """A sentence of the arithmetic, which speaks of mm, in the studio's unit."""
    return wording.in_shop_units(words, studio)


@register.filter
def square_dm(mm2: Any) -> str:
    """An area in mm² printed in square decimetres."""
    return f"{float(mm2) / 1e4:,.1f}" if _is_figure(mm2) else DASH


@register.filter
def grams(value: Any) -> str:
    """A mass as one would say it: `850 g`, `1.4 kg`."""
    if not _is_figure(value):
        return DASH
    return f"{float(value):,.0f} g" if float(value) < 1000 else f"{float(value) / 1000:,.1f} kg"


@register.filter
def runs(numbers: Any) -> str:
    """Whole numbers in runs: 1, 2, 3, 7 as `1–3, 7`."""
    ordered = sorted(numbers)
    spans: list[list[int]] = []
    for number in ordered:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    return ", ".join(str(low) if low == high else f"{low}–{high}" for low, high in spans)


@register.filter
def get(mapping: Any, key: Any) -> Any:
    """The entry of a mapping; nothing where there is none."""
    return mapping.get(key) if hasattr(mapping, "get") else None


@register.simple_tag
def swatch(colour: str) -> SafeString:
    """A small square of a wood's colour; the wood's name always stands beside it in words."""
    return format_html('<span class="swatch" style="background:{}" aria-hidden="true"></span>', colour)


@register.filter
def plain(value: Any) -> str:
    """A figure from the database without the noughts that pad it."""
    return plain_text(value) if isinstance(value, Decimal) else str(value)


@register.filter
def wood_price(per_m3: Any, studio: Any) -> str:
    """A price a cubic metre as the shop buys: a board foot where it works in inches. Nothing entered: a dash."""
    if not per_m3:
        return DASH
    in_inches = studio.length_unit == "in"
    return money(per_m3 * Decimal(str(BOARD_FOOT / 1e9)) if in_inches else per_m3, studio.currency)


@register.filter
def as_degrees(radians: Any) -> str:
    """An angle in radians printed as the saw is set."""
    return degrees(in_degrees(radians)) if _is_figure(radians) else DASH


@register.simple_tag
def field_id(*parts: Any) -> str:
    """The name of a field in a row: `bands-2-layers`."""
    return "-".join(str(part) for part in parts)


@register.filter
def minutes(value: Any) -> str:
    """A wait or a working time: `21 min`, `2 h`, `12 h 30 min`, `3 days`."""
    if not _is_figure(value):
        return DASH
    left = round(value)
    if left >= 2 * _A_DAY and left % _A_DAY == 0:
        return f"{left // _A_DAY} days"
    whole_hours, rest = divmod(left, 60)
    said = [f"{whole_hours} h"] * bool(whole_hours) + [f"{rest} min"] * bool(rest or not whole_hours)
    return " ".join(said)


@register.filter
def turned(value: Any) -> str:
    """A turn with its direction, plus for anticlockwise: `+11.25°`, `−7.50°`."""
    return f"{'−' if value < 0 else '+'}{abs(value):.2f}°" if _is_figure(value) else DASH


@register.filter
def millilitres(value: Any) -> str:
    """A quantity of adhesive: `214 ml`."""
    return f"{value:,.0f} ml" if _is_figure(value) else DASH


@register.filter
def whole(written: str) -> str:
    """A printed figure without a nought after its point: `96.0` as `96`."""
    return written.removesuffix(".0")


@register.filter
def pairs(mapping: Any) -> Any:
    """A mapping's entries; `.items` in a template would ask a Counter for its count of "items"."""
    return list(mapping.items())


def film(mm: float) -> str:
    """A film of adhesive, and how much of it that is: 1 mm over 1 dm² is 10 ml."""
    return f"{mm:g} mm (that is {mm * 10:g} ml a dm²)"


@register.filter
def about_percent(share: Any) -> str:
    """A share to the whole per cent, where more would be false precision: `18 %`."""
    return f"{float(share) * 100:.0f} %" if _is_figure(share) else DASH


@register.filter
def moved(mm: Any, studio: Any) -> str:
    """A change of size, with its sign: to the hundredth of a millimetre, or to the thousandth of an inch."""
    if not _is_figure(mm):
        return DASH
    places, measure = (2, 1.0) if studio.length_unit == "mm" else (3, unit_in_mm("in"))
    written = f"{float(mm) / measure:+.{places}f}".replace("-", "−")
    return written[1:] if float(written[1:]) == 0 else written


@register.filter
def apart(mm: Any, studio: Any) -> str:
    """Likewise of what is never negative, without a sign."""
    return moved(abs(mm), studio).removeprefix("+") if _is_figure(mm) else DASH


@register.filter
def sizes(ends: Any, studio: Any) -> str:
    """Two lengths as the studio writes them, once where they read alike: `7.0 to 9.3`."""
    return _once(lined_up(end, studio) for end in ends)


@register.filter
def moves(ends: Any, studio: Any) -> str:
    """Two changes of size likewise, the smaller first: `−0.02 to −0.11`."""
    return _once(moved(end, studio) for end in ends)


@register.filter
def aparts(ends: Any, studio: Any) -> str:
    """Two of what is never negative likewise."""
    return _once(apart(end, studio) for end in ends)


def _once(written: Iterable[str]) -> str:
    return " to ".join(dict.fromkeys(written))
