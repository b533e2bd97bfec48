"""The section "Where the wood goes": the flow picture, and the table that proves it with each figure's working."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from estimating.quantities import BOARD_FOOT
from projects.models import Studio
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.wood.flow import WoodFlow

WORDS = (
    "back on the rack",
    "ripping, planing",
    "crosscuts, spares",
    "slicing, flattening",
    "turned away",
    "in the piece",
)
"""Of estimating.wood.flow.PARTS, in their order."""

GOES_ON = ("to saw", "in strips", "in rings", "in layers", "in the piece")
"""What is left after each part but the last."""

HUNDREDTHS, TENTHS = 100, 1000


@dataclass(frozen=True)
class Row:
    """A part of the flow as it is printed, with the workings of its volume and its money."""

    words: str
    volume: str
    share: str
    money: str
    why_volume: str
    why_money: str


@dataclass(frozen=True)
class Shown:
    """One wood's flow, or that of all together: its pictures lying and upright, and its table."""

    name: str
    colour: str
    lying: SafeString
    upright: SafeString
    rows: Sequence[Row]
    boards: str
    why_boards: str
    charge: str
    why_charge: str
    turned_share: str


def wood_flow(estimate: "Estimate", *, studio: Studio) -> dict[str, Any]:
    """What the section shows: all woods together, and each by itself where there are several."""
    from estimating.answer_flow import flows_of  # brings numpy, which other pages do without

    flows = flows_of(estimate)
    shower = _Shower(estimate, studio)
    each = [shower.one(flow, number) for number, flow in enumerate(flows, start=1)]
    every = each[0] if len(each) == 1 else shower.every(flows)
    return {"flow": every, "flow_woods": each if len(each) > 1 else []}


