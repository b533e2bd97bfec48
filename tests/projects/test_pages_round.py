"""What a drawing board asks for beside its answer: the drawing alone, the draft in the round, swatches."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from projects.models import Design, Studio
from projects.pages.starting import Size, start_design
from projects.services.studios import studio_create
from tests.bench.bench_board import board_fields


@pytest.fixture
def studio(db: None) -> Studio:
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def design(studio: Studio) -> Design:
    return start_design(
        studio=studio, title="<b>Bowl</b>", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )


@pytest.fixture
def lena(client: Client, studio: Studio) -> Client:
    client.force_login(User.objects.get(username="lena"))
    return client


def fields(client: Client, design: Design, **changed: str) -> dict[str, Any]:
    return {**board_fields(client, f"/designs/{design.pk}/"), **changed}


def test_the_drawing_is_of_what_is_typed_and_escaped(lena: Client, design: Design) -> None:
    answer = lena.post(
        f"/designs/{design.pk}/redraw/", fields(lena, design, **{"parts-0-outer-2-diameter": "170"})
    )
    drawn = answer.content.decode()
    assert answer.status_code == 200
    assert "Ø 170" in drawn
    assert "<b>" not in drawn
    assert "&lt;b&gt;Bowl" in drawn


def test_a_draft_that_does_not_work_out_has_no_drawing_and_says_so_in_the_round(
    lena: Client, design: Design
) -> None:
    wrong = fields(lena, design, **{"parts-0-bands-1-thickness": "a thumb"})
    assert lena.post(f"/designs/{design.pk}/redraw/", wrong).status_code == 204
    assert b"as it stands" in lena.post(f"/designs/{design.pk}/round/", wrong).content
    assert lena.post(f"/designs/{design.pk}/round.glb", wrong).status_code == 422


def test_the_draft_comes_in_the_round_unsaved(lena: Client, design: Design) -> None:
    typed = fields(lena, design)
    assert b"data-solid" in lena.post(f"/designs/{design.pk}/round/", typed).content
    one = lena.post(f"/designs/{design.pk}/round.glb", typed).content
    other = lena.post(f"/designs/{design.pk}/round.glb", typed | {"parts-0-bands-1-segments": "12"}).content
    assert one[:4] == other[:4] == b"glTF"
    assert one != other


def test_an_outsider_finds_nothing(client: Client, lena: Client, design: Design) -> None:
    typed = fields(lena, design)
    stranger = User.objects.create_user("sam")
    studio_create(name="Elsewhere", owner=stranger)
    client.force_login(stranger)
    for name in ("redraw/", "round/", "round.glb"):
        assert client.post(f"/designs/{design.pk}/{name}", typed).status_code == 404


def test_a_swatch_is_drawn_or_says_what_it_wants(lena: Client) -> None:
    strips = {
        "laminates-0-strips": "1",
        "laminates-0-strip-0-wood": "maple",
        "laminates-0-strip-0-width": "50",
    }
    typed = {"laminates": "1", "laminates-0-kind": "zigzag", "laminates-0-angle": "45", **strips}
    (drawn,) = lena.post("/designs/laminate-swatches/", typed).json()["swatches"]
    assert drawn.startswith("<svg")
    (words,) = lena.post("/designs/laminate-swatches/", typed | {"laminates-0-angle": "<i>"}).json()[
        "swatches"
    ]
    assert "Write the angle" in words
