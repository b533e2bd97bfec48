"""Answers at once: of a client and a maker, or of two clients with one address, one is first and the other is told."""

from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.models import ChangeOrder, ClientLink, Commission, Member, SignOff, Studio
from projects.services.change_orders import change_answer, change_ask, change_withdraw
from projects.services.sign_offs import sign_off_answer, sign_off_ask, sign_off_withdraw
from tests.agreements import NAME, accepted, link_of, private_job
from tests.factories import MemberFactory
from tests.projects.threads import at_once

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("cheap_paper")]


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A piece whose quote was accepted."""
    job = private_job(studio)
    accepted(job)
    return job


@pytest.fixture
def maker(studio: Studio) -> Member:
    """Somebody in the studio."""
    return MemberFactory(studio=studio)


@pytest.fixture
def link(job: Commission) -> ClientLink:
    """The client's address."""
    return link_of(job)


def _one_of_them(came: list[Any], kind: type) -> Any:
    """The row that was written; all the others were told that it is answered already."""
    made = [one for one in came if isinstance(one, kind)]
    told = [one for one in came if isinstance(one, ValidationError)]
    assert len(made) == 1
    assert len(told) == len(came) - 1
    assert {one.code for one in told} == {"answered"}
    return made[0]


def test_a_sign_off_is_answered_once(job: Commission, maker: Member, link: ClientLink) -> None:
    """Two clients at one address, one for and one against, and a maker who takes it back."""
    for _ in range(3):
        row = sign_off_ask(commission=job, kind="chip", words="Oil on walnut.", member=maker)
        first = _one_of_them(
            at_once(
                partial(sign_off_answer, sign_off=row, agreed=True, name=NAME, link=link),
                partial(sign_off_answer, sign_off=row, agreed=False, words="Darker.", link=link),
                partial(sign_off_withdraw, sign_off=row, member=maker),
            ),
            SignOff,
        )
        assert SignOff.objects.get(pk=row.pk).answer == first.answer


def test_a_change_is_agreed_to_or_withdrawn(job: Commission, maker: Member, link: ClientLink) -> None:
    """Never both."""
    for _ in range(3):
        change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
        first = _one_of_them(
            at_once(
                partial(change_answer, change=change, agreed=True, name=NAME, link=link),
                partial(change_withdraw, change=change, member=maker),
            ),
            ChangeOrder,
        )
        assert ChangeOrder.objects.get(pk=change.pk).answer == first.answer


def test_of_two_changes_asked_at_once_one_waits(job: Commission, maker: Member) -> None:
    """And its number is the next."""
    came = at_once(
        *(
            lambda: change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
            for _ in range(4)
        )
    )
    assert [isinstance(one, ValidationError) for one in came].count(True) == 3
    assert ChangeOrder.objects.get().number == 1
