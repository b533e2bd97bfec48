"""The page at the saw: its answer, its boxes, recording a setting, refusals, and who may see it."""

import re
from decimal import Decimal
from math import radians
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from estimating.wood.saw_proof import last_joint, square_enough
from projects.estimates import estimate_design
from projects.models import Commission, Design, SawSetting, Studio
from projects.pages.starting import Size, start_design
from projects.papers.bench_sheets import SEEN_GAP, bench_sheets, written_apart
from projects.services.commissions import commission_create
from projects.services.studios import client_create, studio_create
from tests.factories import BandFactory, SawSettingFactory


@pytest.fixture
def studio(db: None) -> Studio:
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def design(studio: Studio) -> Design:
    return start_design(
        studio=studio, title="<b>Bowl</b>", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )


@pytest.fixture
def job(studio: Studio, design: Design) -> Commission:
    gallery = client_create(studio=studio, kind="gallery", name="Harbour Row")
    return commission_create(studio=studio, client=gallery, title="<i>Harbour</i> bowl", design=design)


@pytest.fixture
def lena(client: Client, studio: Studio) -> Client:
    client.force_login(User.objects.get(username="lena"))
    return client


@pytest.fixture
def stranger(studio: Studio) -> Client:
    studio_create(name="Elsewhere", owner=User.objects.create_user("otto"))
    client = Client()
    client.force_login(User.objects.get(username="otto"))
    return client


def text_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def setting(**changes: Any) -> dict[str, Any]:
    return {
        "saw": "table saw, long sled", "miter_deg": "15", "tilt_deg": "0", "shown_deg": "15.04", "segments": "12",
        "closed": "tight", "gap": "0", "proven_on": "2027-03-01", "note": "", **changes,
    }  # fmt: skip


def test_the_answer_counts_what_the_saw_list_has(lena: Client, job: Commission) -> None:
    design = job.design
    assert design is not None
    _, estimate = estimate_design(design, commission=job)
    work = bench_sheets(estimate, studio=job.studio, fold=480, text=18).work
    said = text_of(lena.get(f"/jobs/{job.pk}/cut/"))
    boards, fences = len(work.boards), len(work.fences)
    assert f"{boards} board{'s' * (boards != 1)}, {fences} fence setting{'s' * (fences != 1)}, " in said
    assert f"{work.segments} segments" in said
    for board in work.boards:
        assert f"Board {board.number} " in said


def test_every_step_has_a_box_of_its_own_and_every_strip_its_name(lena: Client, design: Design) -> None:
    page = lena.get(f"/designs/{design.pk}/cut/").content.decode()
    ticks = re.findall(r'data-tick="([^"]+)"', page)
    assert len(ticks) == len(set(ticks)) > 5
    _, estimate = estimate_design(design)
    work = bench_sheets(estimate, studio=design.studio, fold=480, text=18).work
    for board in work.boards:
        for placed in board.strips:
            assert f'data-strip="{placed.name}"' in page
    lines = len(work.lines)
    assert len([tick for tick in ticks if tick.startswith("cut-")]) == lines


def test_another_plan_has_another_mark_so_that_old_ticks_do_not_count(lena: Client, design: Design) -> None:
    def mark() -> str:
        found = re.search(
            r'data-mark="([0-9a-f]{16})"', lena.get(f"/designs/{design.pk}/cut/").content.decode()
        )
        assert found is not None
        return found[1]

    before = mark()
    assert mark() == before
    band = design.parts.get().bands.first()
    band.segments = 16
    band.save()
    assert mark() != before


def test_a_setting_is_recorded_for_the_commission_and_shown_beside_its_angle(
    lena: Client, job: Commission
) -> None:
    page = lena.get(f"/jobs/{job.pk}/cut/")
    assert "No setting is on record for this angle" in text_of(page)
    miter, segments = page.context["form"].initial["miter_deg"], page.context["form"].initial["segments"]
    sent = setting(miter_deg=str(miter), segments=str(segments), note="<b>fence</b> shimmed")
    answer = lena.post(f"/jobs/{job.pk}/cut/", sent)
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{job.pk}/cut/#settings")
    kept = SawSetting.objects.get()
    assert (kept.commission, kept.studio, kept.member.user.username) == (job, job.studio, "lena")
    assert kept.miter_deg == miter
    page = lena.get(f"/jobs/{job.pk}/cut/")
    assert "table saw, long sled showed 15.04°" in text_of(page)
    assert "&lt;b&gt;fence&lt;/b&gt; shimmed" in page.content.decode()


