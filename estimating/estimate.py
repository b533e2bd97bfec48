"""The whole pipeline on one screen: a piece sheet and a workshop in, an estimate out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.calendar.jobs import Calendar
from estimating.cautions import Caution, find_cautions
from estimating.errors import InvalidInput, InvalidSheet
from estimating.glue.assembly import GlueUp, plan_assembly
from estimating.glue.card import Card
from estimating.glue.cards import Bench, glue_cards
from estimating.glue.joints import joint_areas
from estimating.glue.mixing import Adhesive, mix_for
from estimating.piece import Band, Sheet
from estimating.price.carriage import Carriage, carry, is_worked_out, pack, with_carriage
from estimating.price.costs import Cost, add_costs, exact, finish_ml
from estimating.price.failures import Losses, are_staged, layers_at_stake, losses, spent_by_stage
from estimating.price.pricing import Price, make_price
from estimating.shape.build import Shape, build_shapes
from estimating.shape.rings import Ring
from estimating.wood.account import WoodAccount, account_for
from estimating.wood.mass import mass_as_drawn
from estimating.wood.needs import Needs, needs_of
from estimating.wood.strips import CuttingPlan, StripNeed
from estimating.wood.veneer import plan_all
from estimating.wood.weather import Movement, movement_of
from estimating.work.labour import Labour, add_up, time_operation
from estimating.work.operations import Job, count_operations
from estimating.work.wright import repeated
from estimating.workshop import Workshop, standing_workshop

_MM3_IN_M3 = Decimal(10) ** 9
_G_IN_KG = 1000.0


@dataclass(frozen=True)
class Estimate:
    """All that is known of a piece before it is made. mm, mm2, mm3, ml, minutes, money.

    `movement` is there where the sheet says in what air the piece is made and will live, `schedule` where it has a
    bench. `carriage` is there where freight or crate is worked out, and the sheet's pricing has what it came to.
    """

    sheet: Sheet
    workshop: Workshop
    shapes: tuple[Shape, ...]
    needs: Needs
    cutting: CuttingPlan
    wood: Mapping[str, WoodAccount]
    glue_ups: tuple[GlueUp, ...]
    adhesive: Adhesive
    cards: tuple[Card, ...]
    finish_ml: float
    labour: Labour
    cost: Cost
    price: Price
    cautions: tuple[Caution, ...]
    movement: Movement | None = None
    schedule: Calendar | None = None
    carriage: Carriage | None = None

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The rings of all parts, by number."""
        return tuple(ring for shape in self.shapes for ring in shape.rings)

    @property
    def job(self) -> Job:
        """What its work is counted from."""
        return Job(self.sheet, self.shapes, self.needs, self.cutting, self.glue_ups, self.adhesive)

    @property
    def layers(self) -> int:
        """Layers of one piece."""
        return sum(len(shape.stack) for shape in self.shapes)

    @property
    def segments(self) -> int:
        """Segments, discs and staves of one piece, layer by layer."""
        return sum(band.layers * band.segments for shape in self.shapes for band in shape.bands)

    @property
    def height(self) -> float:
        """Height of the piece with its parts on one another, mm."""
        return _height(self.shapes)

    @property
    def largest_diameter(self) -> float:
        """Of the widest part, mm."""
        return _largest_diameter(self.shapes)

    def shape_of(self, ring: Ring) -> Shape:
        """The part a ring belongs to."""
        return next(shape for shape in self.shapes if ring.number <= shape.rings[-1].number)

    def band_of(self, ring: Ring) -> Band:
        """The band a ring belongs to."""
        return self.shape_of(ring).bands[ring.band]


