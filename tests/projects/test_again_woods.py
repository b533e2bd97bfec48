"""Woods swapped in a piece made again: each by itself wherever it stands; one that is gone or unknown is named."""

from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.again import Asked, Start, start_of_design, worked_out
from projects.models import Design, Studio, Wood
from projects.services.again import again_shown
from projects.services.designs import design_create
from tests.factories import WoodFactory

pytestmark = pytest.mark.django_db
KINDS = ("maple", "walnut", "ash", "cherry", "plum", "oak", "elm")


@pytest.fixture
def piece(studio: Studio) -> Design:
    """A foot disc, a veneer, a bored ring with its plug, staves, a chart, and a ring of laminates: a wood each."""
    for key in (*KINDS[2:], "beech"):
        WoodFactory(studio=studio, key=key)
    ring = {"segments": 12, "thickness": 10, "layers": 2}
    strips = [{"wood": wood, "width": 20} for wood in ("oak", "maple")]
    bands = [
        {"layers": 1, "thickness": 10, "made": "solid", "woods": ["walnut"]},
        {"layers": 1, "thickness": 1, "made": "veneer", "woods": ["ash"]},
        {**ring, "woods": ["maple"], "bored": "set", "bore": 20, "plug": "cherry"},
        {"layers": 1, "thickness": 40, "made": "staves", "segments": 16, "woods": ["plum"]},
        {**ring, "chart": {"legend": {"a": "elm", "b": "maple"}, "rows": ["ab", "ba"]}},
        {**ring, "layers": 1, "woods": ["stripe"]},
    ]
    form = {"outer": [[0, 60], [101, 60]], "curve": "straight", "inside": "wall", "wall": 9, "floor": 12}
    part = {"name": "body", "form": form, "bands": bands}
    part |= {f"allowance_{side}": 0 for side in ("outside", "inside", "top", "bottom")}
    laminates = {"stripe": {"kind": "stripes", "angle": 90, "strips": strips}}
    return design_create(studio=studio, title="All kinds", parts=[part], laminates=laminates)


def wrong(start: Start, **asked: Any) -> dict[str, list[str]]:
    with pytest.raises(ValidationError) as refusal:
        again_shown(start=start, asked=Asked(**asked))
    return refusal.value.message_dict


def test_every_wood_is_offered_once(piece: Design) -> None:
    assert sorted(start_of_design(piece).woods) == sorted(KINDS)


@pytest.mark.parametrize("key", KINDS)
def test_each_wood_is_swapped_by_itself_wherever_it_stands(piece: Design, key: str) -> None:
    """All its wood becomes the other's: the turned volume goes over as it is, and no other wood's changes."""
    found = worked_out(start_of_design(piece), Asked(woods={key: "beech"}))
    was, now = ({name: one.turned for name, one in each.wood.items()} for each in (found.before, found.after))
    assert was[key] > 0
    assert now.pop("beech") == pytest.approx(was.pop(key))
    assert now == pytest.approx(was)
    assert found.differs == (f"beech in the place of {dict(Wood.objects.values_list('key', 'name'))[key]}",)
    assert [one.words for one in found.apart] in (["woods"], [])


def test_a_wood_that_is_gone_is_named_at_its_field_and_stands_in_both(piece: Design, studio: Studio) -> None:
    Wood.objects.filter(studio=studio, key__in=("cherry", "oak")).delete()
    start = start_of_design(piece)
    said = wrong(start, woods={"cherry": "beech"})
    assert said == {"wood-oak": ["Oak is no longer on the shelf: choose another wood."]}
    shown = again_shown(start=start, asked=Asked(woods={"cherry": "beech", "oak": "beech"}))
    assert shown.gone == (("cherry", "beech"), ("oak", "beech"))
    assert shown.apart == ()


@pytest.mark.parametrize(
    ("woods", "said"),
    [
        ({"maple": "ebony"}, {"wood-maple": ["No wood on the shelf is called ebony."]}),
        ({"yew": "maple"}, {"wood-yew": ["The piece has no yew."]}),
        ({"maple": "stripe"}, {"wood-maple": ["No wood on the shelf is called stripe."]}),
    ],
)
def test_a_wood_that_is_unknown_is_named(piece: Design, woods: dict[str, str], said: dict[str, Any]) -> None:
    assert wrong(start_of_design(piece), woods=woods) == said


def test_another_studios_wood_is_none_of_the_shelf(piece: Design) -> None:
    WoodFactory(key="ebony")
    assert "wood-maple" in wrong(start_of_design(piece), woods={"maple": "ebony"})
