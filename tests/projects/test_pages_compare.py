"""Two designs side by side: the page works, says what it cannot, is closed to outsiders, and escapes."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import Design, Studio
from tests.factories import DesignFactory

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"
URL = "/designs/compare/"


@pytest.fixture
def pair(studio: Studio) -> tuple[Design, Design]:
    """A pot, and one of two pieces 25 mm taller by a taller band."""
    low, tall = (
        DesignFactory(studio=studio, title="Low pot"),
        DesignFactory(studio=studio, title="Tall pot", quantity=2),
    )
    part = tall.parts.get()
    part.form.outer = [[0, 60], [125, 60]]
    part.form.save()
    part.bands.update(thickness="12.43", segments=24)
    return low, tall


def test_two_designs_stand_beside_each_other(as_alice: Browser, pair: tuple[Design, Design]) -> None:
    assert reverse("design_compare") in as_alice.get("/designs/").content.decode()
    page = as_alice.get(URL, {"a": pair[0].pk, "b": pair[1].pk})
    text = page.content.decode()
    assert page.status_code == 200
    assert text.count("<svg") == 2
    assert "Height: 100 mm, now 125 mm" in text
    assert "Segments of band 1 (wall): 12, now 24" in text
    rows = {row.name: row for row in page.context["rows"]}
    assert (rows["height"].was, rows["height"].now, rows["height"].apart) == (
        "100 mm",
        "125 mm",
        "+25 mm, +25 %",
    )
    assert rows["segments of one piece"].apart == "+120, +100 %"
    assert rows["layers"].apart == ""
    assert rows["pieces"].apart == "+1, +100 %"
    assert {"price of one, today", "price of all, today", "hours, all pieces"} <= rows.keys()
    back = as_alice.get(URL, {"a": pair[1].pk, "b": pair[0].pk}).context["rows"]
    assert {row.name: row.apart for row in back}["height"] == "\u221225 mm, \u221220 %"


def test_one_or_the_same_or_none_asks_for_another(as_alice: Browser, pair: tuple[Design, Design]) -> None:
    low = pair[0]
    for asked in ({}, {"a": low.pk}, {"a": low.pk, "b": ""}, {"a": low.pk, "b": low.pk}):
        page = as_alice.get(URL, asked)
        assert page.status_code == 200
        assert "compared" not in page.context
    assert "one and the same design" in page.content.decode()
    assert f'<option value="{low.pk}" selected>' in page.content.decode()


def test_one_that_cannot_be_worked_out_is_named(as_alice: Browser, pair: tuple[Design, Design]) -> None:
    pair[1].parts.get().bands.update(thickness=1)
    page = as_alice.get(URL, {"a": pair[0].pk, "b": pair[1].pk})
    assert page.status_code == 200
    assert "Tall pot cannot be worked out as it is saved" in page.content.decode()
    assert "Layer thickness of band 1 (wall): 9.93 mm, now 1 mm" in page.content.decode()
    assert "rows" not in page.context


@pytest.mark.parametrize("wrong", ["0", "x", "-1", "9" * 30, "1.5", "٣"])
def test_what_is_no_design_of_the_studio_is_not_found(
    as_alice: Browser, as_charlie: Browser, pair: tuple[Design, Design], wrong: str
) -> None:
    assert as_alice.get(URL, {"a": pair[0].pk, "b": wrong}).status_code == 404
    assert as_charlie.get(URL, {"a": pair[0].pk, "b": pair[1].pk}).status_code == 404
    stranger = DesignFactory()
    assert as_alice.get(URL, {"a": pair[0].pk, "b": stranger.pk}).status_code == 404
    assert stranger.title not in as_alice.get(URL).content.decode()


def test_markup_is_escaped(as_alice: Browser, pair: tuple[Design, Design]) -> None:
    Design.objects.filter(pk=pair[0].pk).update(title=EVIL)
    assert EVIL not in as_alice.get(URL, {"a": pair[0].pk, "b": pair[1].pk}).content.decode()