class _Shower:
    """Prints the flows of one estimate in the studio's units."""

    def __init__(self, estimate: "Estimate", studio: Studio) -> None:
        self.estimate, self.studio = estimate, studio
        self.unit = show.timber_unit(studio)
        self.step = (BOARD_FOOT if studio.length_unit == "in" else 1e6) / HUNDREDTHS

    def one(self, flow: "WoodFlow", number: int) -> Shown:
        """One wood."""
        wood = self.estimate.workshop.woods[flow.wood]
        return self._shown([flow], flow, flow.in_steps(self.step), wood.name, wood.colour, f"fl-{number}")

    def every(self, flows: "Sequence[WoodFlow]") -> Shown:
        """All woods; its printed volumes are the sums of theirs, so that the tables agree."""
        from estimating.wood.flow import all_woods

        steps = tuple(map(sum, zip(*(flow.in_steps(self.step) for flow in flows), strict=True)))
        return self._shown(flows, all_woods(flows), steps, "all woods", "", "fl")

    def _shown(
        self,
        flows: "Sequence[WoodFlow]",
        flow: "WoodFlow",
        steps: tuple[int, ...],
        name: str,
        colour: str,
        prefix: str,
    ) -> Shown:
        rows = self._rows(flow, steps)
        pictures = [
            self._picture(
                flows, steps, rows, name, upright=upright, prefix=f"{prefix}{'-up' if upright else ''}"
            )
            for upright in (False, True)
        ]
        return Shown(
            name=name,
            colour=colour,
            lying=pictures[0],
            upright=pictures[1],
            rows=rows,
            boards=self._volume(sum(steps)),
            why_boards=self._why_boards(flow),
            charge=self._money(flow.charge),
            why_charge=self._why_charge(),
            turned_share=show.about_percent(flow.yield_share),
        )

    def _rows(self, flow: "WoodFlow", steps: tuple[int, ...]) -> list[Row]:
        workings = self._workings(flow, steps)
        shares = flow.in_shares(TENTHS)
        return [
            Row(
                words=words,
                volume=self._volume(step),
                share=f"{share / 10:.1f} %",
                money=self._money(money),
                why_volume=working,
                why_money=self._why_money(flow, steps, at),
            )
            for at, (words, step, share, money, working) in enumerate(
                zip(WORDS, steps, shares, flow.money, workings, strict=True)
            )
        ]

    def _workings(self, flow: "WoodFlow", steps: tuple[int, ...]) -> list[str]:
        """The subtraction that gives each part, in the figures of the table; the last says how it is measured."""
        shop = self.estimate.sheet.shop
        left = [self._volume(sum(steps[at:])) for at in range(len(steps) + 1)]
        long, wide = (show.size_unit(mm, self.studio) for mm in (shop.keep_length, shop.keep_width))
        offcuts = sum(
            len(board.offcuts) for board in self.estimate.cutting.boards if flow.wood in ("", board.wood)
        )
        taken = [
            f"{offcuts} offcut{'' if offcuts == 1 else 's'} at least {long} long and {wide} wide, length × width × "
            "thickness.",
            f"To saw {left[1]} − strips {left[2]}: trimming, saw cuts, planing, and ends too short to keep.",
            f"Strips {left[2]} − rings {left[3]}: saw cuts, ends that are held, spare segments, corners of discs.",
            f"Rings {left[3]} − layers {left[4]}: slicing cuts, sanding, and what truing the faces takes.",
            f"Layers {left[4]} − the piece {left[5]}: the corners outside, the hollow inside, and the allowances.",
            "Layer by layer, the volume between the outside and the inside as drawn, gaps taken off"
            + self._pieces(),
        ]
        return [f"{words} In {self.unit}." for words in taken]

    def _pieces(self) -> str:
        quantity = self.estimate.sheet.quantity
        return "." if quantity == 1 else f", of all {quantity} pieces."

    def _why_money(self, flow: "WoodFlow", steps: tuple[int, ...], at: int) -> str:
        whole = self.estimate.sheet.pricing.whole_boards
        if at == 0 and not whole:
            return "Not charged: it stays the shop’s."
        if not flow.wood:
            return "The sum of each wood’s, which stand below."
        charged = self._volume(sum(steps if whole else steps[1:]))
        coins = "Coins left over go to the largest rests, so that the parts add up."
        return f"{self._volume(steps[at])} of {charged} {self.unit}: so much of {self._money(flow.charge)}. {coins}"

    def _why_boards(self, flow: "WoodFlow") -> str:
        boards = [board for board in self.estimate.cutting.boards if flow.wood in ("", board.wood)]
        count = f"{len(boards)} board{'' if len(boards) == 1 else 's'}"
        return f"{count}, whole, rough, bought ones included: length × width × thickness. In {self.unit}."

    def _why_charge(self) -> str:
        if self.estimate.sheet.pricing.whole_boards:
            return "The price of each board opened, whole."
        return "The price of each board × the share of it that does not go back on the rack."

    def _volume(self, steps: int) -> str:
        return f"{steps / HUNDREDTHS:,.2f}"

    def _money(self, amount: Any) -> str:
        return show.money(amount, self.estimate.sheet.pricing.currency)

    def _picture(
        self,
        flows: "Sequence[WoodFlow]",
        steps: tuple[int, ...],
        rows: Sequence[Row],
        name: str,
        *,
        upright: bool,
        prefix: str,
    ) -> SafeString:
        from estimating.picture.flow import Branch, Strand, draw_flow

        colours = self.estimate.workshop.woods
        going = [f"{self._volume(sum(steps[at:]))} {self.unit}" for at in range(len(steps))]
        branches = [
            Branch(
                (row.words, f"{row.volume} {self.unit}", f"{row.share} · {row.money}" if at else row.share),
                (GOES_ON[at], going[at + 1]),
                is_loss=at > 0,
            )
            for at, row in enumerate(rows[:-1])
        ]
        parts = "; ".join(f"{row.words} {row.volume} {self.unit}, {row.share}, {row.money}" for row in rows)
        drawing = draw_flow(
            [
                Strand(
                    colours[flow.wood].colour, tuple(map(float, flow.volumes[:-1])), float(flow.volumes[-1])
                )
                for flow in flows
            ],
            branches,
            begins=("boards", going[0]),
            title=f"Where the wood goes: {name}",
            description=f"Of {going[0]} of boards: {parts}.",
            upright=upright,
            prefix=prefix,
        )
        return mark_safe(drawing)  # made of escaped text by estimating.picture.svg
