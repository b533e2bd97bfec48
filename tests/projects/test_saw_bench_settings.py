"""Planing, resawing and matched segments: kept as they were typed, and heard by the estimate."""

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser

from projects.estimates import SHOP_KEYS, estimate_design, sheet_data, workshop_of
from projects.models import Board, Design, Form, Studio, Wood
from projects.pages.draft import saved
from projects.services.designs import design_copy
from projects.services.studios import studio_create
from tests.factories import BoardFactory, DesignFactory, UserFactory
from tests.projects.boards import HTMX, fields

pytestmark = pytest.mark.django_db
SETTINGS = "/shop/settings/"
IDLE = "Nothing is resawn until the bandsaw height is known"


def _changed(studio: Studio, **values: Any) -> Studio:
    for name, value in values.items():
        setattr(studio.shop, name, value)
    studio.shop.full_clean()
    studio.shop.save()
    return Studio.objects.get(pk=studio.pk)


def _sent(browser: Browser) -> dict[str, Any]:
    form = browser.get(SETTINGS).context["form"]
    return {field.name: field.value() for field in form if field.value() not in (None, False)}


@pytest.mark.parametrize("key", SHOP_KEYS)
def test_each_setting_of_the_shop_reaches_the_sheet_and_the_workshop(studio: Studio, key: str) -> None:
    other = (getattr(studio.shop, key) + Decimal("0.5")) if key != "working_share" else Decimal("0.5")
    fresh = _changed(studio, **{key: 1 if key == "spare_segments" else other})
    told = float(getattr(fresh.shop, key))
    assert sheet_data(DesignFactory(studio=fresh))["shop"][key] == told
    assert getattr(workshop_of(fresh).settings, key) == told


@pytest.mark.parametrize("resaw", [False, True])
def test_whether_the_shop_resaws_reaches_the_sheet_and_the_workshop(studio: Studio, resaw: bool) -> None:
    fresh = _changed(studio, resaw=resaw)
    assert sheet_data(DesignFactory(studio=fresh))["shop"]["resaw"] is resaw
    assert workshop_of(fresh).settings.resaw is resaw


def test_planing_and_resawing_are_set_on_the_page(as_alice: Browser, studio: Studio) -> None:
    sent = _sent(as_alice) | {"plane_face": "1/8 in", "resaw": "on", "resaw_kerf": "1.8", "resaw_clean": "0"}
    assert as_alice.post(SETTINGS, sent).status_code == 302
    shop = Studio.objects.get(pk=studio.pk).shop
    assert (float(shop.plane_face), shop.resaw) == (3.175, True)
    assert (float(shop.resaw_kerf), float(shop.resaw_clean)) == (1.8, 0)
    assert (
        as_alice.post(SETTINGS, {key: text for key, text in sent.items() if key != "resaw"}).status_code
        == 302
    )
    assert Studio.objects.get(pk=studio.pk).shop.resaw is False


@pytest.mark.parametrize("field", ["plane_face", "resaw_kerf", "resaw_clean"])
@pytest.mark.parametrize(
    ("typed", "words"), [("51", "Must be at most 50 mm"), ("-1", "negative"), ("thick", "is not a length")]
)
def test_a_wrong_figure_is_refused_at_its_field_and_stays_as_typed(
    as_alice: Browser, studio: Studio, field: str, typed: str, words: str
) -> None:
    answer = as_alice.post(SETTINGS, _sent(as_alice) | {field: typed, "resaw": "on", "rip_kerf": "2.5"})
    assert answer.status_code == 400
    assert words in " ".join(answer.context["form"].errors[field])
    assert answer.context["form"][field].value() == typed
    shop = Studio.objects.get(pk=studio.pk).shop
    assert (shop.resaw, float(shop.rip_kerf)) == (False, 3)


@pytest.mark.parametrize(
    ("resaw", "height", "said"), [(True, 0, True), (True, 300, False), (False, 0, False), (False, 300, False)]
)
def test_resawing_without_a_bandsaw_height_says_that_nothing_is_resawn(
    as_alice: Browser, studio: Studio, resaw: bool, height: int, said: bool
) -> None:
    _changed(studio, resaw=resaw, bandsaw_height=height)
    assert (IDLE in as_alice.get(SETTINGS).content.decode()) is said