def test_the_link_beside_an_angle_fills_the_form_in(lena: Client, design: Design) -> None:
    page = lena.get(f"/designs/{design.pk}/cut/?miter_deg=7.5&tilt_deg=1&segments=24&saw=x")
    form = page.context["form"]
    assert [form[name].value() for name in ("miter_deg", "tilt_deg", "segments")] == ["7.5", "1", Decimal(24)]
    assert lena.get(f"/designs/{design.pk}/cut/?miter_deg=<b>&tilt_deg=NaN&segments=9e99").status_code == 200


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"saw": ""}, "required"),
        ({"shown_deg": "a bit over"}, "number"),
        ({"segments": "2"}, "at least 3"),
        ({"closed": "outside"}, "how wide its gap was"),
        ({"gap": "0.2"}, "has a gap of 0"),
    ],
)
def test_wrong_input_changes_nothing_and_keeps_what_was_typed(
    lena: Client, job: Commission, wrong: dict[str, str], words: str
) -> None:
    answer = lena.post(f"/jobs/{job.pk}/cut/", setting(note="<u>kept</u> as typed", **wrong))
    page = answer.content.decode()
    assert answer.status_code == 400
    assert words in page
    assert "&lt;u&gt;kept&lt;/u&gt; as typed" in page
    assert not SawSetting.objects.exists()


def test_titles_are_shown_escaped(lena: Client, job: Commission, design: Design) -> None:
    for address, title in ((f"/jobs/{job.pk}/cut/", "Harbour"), (f"/designs/{design.pk}/cut/", "Bowl")):
        page = lena.get(address).content.decode()
        assert title in page
        assert "<b>Bowl" not in page
        assert "<i>Harbour" not in page


def test_a_setting_is_taken_out_and_one_is_back_on_the_page(
    lena: Client, job: Commission, design: Design
) -> None:
    one, two = SawSettingFactory(studio=job.studio), SawSettingFactory(studio=job.studio)
    answer = lena.post(f"/saw-settings/{one.pk}/take-out/", {"job": job.pk})
    assert answer["Location"] == f"/jobs/{job.pk}/cut/#settings"
    answer = lena.post(f"/saw-settings/{two.pk}/take-out/", {"design": design.pk})
    assert answer["Location"] == f"/designs/{design.pk}/cut/#settings"
    three = SawSettingFactory(studio=job.studio)
    assert (
        lena.post(f"/saw-settings/{three.pk}/take-out/", {"design": "//elsewhere"})["Location"] == "/designs/"
    )
    assert not SawSetting.objects.exists()


def test_an_outsider_sees_and_takes_nothing(stranger: Client, job: Commission, design: Design) -> None:
    kept = SawSettingFactory(studio=job.studio)
    for address in (
        f"/jobs/{job.pk}/cut/",
        f"/designs/{design.pk}/cut/",
        f"/jobs/{job.pk}/bench-book.pdf",
        f"/designs/{design.pk}/bench-book.pdf",
    ):
        assert stranger.get(address).status_code == 404, address
    assert stranger.post(f"/jobs/{job.pk}/cut/", setting()).status_code == 404
    assert stranger.post(f"/saw-settings/{kept.pk}/take-out/").status_code == 404
    assert Client().get(f"/jobs/{job.pk}/cut/").status_code == 302
    assert list(SawSetting.objects.all()) == [kept]


def test_a_design_that_does_not_work_out_says_so(lena: Client, design: Design) -> None:
    BandFactory(part=design.parts.get(), position=9, layers=500)
    page = lena.get(f"/designs/{design.pk}/cut/")
    assert page.status_code == 200
    assert "cannot be worked out" in page.content.decode()
    book = lena.get(f"/designs/{design.pk}/bench-book.pdf")
    assert (book.status_code, book["Content-Type"]) == (409, "text/plain; charset=utf-8")


def test_a_commission_without_a_design_is_sent_to_draw_one(lena: Client, job: Commission) -> None:
    job.design = None
    job.save()
    for address in ("cut/", "bench-book.pdf"):
        assert lena.get(f"/jobs/{job.pk}/{address}")["Location"] == f"/designs/new/?job={job.pk}"


def test_settings_that_would_read_alike_are_written_apart(studio: Studio) -> None:
    assert written_apart([30.0, 19.04, 19.02], studio) == ["30", "19.04", "19.02"]
    assert written_apart([19.0021, 19.0], studio) == ["19.002", "19.000"]
    studio.length_unit = "in"
    # 1/64 in is 0.397 mm: two settings 0.1 mm apart are one fraction.
    assert written_apart([25.4, 19.05, 18.95], studio) == ["1", "0.750", "0.746"]


def test_a_printed_limit_of_the_saw_promises_no_more_than_it_holds(design: Design) -> None:
    """Rounded up, an error within it would open the joint further than is said."""
    _, estimate = estimate_design(design)
    (proof, *_) = bench_sheets(estimate, studio=design.studio, fold=480, text=18).proofs
    ring = proof.ring
    printed = radians(float(f"{proof.close_enough_deg:.4f}"))
    assert printed > 0
    opening = last_joint(
        segments=ring.segments,
        outer_edge=ring.outer_edge,
        width=ring.strip_width,
        error=printed,
        miter=ring.half_angle,
    )
    assert opening.outside <= SEEN_GAP
    square = radians(float(f"{proof.square_enough_deg:.2f}"))
    assert (
        0
        < square
        <= square_enough(
            width=max(one.strip_width for one in estimate.rings),
            miter=ring.half_angle,
            flatten=estimate.sheet.shop.flatten,
        )
    )
