"""Making and changing studios, their members, clients and settings."""

from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction

from estimating.wood.species import Species, published_species
from estimating.work.labour import standing_rates
from projects.models import (
    Adhesive,
    Client,
    Finish,
    Member,
    PaperDefaults,
    PricingDefaults,
    ShopSettings,
    StandingRate,
    Studio,
    Wood,
)
from projects.models.studio import MemberRole
from projects.papers.terms import STANDARD_CARE, STANDARD_TERMS
from projects.services.bench_hours import bench_open
from projects.services.saving import changed, checked
from projects.services.starting import starting_adhesives, starting_finishes
from projects.services.terms import check_terms

# Dear, rare and protected woods are in the table too; a new studio is offered these and switches on others.
OFFERED_AT_FIRST = frozenset(
    {"ash", "beech", "cherry", "holly", "maple", "oak", "padauk", "purpleheart", "sapele", "walnut"}
)

# The usual figures of a shop that measures in inches, mm: those of the table, each at the nearest round fraction
# (a safe length never below the table's), and an eight-foot board six inches wide. Common practice, no source.
INCH_SETTINGS = {
    "rip_kerf": Decimal("3.175"),
    "crosscut_kerf": Decimal("2.778"),
    "slice_kerf": Decimal("1.191"),
    "slice_hold": Decimal("7.938"),
    "board_end_trim": Decimal("25.4"),
    "board_edge_trim": Decimal("3.969"),
    "strip_hold": Decimal("76.2"),
    "keep_length": Decimal("304.8"),
    "keep_width": Decimal("38.1"),
    "allowance_outside": Decimal("3.175"),
    "allowance_inside": Decimal("3.175"),
    "allowance_top": Decimal("1.587"),
    "allowance_bottom": Decimal("1.984"),
    "safe_segment_length": Decimal("22.225"),
    "min_tip_edge": Decimal("3.175"),
    "min_rip_length": Decimal("304.8"),
    "min_rip_width": Decimal("12.7"),
    "min_planer_length": Decimal("355.6"),
    "plane_face": Decimal("1.191"),
    "resaw_clean": Decimal("0.794"),
    "usual_board_length": Decimal("2438.4"),
    "usual_board_width": Decimal("152.4"),
    "veneer_length": Decimal("2438.4"),
    "veneer_width": Decimal("203.2"),
    "min_wall": Decimal("3.175"),
    "open_contact": Decimal("5.159"),
    "lathe_swing": Decimal("406.4"),
    "lathe_length": Decimal("914.4"),
    "bandsaw_height": Decimal("304.8"),
}

INCH_BOX = {"box_padding": Decimal("50.8")}


def studio_create(*, name: str, owner: User, **values: Any) -> Studio:
    """Make a studio, its owner, its bench and all a first estimate needs: settings, woods, rates, glue, finish."""
    with transaction.atomic():
        usual = {"terms": STANDARD_TERMS, "care": STANDARD_CARE}
        studio = checked(changed(Studio(), {"name": name, **usual, **values}))
        member_add(studio=studio, user=owner, role=MemberRole.OWNER)
        in_inches = INCH_SETTINGS if studio.length_unit == "in" else {}
        checked(ShopSettings(studio=studio, **in_inches))
        checked(PricingDefaults(studio=studio, **(INCH_BOX if in_inches else {})))
        checked(PaperDefaults(studio=studio))
        bench_open(studio=studio)
        _stock_tables(studio)
    return studio


def _stock_tables(studio: Studio) -> None:
    woods = [_published_wood(studio, species) for species in published_species().values()]
    rates = [
        StandingRate(
            studio=studio,
            position=position,
            operation=rate.operation,
            stage=rate.stage,
            setup_minutes=rate.setup_minutes,
            setup_per=rate.setup_per,
            minutes_per_unit=rate.minutes_per_unit,
            unit=rate.unit,
            spread=rate.spread,
            note=rate.note,
        )
        for position, rate in enumerate(standing_rates().values(), start=1)
    ]
    for row in (*woods, *rates):
        # Keys are unique within a published table, so the one query a row that would ask again is saved.
        row.full_clean(validate_unique=False, validate_constraints=False)
    Wood.objects.bulk_create(woods)
    StandingRate.objects.bulk_create(rates)
    for adhesive in starting_adhesives():
        checked(Adhesive(studio=studio, **adhesive))
    for finish in starting_finishes():
        checked(Finish(studio=studio, **finish))


def _published_wood(studio: Studio, species: Species) -> Wood:
    return Wood(
        studio=studio,
        key=species.key,
        name=species.name,
        botanical=species.botanical,
        density=round(species.density, 1),
        colour=species.colour,
        price_per_m3=species.price_per_m3,
        shrink_radial_pct=species.shrink_radial_pct,
        shrink_tangential_pct=species.shrink_tangential_pct,
        health_note=species.health_note,
        source=species.source,
        from_memory=species.from_memory,
        health_detail=species.health_detail,
        oily=species.oily,
        dust_stains=species.dust_stains,
        fades=species.fades,
        protected_note=species.protected_note,
        traits_source=species.traits_source,
        active=species.key in OFFERED_AT_FIRST,
    )


def studio_update(*, studio: Studio, **values: Any) -> Studio:
    """Change the letterhead, terms and units."""
    return checked(changed(studio, values))


def shop_update(*, studio: Studio, **values: Any) -> ShopSettings:
    """Change how the shop cuts and glues, and its machines' limits."""
    return checked(changed(studio.shop, values))


def pricing_update(*, studio: Studio, **values: Any) -> PricingDefaults:
    """Change what an hour costs and how a price is made. Terms that leave no price are refused."""
    with transaction.atomic():
        saved = checked(changed(studio.pricing, values))
        check_terms(studio=studio)
        return saved


def member_add(*, studio: Studio, user: User, role: str = MemberRole.MEMBER) -> Member:
    """Let a log-in work in a studio; one log-in works in one studio."""
    return checked(Member(studio=studio, user=user, role=role))


def client_create(*, studio: Studio, **values: Any) -> Client:
    """Add a client."""
    return checked(changed(Client(studio=studio), values))


def client_update(*, client: Client, **values: Any) -> Client:
    """Change a client; quotes already issued keep the old address."""
    return checked(changed(client, values))


def client_delete(*, client: Client) -> None:
    """Take a client off the list; refused while commissions are theirs."""
    if client.commissions.exists():
        raise ValidationError("This client has commissions and stays on the list.")
    client.delete()
