"""Two who press `send again` at once send a letter once."""

from functools import partial

import pytest
from django.core import mail
from django.core.exceptions import ValidationError

from projects.services.letters import send_again
from tests.factories_papers import LetterFactory
from tests.projects.threads import at_once


@pytest.mark.django_db(transaction=True)
def test_of_two_who_send_a_letter_again_one_does() -> None:
    for number in range(1, 7):
        letter = LetterFactory(state="failed", trouble="Connection refused")
        came = at_once(*[partial(send_again, letter=letter)] * 3)
        assert sum(isinstance(one, ValidationError) for one in came) == 2, came
        letter.refresh_from_db()
        assert letter.state == "sent"
        assert len(mail.outbox) == number
