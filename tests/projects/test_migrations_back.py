"""Migrations can be taken back, and applied again leave the tables of the first time and the records of meanwhile."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from projects.models import Adhesive, Band, Board, Design, Quote, ShopSettings

pytestmark = pytest.mark.django_db(transaction=True)

FIRST_STUDIOS = "0008_names_and_promises"
"""What the earliest installations may have; nothing needs to go back further."""


def tables() -> dict[str, Any]:
    """Each table's columns and constraints."""
    asked = connection.introspection
    with connection.cursor() as cursor:
        return {
            name: (
                sorted(tuple(column) for column in asked.get_table_description(cursor, name)),
                asked.get_constraints(cursor, name),
            )
            for name in asked.table_names(cursor)
        }


def records(apps: Any) -> None:
    """A studio of then: its shop, a board on the rack, adhesives of three kinds and two designs."""
    model = lambda name: apps.get_model("projects", name).objects  # noqa: E731
    studio = model("Studio").create(name="Fern Gully")
    model("ShopSettings").create(studio=studio, lathe_max_mass_kg=63)
    model("PricingDefaults").create(studio=studio)
    for kind in ("epoxy", "pva", "hide"):
        model("Adhesive").create(studio=studio, name=kind, kind=kind, ratio_b=int(kind == "epoxy"))
    wood = model("Wood").create(studio=studio, key="maple", name="maple", density=700)
    size = {"length": Decimal("1200.5"), "width": Decimal(150), "thickness": Decimal(25)}
    model("Board").create(wood=wood, count=3, price=Decimal("38.5"), **size)
    for title in ("Bowl", "Jar"):
        design = model("Design").create(studio=studio, title=title)
        model("Form").create(design=design, outer=[[0, 40], [60, 70]], inside="wall", wall=6, floor=8)
        band = {"layers": 3, "thickness": 10, "woods": ["maple"], "position": 1}
        model("Band").create(design=design, segments=12, name="wall", **band)
    client = model("Client").create(studio=studio, name="Harbour Row")
    job = model("Commission").create(studio=studio, client=client, title="Bowl", design=design)
    model("Quote").create(studio=studio, commission=job)


def test_migrations_go_back_and_forth_and_leave_the_same_tables() -> None:
    before = tables()
    back = MigrationExecutor(connection)
    back.migrate([("projects", FIRST_STUDIOS)])
    assert "projects_part" in before
    assert "projects_part" not in tables()
    records(back.loader.project_state([("projects", FIRST_STUDIOS)]).apps)
    forth = MigrationExecutor(connection)
    forth.migrate(forth.loader.graph.leaf_nodes())
    assert tables() == before
    for model, count in ((Design, 2), (Band, 2), (Board, 1), (Adhesive, 3), (Quote, 1), (ShopSettings, 1)):
        assert model.objects.count() == count, model
