"""Stock at cost as a table, with how each line comes about."""

from projects.pages.year_tables import Cell, Row, Table, coins, count, pictures
from projects.templatetags import turnery as show
from projects.year_stock import Line, Stock

LINES = (
    (
        "boards",
        "boards on the rack",
        "How many lay there that day, by the rack's history, by their price now.",
    ),
    ("offcuts", "offcuts on the rack", "Likewise; an offcut has its share of its board's price by volume."),
    ("in_progress", "work in progress", "Commissions with hours or boards cut, less the pieces finished."),
    (
        "finished",
        "finished, in the studio",
        "Pieces in the log, each with its part of its commission's cost.",
    ),
    ("consigned", "out on consignment", "Likewise, of pieces at a gallery that are not sold."),
    ("lent", "lent", "Likewise, of pieces that were lent."),
)


def stock_table(found: Stock, *, currency: str) -> Table:
    """All that is the studio's on a day, at cost."""
    from estimating.picture.bars import Bar

    caption = f"Stock at cost on {found.day.day} {found.day:%B %Y}"
    lines = [(words, why, getattr(found, name)) for name, words, why in LINES]
    bars = [Bar(words, show.money(line.cost, currency), float(line.cost)) for words, _, line in lines]
    return Table(
        slug="stock",
        caption=caption,
        heads=("stock", "how many", "material", "labour", "at cost"),
        rows=tuple(
            Row(words, (count(line.count, why), *_costs(line, currency))) for words, why, line in lines
        ),
        foot=Row("in all", (Cell(""), *_costs(found.whole, currency))),
        pictures=pictures(bars, title=caption, slug="stock"),
    )


def _costs(line: Line, currency: str) -> tuple[Cell, ...]:
    whole = f"{show.money(line.material, currency)} + {show.money(line.labour, currency)}."
    return (
        coins(
            line.material,
            currency,
            "Boards and offcuts by their price; cut, less the offcuts that came back.",
        ),
        coins(
            line.labour,
            currency,
            "Hours logged by that day, at the commission's labour rate or the usual one.",
        ),
        coins(line.cost, currency, whole),
    )
