"""A sawing plan on paper: one bench book and one timber list for all its commissions, and what their own then say."""

import io
import re
from typing import Any

import pypdf
import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import Commission, SawingPlan, Studio
from projects.services import sawing_search
from projects.services.sawing import plan_create, thawed
from projects.services.sawing_rack import boards_cut, plan_reserve
from tests.factories import BoardFactory, CommissionFactory

pytestmark = pytest.mark.django_db
PAPERS = ("sawing_book", "sawing_timber_list")


@pytest.fixture(autouse=True)
def _not_started(monkeypatch: Any) -> None:
    monkeypatch.setattr(sawing_search, "search_start", lambda plan: None)


@pytest.fixture
def jobs(studio: Studio) -> list[Commission]:
    return [CommissionFactory(studio=studio, stage="agreed", title=title) for title in ("Bowl <i>", "Vase")]


@pytest.fixture
def plan(studio: Studio, jobs: list[Commission]) -> SawingPlan:
    """The maple lies on the rack; the walnut is to be bought."""
    BoardFactory(wood=studio.woods.get(key="maple"), length=2000, width=200, thickness=27, count=3)
    made = plan_create(studio=studio, commissions=jobs)
    sawing_search.search(plan=made.pk, runner=made.runner)
    made.refresh_from_db()
    return made


def said(answer: Any) -> str:
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_book_has_every_board_strip_and_stop_of_all_commissions(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission]
) -> None:
    work = as_alice.get(reverse("sawing_work", args=[plan.pk])).context["sheets"].work
    book = said(as_alice.get(reverse("sawing_book", args=[plan.pk])))
    for board in work.boards:
        assert f"Board {board.number}: " in book
        assert all(re.search(rf"(?<!\d){placed.name} \(\d+\)", book) for placed in board.strips)
    for line in work.lines:
        assert re.search(rf" {line.ring} {line.wood} {line.count}(?!\d)", book), line
    assert f"{len(work.fences)} fence setting" in book
    first = thawed(plan).plan.first_ring
    last = max(line.ring for line in work.lines)
    assert f"Bowl <i> {jobs[0].client} 1 to {first[1]} 1 to {first[1]}" in book
    assert f"Vase {jobs[1].client} {first[1] + 1} to {last} 1 to {last - first[1]}" in book


def test_the_timber_list_has_the_plans_boards_and_says_whose_they_are(
    as_alice: Browser, plan: SawingPlan
) -> None:
    paper = said(as_alice.get(reverse("sawing_timber_list", args=[plan.pk])))
    cutting = thawed(plan).plan.cutting
    bought = [board for board in cutting.boards if board.buy]
    assert {board.wood for board in bought} == {"walnut"}
    assert paper.count("found ×") == len(bought)
    assert f"{cutting.outlay:.2f}" in paper
    assert "A is Bowl <i>, B is Vase; the numbers after a letter are that commission’s rings." in paper
    assert re.search(r"for A [\d, ]+; B [\d, ]+ · planned", paper)
    spares = as_alice.get(reverse("sawing_work", args=[plan.pk])).context["sheets"].work.spares
    assert sum(map(int, re.findall(r"to saw, (\d+) of them spare", paper))) == spares > 0


def test_a_board_that_is_cut_is_bought_no_more(as_alice: Browser, plan: SawingPlan) -> None:
    plan_reserve(plan=plan)
    boards = thawed(plan).plan.cutting.boards
    bought = [number for number, board in enumerate(boards, start=1) if board.buy]
    boards_cut(plan=plan, numbers=bought[:1], member=None)
    paper = said(as_alice.get(reverse("sawing_timber_list", args=[plan.pk])))
    assert paper.count("found ×") == len(bought) - 1
    assert "What the rack gives" not in paper


def test_a_commissions_own_papers_say_that_its_boards_are_held_by_a_plan(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission]
) -> None:
    book, buy = reverse("job_bench_book", args=[jobs[0].pk]), reverse("job_to_buy", args=[jobs[0].pk])
    buy += "?paper=a4&unit=mm&make=pdf"
    assert f"sawing plan {plan.pk}" not in said(as_alice.get(book)) + said(as_alice.get(buy))
    plan_reserve(plan=plan)
    assert (
        f"Boards are reserved for this by sawing plan {plan.pk}, {plan.title}. Saw by that plan’s own bench book."
        in said(as_alice.get(book))
    )
    assert f"Boards are held for this by sawing plan {plan.pk}, {plan.title}." in said(as_alice.get(buy))


def test_a_book_of_a_plan_out_of_date_says_so_on_its_cover(as_alice: Browser, plan: SawingPlan) -> None:
    url = reverse("sawing_book", args=[plan.pk])
    assert "has changed since" not in said(as_alice.get(url))
    BoardFactory(wood=plan.studio.woods.get(key="walnut"), length=2000, width=200, thickness=27, count=3)
    assert "Something has changed since this was planned." in said(as_alice.get(url))


@pytest.mark.parametrize("name", PAPERS)
def test_what_cannot_be_printed_says_why(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission], name: str
) -> None:
    band = jobs[0].design.parts.first().bands.first()  # type: ignore[union-attr]
    band.segments *= 2
    band.save()
    answer = as_alice.get(reverse(name, args=[plan.pk]))
    assert answer.status_code == 409
    assert "asks for other strips than it did. Plan again." in answer.content.decode()
    assert answer["Content-Type"].startswith("text/plain")  # a title with markup in it is text


@pytest.mark.parametrize("name", PAPERS)
def test_an_outsider_finds_no_papers(as_charlie: Browser, plan: SawingPlan, name: str) -> None:
    assert as_charlie.get(reverse(name, args=[plan.pk])).status_code == 404


def test_the_plans_pages_offer_both(as_alice: Browser, plan: SawingPlan) -> None:
    page = as_alice.get(reverse("sawing_plan", args=[plan.pk])).content.decode()
    assert all(f'href="{reverse(name, args=[plan.pk])}"' in page for name in PAPERS)
    work = as_alice.get(reverse("sawing_work", args=[plan.pk])).content.decode()
    assert f'href="{reverse("sawing_book", args=[plan.pk])}"' in work