def test_a_studio_in_inches_begins_with_round_fractions() -> None:
    studio = studio_create(name="Elm", owner=UserFactory(), length_unit="in")
    shop = studio.shop
    shop.full_clean()
    figures = shop.plane_face, shop.resaw_clean
    assert [round(float(figure) / 25.4 * 64, 2) for figure in figures] == [3, 2]  # 64ths of an inch
    assert float(shop.resaw_kerf) == 1.4  # no 64th of an inch is near enough
    assert shop.resaw is False


def _thin_rings(studio: Studio) -> Design:
    """Ten rings of 8 mm, and boards an inch thick with rather more wood than they need."""
    design = DesignFactory(studio=studio)
    Form.objects.filter(part__design=design).update(outer=[[0, 60], [80, 60]])
    design.parts.get().bands.update(thickness=Decimal("8"), woods=["maple"])
    maple = Wood.objects.for_studio(studio).get(key="maple")
    Board.objects.for_studio(studio).delete()
    BoardFactory(
        wood=maple,
        length=1200,
        width=150,
        thickness=Decimal("25.4"),
        count=8,
        price=Decimal(30),
    )
    return design


def _boards_sawn(studio: Studio, design: Design) -> tuple[int, int]:
    """How many boards are sawn, and into how many plates the most resawn one is."""
    _, estimate = estimate_design(Design.objects.get(pk=design.pk))
    boards = estimate.cutting.boards
    return len(boards), max(board.plates for board in boards)


def test_resawing_halves_the_boards_for_thin_rings_and_waits_for_the_height(studio: Studio) -> None:
    """(25.4 - 1.4 - 2 x 0.8) / 2 = 11.2 mm a plate, which 8 mm rings with 0.5 mm off each face come out of."""
    design = _thin_rings(studio)
    _changed(studio, resaw=False, bandsaw_height=300, strip_lies="flat", spare_segments=0)
    whole, plates = _boards_sawn(studio, design)
    assert plates == 1
    _changed(studio, resaw=True)
    resawn, plates = _boards_sawn(studio, design)
    assert plates == 2
    assert resawn == (whole + 1) // 2
    _changed(studio, bandsaw_height=149)  # lower than the boards are wide
    assert _boards_sawn(studio, design) == (whole, 1)
    _changed(studio, bandsaw_height=0)
    assert _boards_sawn(studio, design) == (whole, 1)


def _boards_of_rings(design: Design) -> dict[int, set[int]]:
    """The boards that each ring is sawn from, by the ring's number."""
    _, estimate = estimate_design(Design.objects.get(pk=design.pk))
    found: dict[int, set[int]] = {}
    for number, board in enumerate(estimate.cutting.boards):
        for ring in (ring for strip in board.strips for ring in strip.rings):
            found.setdefault(ring, set()).add(number)
    return found


@pytest.mark.parametrize(
    ("change", "kept"),
    [
        ({"match": "book"}, ("cut", "book")),
        ({"made": "sliced", "ring_height": "40", "match": "board"}, ("sliced", "board")),
        ({"made": "staves", "layers": "1", "match": "board"}, ("staves", "")),
        ({"made": "solid", "wood-1": "", "match": "book"}, ("solid", "")),
    ],
)
def test_matching_is_chosen_for_segments_and_kept_by_a_copy(
    as_alice: Browser, alice: User, studio: Studio, change: dict[str, str], kept: tuple[str, str]
) -> None:
    design = DesignFactory(studio=studio)
    sent = fields(saved(design, studio=studio))
    sent |= {f"parts-0-bands-0-{key}": text for key, text in change.items()}
    as_alice.post(f"/designs/{design.pk}/", {**sent, "do": "save"}, **HTMX)
    fresh = Design.objects.get(pk=design.pk)
    for one in (fresh, design_copy(design=fresh, title="Again")):
        band = one.parts.get().bands.get()
        assert (band.made, band.match) == kept
        assert sheet_data(one)["bands"][0].get("match", "") == kept[1]


@pytest.mark.parametrize("match", ["board", "book"])
def test_a_matched_ring_comes_from_one_board(studio: Studio, match: str) -> None:
    """Boards so short that unmatched rings share them; every ring of a matched band stays within one."""
    design = _thin_rings(studio)
    Board.objects.for_studio(studio).update(length=560, width=90, count=20)
    loose = _boards_of_rings(design)
    assert max(map(len, loose.values())) > 1
    design.parts.get().bands.update(match=match)
    matched = _boards_of_rings(design)
    assert matched.keys() == loose.keys()
    assert {len(boards) for boards in matched.values()} == {1}
