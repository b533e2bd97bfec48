"""The estimate as a page of text: the answer first, then what proves it."""

from collections.abc import Iterable, Iterator, Sequence
from math import degrees

from estimating.answer import mass_of
from estimating.answer_bench import report_schedule
from estimating.answer_weather import report_weather
from estimating.answer_woods import report_woods
from estimating.estimate import Estimate
from estimating.glue.label import times_at
from estimating.glue.mixing import Mix
from estimating.quantities import BOARD_FOOT
from estimating.work.turning import turning_steps


def as_text(estimate: Estimate) -> str:
    """A readable report of the whole estimate."""
    before = (_answer, _rings, _wood, _buying, _glue, _turning, _hours, _money)
    parts = (*before, report_weather, report_woods, report_schedule, _cautions)
    return "\n".join(line for part in parts for line in (*part(estimate), "")).rstrip() + "\n"


def _hours_text(minutes: float) -> str:
    return f"{round(minutes / 15) / 4:g} h"


def _answer(estimate: Estimate) -> Iterator[str]:
    sheet, labour, price = estimate.sheet, estimate.labour, estimate.price
    segments = sum(account.segments for account in estimate.wood.values())
    feet = sum(account.board_feet for account in estimate.wood.values())
    pieces = f"{sheet.quantity} pieces of " if sheet.quantity > 1 else ""
    yield f"{pieces}{sheet.title}"
    yield (
        f"{segments:,} segments, {estimate.layers} layers, {len(estimate.rings)} rings; {feet:.1f} board feet; "
        f"{_hours_text(labour.median)} ({_hours_text(labour.low)} to {_hours_text(labour.high)}, four times in five)."
    )
    yield (
        f"Retail {price.retail} {sheet.pricing.currency}, {price.net} of it to the studio: "
        f"{price.per_hour} an hour after all other costs."
    )
    yield (
        f"{estimate.height:.1f} mm high, {estimate.largest_diameter:.1f} mm across, about {mass_of(estimate):.0f} g "
        "at 12 % moisture."
    )


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """A table with its first column to the left and figures to the right."""
    lines = [list(head), *map(list, rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    for line in lines:
        first = line[0].ljust(widths[0])
        rest = [cell.rjust(width) for cell, width in zip(line[1:], widths[1:], strict=True)]
        yield "  ".join([first, *rest]).rstrip()


def _rings(estimate: Estimate) -> Iterator[str]:
    yield "RINGS, mm"
    rows = (
        (
            f"{ring.number} {estimate.band_of(ring).name}".strip(),
            str(ring.segments),
            f"{degrees(ring.miter):.2f}",
            f"{ring.outer_edge:.1f}",
            f"{ring.inner_edge:.1f}",
            f"{ring.strip_width:.1f}",
            f"{ring.height:.1f}",
            str(len(ring.layers)),
        )
        for ring in estimate.rings
    )
    head = ("ring", "segments", "saw to deg", "long edge", "short edge", "strip width", "height", "layers")
    yield from _table(head, rows)


def _wood(estimate: Estimate) -> Iterator[str]:
    yield "WOOD, cm3: turned + waste + kept = boards"
    rows = (
        (
            wood,
            str(account.segments),
            *(
                f"{volume / 1000:.1f}"
                for volume in (
                    account.turned,
                    account.turning_waste,
                    account.slicing_waste,
                    account.crosscut_waste,
                    account.rip_waste,
                    account.kept,
                    account.boards,
                )
            ),
            f"{account.board_feet:.2f}",
        )
        for wood, account in estimate.wood.items()
    )
    head = ("wood", "segments", "turned", "turning", "slicing", "crosscut", "rip", "kept", "boards", "bd ft")
    yield from _table(head, rows)


def _buying(estimate: Estimate) -> Iterator[str]:
    plan, currency = estimate.cutting, estimate.sheet.pricing.currency
    proof = "proven the least" if plan.proven else f"at least {plan.bound:.2f} {currency} whatever the plan"
    outlay = f"; {plan.outlay:.2f} {currency} to spend on boards" if plan.outlay else ""
    yield f"BOARDS, mm: {plan.cost:.2f} {currency} for the wood used, {proof}{outlay}"
    rows = (
        (
            board.wood,
            "to buy" if board.buy else "on the rack",
            f"{board.length:.0f} x {board.width:.0f} x {board.thickness:g}",
            f"{board.volume / BOARD_FOOT:.2f}",
            str(sum(strip.segments for strip in board.strips)),
            f"{100 * board.used:.0f} %",
            f"{100 * board.kept / board.volume:.0f} %",
        )
        for board in plan.boards
    )
    yield from _table(("board", "", "size", "bd ft", "segments", "in strips", "goes back"), rows)


def _glue(estimate: Estimate) -> Iterator[str]:
    adhesive, sheet = estimate.adhesive, estimate.sheet
    bought, times = adhesive.to_buy, times_at(sheet.shop, sheet.label)
    yield f"ADHESIVE: {adhesive.volume_ml:.0f} ml in {len(adhesive.mixes)} mixes"
    parts = f"{bought.part_a_ml:g} ml"
    if bought.part_b_ml:
        parts += f" of part A and {bought.part_b_ml:g} ml of part B"
    yield f"To buy, as measured: {parts}; {bought.mass_g:.0f} g. The label's own figures go before these."
    yield (
        f"At {sheet.shop.temperature_c:g} degrees C it works for {times.working:.0f} minutes; set {times.set:.0f}, "
        f"press {times.press:.0f}, cure {times.cure:.0f} minutes."
    )
    weighed = any(mix.part_a_g is not None for mix in adhesive.mixes)
    head = (
        "glue-up",
        "needed ml",
        "part A ml",
        "part B ml",
        *(("part A g", "part B g") if weighed else ()),
        "",
    )
    yield from _table(head, (_mix_row(estimate, mix, weighed) for mix in adhesive.mixes if mix.piece == 1))


def _mix_row(estimate: Estimate, mix: Mix, weighed: bool) -> tuple[str, ...]:
    glue_up = estimate.glue_ups[mix.glue_up - 1]
    numbers = glue_up.rings or glue_up.layers
    kind = "halves of ring" if glue_up.kind == "half_ring" else glue_up.kind.replace("_", " ")
    what = f"{kind} {numbers[0]}" + (f" to {numbers[-1]}" if len(numbers) > 1 else "")
    grams = (f"{mix.part_a_g:.1f}", f"{mix.part_b_g:.1f}") if weighed else ()
    hot = "heats itself" if mix.heats else ""
    ml = (f"{mix.needed_ml:.1f}", f"{mix.part_a_ml:g}", f"{mix.part_b_ml:g}")
    return (f"{mix.glue_up} {what}", *ml, *grams, hot)


def _hours(estimate: Estimate) -> Iterator[str]:
    yield f"HOURS: mean {estimate.labour.mean / 60:.1f}, which the cost is made of"
    rows = (
        (o.name, f"{o.quantity:.4g} {o.unit}", f"{o.median:.0f}", f"{o.low:.0f}", f"{o.high:.0f}")
        for o in estimate.labour.operations
    )
    yield from _table(("operation", "quantity", "median min", "low", "high"), rows)


def _money(estimate: Estimate) -> Iterator[str]:
    cost, price = estimate.cost, estimate.price
    yield f"MONEY, {estimate.sheet.pricing.currency}"
    lines = {
        "wood": cost.wood,
        "adhesive": cost.adhesive,
        "consumables": cost.consumables,
        "labour": cost.labour,
        "overhead": cost.overhead,
        "failures": cost.failures,
        "cost": cost.total,
        "net price": price.net,
        "gallery's share": price.gallery_share,
        "tax": price.tax,
        "retail": price.retail,
        "deposit": price.deposit,
        "left an hour": price.per_hour,
    }
    yield from _table(("", "amount"), ((name, str(amount)) for name, amount in lines.items()))


def _turning(estimate: Estimate) -> Iterator[str]:
    yield "AT THE LATHE"
    for number, step in enumerate(turning_steps(estimate.shapes), 1):
        yield f"{number}. {step.part + ': ' if step.part else ''}{step.words}"


def _cautions(estimate: Estimate) -> Iterator[str]:
    if estimate.cautions:
        yield "CAUTIONS"
    for caution in estimate.cautions:
        yield f"{caution.severity}, {caution.where}: {caution.message}"
