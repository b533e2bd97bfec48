"""Designs of before there were parts keep everything when they get one, and give it back where they can."""

from decimal import Decimal
from typing import Any

import pytest

from tests.conftest import Migrate

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE, AFTER = "0008_names_and_promises", "0009_parts"


def _old_design(apps: Any, title: str = "Bowl") -> Any:
    studio, _ = apps.get_model("projects", "Studio").objects.get_or_create(name="Fern Gully")
    design = apps.get_model("projects", "Design").objects.create(
        studio=studio, title=title, allowance_top=Decimal("1.25"), allowance_bottom=Decimal(4)
    )
    apps.get_model("projects", "Form").objects.create(
        design=design, outer=[[0, 40], [60, 70]], curve="smooth", inside="wall", wall=6, floor=8
    )
    for position, made, height in ((1, "cut", None), (2, "sliced", 40)):
        apps.get_model("projects", "Band").objects.create(
            design=design,
            position=position,
            name=f"b{position}",
            layers=3,
            thickness=10,
            segments=12,
            woods=["maple"],
            made=made,
            ring_height=height,
        )
    return design


def test_a_design_gets_one_part_with_its_form_bands_and_allowances(migrate: Migrate) -> None:
    old = migrate(BEFORE)
    pks = [_old_design(old).pk, _old_design(old, "Jar").pk]
    shop = old.get_model("projects", "ShopSettings").objects.create(
        studio_id=old.get_model("projects", "Studio").objects.get().pk, lathe_max_mass_kg=63
    )
    new = migrate(AFTER)
    for pk in pks:
        part = new.get_model("projects", "Part").objects.get(design_id=pk)
        assert (part.position, part.name, part.held, part.close_at, part.sits) == (1, "body", "", [], "")
        assert (part.allowance_top, part.allowance_bottom) == (Decimal("1.25"), 4)
        assert (part.form.outer, part.form.curve, part.form.wall) == ([[0, 40], [60, 70]], "smooth", 6)
        bands = list(part.bands.order_by("position"))
        assert [(band.name, band.made, band.ring_height) for band in bands] == [
            ("b1", "cut", None),
            ("b2", "sliced", 40),
        ]
        assert {(band.bored, band.plug, band.chart) for band in bands} == {("", "", None)}
    assert new.get_model("projects", "ShopSettings").objects.get(pk=shop.pk).lathe_load_kg == 63


def test_a_design_of_one_part_goes_back_to_what_it_was(migrate: Migrate) -> None:
    pk = _old_design(migrate(BEFORE)).pk
    migrate(AFTER)
    back = migrate(BEFORE)
    design = back.get_model("projects", "Design").objects.get(pk=pk)
    assert (design.allowance_top, design.allowance_bottom) == (Decimal("1.25"), 4)
    assert design.form.outer == [[0, 40], [60, 70]]
    assert [band.name for band in design.bands.order_by("position")] == ["b1", "b2"]


def _second_part(new: Any, design: int) -> None:
    new.get_model("projects", "Part").objects.create(design_id=design, position=2, name="lid")


def _solid(new: Any, design: int) -> None:
    bands = new.get_model("projects", "Band").objects.filter(part__design_id=design, position=1)
    bands.update(made="solid", segments=None)


def _held(new: Any, design: int) -> None:
    new.get_model("projects", "Part").objects.update(held="recess", held_depth=4)


def _corner(new: Any, design: int) -> None:
    new.get_model("projects", "Form").objects.update(outer=[[0, 40, "corner"], [60, 70]])


def _laminated(new: Any, design: int) -> None:
    strips = [{"wood": "maple", "width": 6}]
    laminates = {"zig": {"kind": "zigzag", "angle": 45, "strips": strips}}
    new.get_model("projects", "Design").objects.update(laminates=laminates)


@pytest.mark.parametrize("change", [_second_part, _solid, _held, _corner, _laminated])
def test_going_back_is_refused_where_it_would_lose_something(migrate: Migrate, change: Any) -> None:
    pk = _old_design(migrate(BEFORE)).pk
    new = migrate(AFTER)
    change(new, pk)
    with pytest.raises(ValueError, match=r"^Bowl "):
        migrate(BEFORE)
    assert new.get_model("projects", "Part").objects.filter(design_id=pk, position=1).exists()
    assert new.get_model("projects", "Form").objects.filter(part__design_id=pk).exists()
    new.get_model("projects", "Design").objects.all().delete()