def estimate(sheet: Sheet, workshop: Workshop | None = None) -> Estimate:
    """Estimate the pieces a sheet asks for.

    Errors: InvalidSheet naming every place where the shape, the boards or the mixes do not work out.
    """
    workshop = workshop or standing_workshop()
    shapes = build_shapes(sheet.parts, shop=sheet.shop, laminates=sheet.laminates)
    try:
        carriage = _carriage(sheet, workshop, shapes)
        needs = needs_of(
            shapes,
            laminates=sheet.laminates,
            shop=sheet.shop,
            usual=sheet.usual_board,
            quantity=sheet.quantity,
        )
        cutting = plan_boards(sheet, workshop, needs.strips)
        glue_ups = plan_assembly(shapes, shop=sheet.shop, label=sheet.label)
        areas = joint_areas(shapes, margin=sheet.shop.coat_margin)
        adhesive = mix_for(glue_ups, areas, quantity=sheet.quantity, shop=sheet.shop, label=sheet.label)
    except InvalidInput as refusal:
        raise InvalidSheet([refusal]) from refusal
    if carriage is not None:
        sheet = replace(sheet, pricing=with_carriage(sheet.pricing, carriage))
    job = Job(sheet, shapes, needs, cutting, glue_ups, adhesive)
    labour = _labour(job, workshop)
    surface = sum(shape.form.outer_surface + shape.form.inner_surface for shape in shapes) * sheet.quantity
    finish = finish_ml(sheet.finish, surface=surface)
    cost = add_costs(
        wood=cutting.cost,
        adhesive_ml=adhesive.volume_ml,
        finish=exact(finish) * sheet.finish.per_ml,
        mean_hours=labour.mean_hours,
        pricing=sheet.pricing,
        staged=_staged(job, labour),
    )
    movement = _movement(sheet, workshop, shapes)
    oily = {key for key, wood in workshop.woods.items() if wood.oily}
    cards = glue_cards(Bench(shapes, glue_ups, areas, adhesive, sheet.shop, sheet.label, oily))
    return Estimate(
        sheet=sheet,
        workshop=workshop,
        shapes=shapes,
        needs=needs,
        cutting=cutting,
        wood=account_for(shapes, needs=needs.strips, plan=cutting, quantity=sheet.quantity, shop=sheet.shop),
        glue_ups=glue_ups,
        adhesive=adhesive,
        cards=cards,
        finish_ml=finish,
        labour=labour,
        cost=cost,
        price=make_price(cost, mean_hours=labour.mean_hours, pricing=sheet.pricing, quantity=sheet.quantity),
        cautions=find_cautions(
            sheet=sheet, shapes=shapes, plan=cutting, woods=workshop.woods, movement=movement, cards=cards
        ),
        movement=movement,
        schedule=_schedule(job, labour),
        carriage=carriage,
    )


def _height(shapes: tuple[Shape, ...]) -> float:
    lowest = min(shape.base + shape.form.bottom for shape in shapes)
    return max(shape.base + shape.form.top for shape in shapes) - lowest


def _largest_diameter(shapes: tuple[Shape, ...]) -> float:
    return max(shape.form.largest_diameter for shape in shapes)


def _carriage(sheet: Sheet, workshop: Workshop, shapes: tuple[Shape, ...]) -> Carriage | None:
    """The box and what it costs to send, where the terms have it worked out: the piece whole, its parts together."""
    if not is_worked_out(sheet.pricing):
        return None
    grams = sum(mass_as_drawn(shapes, woods=workshop.woods, bond_line=sheet.shop.bond_line))
    box = pack(
        height=_height(shapes),
        diameter=_largest_diameter(shapes),
        piece_kg=grams / _G_IN_KG,
        pricing=sheet.pricing,
    )
    return carry(box, boxes=sheet.quantity, pricing=sheet.pricing)


def _staged(job: Job, labour: Labour) -> Callable[[Decimal, Decimal], Losses] | None:
    """What failures cost where the sheet sets them by stage; None where it has one share for all."""
    pricing = job.sheet.pricing
    if not are_staged(pricing):
        return None
    glued = job.adhesive.end_area * job.sheet.shop.end_grain_factor
    ends = glued / (glued + job.adhesive.coated_area) if glued else 0.0
    an_hour = pricing.labour_rate + pricing.overhead_rate + pricing.consumables_rate

    def staged(wood: Decimal, adhesive: Decimal) -> Losses:
        spent = spent_by_stage(labour, wood=wood, adhesive=adhesive, ends=exact(ends), an_hour=an_hour)
        return losses(spent, at_stake=layers_at_stake(job.glue_ups, layers=job.layers), pricing=pricing)

    return staged


def _schedule(job: Job, labour: Labour) -> Calendar | None:
    if job.sheet.bench is None:
        return None
    # Imported here since most sheets have no bench, and need no scheduler.
    from estimating.calendar.plan import schedule_job

    try:
        return schedule_job(job, labour)
    except InvalidInput as refusal:
        raise InvalidSheet([refusal]) from refusal


def _movement(sheet: Sheet, workshop: Workshop, shapes: tuple[Shape, ...]) -> Movement | None:
    if sheet.climate is None:
        return None
    return movement_of(shapes, climate=sheet.climate, woods=workshop.woods, laminates=sheet.laminates)


def plan_boards(sheet: Sheet, workshop: Workshop, needs: tuple[StripNeed, ...]) -> CuttingPlan:
    """The strips on the sheet's boards, and on what is to be bought. Errors: InvalidInput where one fits on none."""
    usual = sheet.usual_board
    prices = {
        need.wood: usual.price_of(workshop.woods[need.wood].price_per_m3) / _MM3_IN_M3 for need in needs
    }
    return plan_all(
        needs=needs,
        boards=sheet.boards,
        usual=sheet.usual_board,
        price_per_mm3=prices,
        shop=sheet.shop,
        whole_boards=sheet.pricing.whole_boards,
    )


def _labour(job: Job, workshop: Workshop) -> Labour:
    """Operations the workshop has no rate for are not part of its work."""
    rates = {
        name: repeated(rate, pieces=job.pieces, repeat_rate=workshop.repeat_rate)
        for name, rate in workshop.rates.items()
    }
    return add_up(
        time_operation(rates[name], setups=count.setups, quantity=count.quantity)
        for name, count in count_operations(job).items()
        if name in rates
    )
