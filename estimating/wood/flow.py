"""The flow of each wood from its boards to the finished piece, each step in volume and money that add up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args

from estimating.wood.account import WoodAccount
from estimating.wood.strips import CuttingPlan

PartName = Literal["kept", "rip_waste", "crosscut_waste", "slicing_waste", "turning_waste", "turned"]
PARTS: tuple[PartName, ...] = get_args(PartName)
"""What leaves the wood, in the order of the work, and what is left at last."""

NodeName = Literal["boards", "strips", "rings", "layers", "turned"]

_LEAVES_BEFORE: Mapping[NodeName, int] = {"boards": 0, "strips": 2, "rings": 3, "layers": 4, "turned": 5}


@dataclass(frozen=True, slots=True)
class WoodFlow:
    """One wood's parts in the order of `PARTS`: whole mm3, and money in whole minor units of the currency."""

    wood: str
    volumes: tuple[int, ...]
    money: tuple[Decimal, ...]

    @property
    def boards(self) -> int:
        """mm3 of the boards: the sum of all parts."""
        return sum(self.volumes)

    @property
    def charge(self) -> Decimal:
        """What of the cost of wood is this wood's: the sum of all parts."""
        return sum(self.money, Decimal(0))

    def in_steps(self, step: float) -> tuple[int, ...]:
        """The parts in whole steps of so many mm3, which add up to the boards in whole steps."""
        return shared_out(round(self.boards / step), self.volumes)

    def in_shares(self, of: int) -> tuple[int, ...]:
        """The parts in shares, so many to the whole: 1000 for tenths of a per cent."""
        return shared_out(of, self.volumes)

    @property
    def yield_share(self) -> float:
        """The share of what is used up, which is the boards less what is kept, that ends in the piece."""
        used = self.boards - self.volume("kept")
        return self.volume("turned") / used if used else 0.0

    def volume(self, part: PartName) -> int:
        """mm3 of a part."""
        return self.volumes[PARTS.index(part)]

    def node(self, name: NodeName) -> int:
        """mm3 there are at a step of the work: the boards less all that has left before."""
        return sum(self.volumes[_LEAVES_BEFORE[name] :])


def shared_out(total: int, weights: Sequence[float | Fraction]) -> tuple[int, ...]:
    """A whole number in whole shares by weight, which add up to it: each rounded down, then the largest rests up.

    Source: the method of largest remainders, with ties to the earlier share.
    Errors: ValueError for a weight below 0, and for a total to share where all weights are 0.

    >>> shared_out(100, [1, 1, 1]), shared_out(7, [0.0, 2.5, 2.5])
    ((34, 33, 33), (0, 4, 3))
    """
    exact = [Fraction(weight) for weight in weights]
    whole = sum(exact, Fraction(0))
    if any(weight < 0 for weight in exact) or (total and not whole):
        raise ValueError("shares are by weights of at least 0, one of them above it")
    if not whole:
        return (0,) * len(exact)
    due = [total * weight / whole for weight in exact]
    shares = [int(share // 1) for share in due]
    by_rest = sorted(range(len(due)), key=lambda at: shares[at] - due[at])
    for at in by_rest[: total - sum(shares)]:
        shares[at] += 1
    return tuple(shares)


def flow_of(
    accounts: Mapping[str, WoodAccount], *, plan: CuttingPlan, charge: Decimal, places: int
) -> tuple[WoodFlow, ...]:
    """Every wood's flow, in the order of the accounts.

    Units: volumes in whole mm3, so that turned + each waste + kept = boards with no rounding between.
    Money: `charge` is the cost of wood as it is charged, of so many decimal `places`. It is shared among the woods by
        what the plan charges for their boards, then among a wood's parts by volume, each time by `shared_out`. What
        is kept carries no charge, save of boards that are charged whole.
    Errors: ValueError for a charge finer than `places`.
    """
    unit = Decimal(1).scaleb(-places)
    in_units = charge / unit
    if in_units != in_units.to_integral_value():
        raise ValueError(f"a charge of {charge} is finer than {places} decimal places")
    costs = {wood: _cost(plan, wood) for wood in accounts}
    by_wood = shared_out(int(in_units), list(costs.values()))
    flows = []
    for (wood, account), units in zip(accounts.items(), by_wood, strict=True):
        volumes = _volumes(account)
        charged = (round(_kept_charged(plan, wood)), *volumes[1:])
        money = tuple(share * unit for share in shared_out(units, charged))
        flows.append(WoodFlow(wood, volumes, money))
    return tuple(flows)


def all_woods(flows: Sequence[WoodFlow]) -> WoodFlow:
    """The flows of all woods together, part by part; its wood is the empty string."""
    return WoodFlow(
        "",
        tuple(sum(flow.volumes[at] for flow in flows) for at in range(len(PARTS))),
        tuple(sum((flow.money[at] for flow in flows), Decimal(0)) for at in range(len(PARTS))),
    )


def _volumes(account: WoodAccount) -> tuple[int, ...]:
    """The account's parts in whole mm3. Below 0 is what floats leave of a part that is none."""
    exact = [max(0.0, getattr(account, part)) for part in PARTS]
    return shared_out(round(account.boards), exact)


def _cost(plan: CuttingPlan, wood: str) -> Fraction:
    return sum((Fraction(board.cost) for board in plan.boards if board.wood == wood), Fraction(0))


def _kept_charged(plan: CuttingPlan, wood: str) -> float:
    return sum(board.kept for board in plan.boards if board.wood == wood and board.charged_whole)
