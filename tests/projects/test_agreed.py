"""What was agreed as drawn, and what is said where the design differs from it."""

import datetime
from typing import Any

import pytest
from django.utils import timezone

from projects.agreed import agreed_piece, drawing_state, drawing_states, named_finish, readable
from projects.estimates import estimate_data, piece_data, sheet_data
from projects.models import Band, Commission, Studio
from tests.factories import CommissionFactory, QuoteFactory
from tests.factories_papers import ChangeOrderFactory, QuoteEventFactory, SignOffFactory

pytestmark = pytest.mark.django_db
NOON = datetime.datetime(2027, 3, 3, 12, 0, tzinfo=datetime.UTC)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission with a design that can be made."""
    return CommissionFactory(studio=studio)


def _sheet(job: Commission) -> dict[str, Any]:
    return piece_data(job.design, commission=job)


def _signed(job: Commission, *, at: datetime.datetime = NOON, **values: Any) -> Any:
    answered = {"answer": "agreed", "answered_at": at, "answered_name": "Perpetua Lorn"}
    return SignOffFactory(commission=job, kind="drawing", sheet=_sheet(job), **{**answered, **values})


def _thicker(job: Commission) -> None:
    band = Band.objects.get(part__design=job.design)
    band.thickness = "10.5"
    band.save()


def test_nothing_is_said_before_anything_was_agreed(job: Commission) -> None:
    """No notice on a job whose drawing nobody was shown."""
    assert agreed_piece(job) is None
    assert drawing_state(job).is_quiet
    assert drawing_states([job]) == []


def test_a_drawing_that_waits_is_said_to_wait(job: Commission) -> None:
    """Of the design as it is now; and of one that has changed since."""
    SignOffFactory(commission=job, kind="drawing", sheet=_sheet(job))
    assert drawing_state(job).words == "The drawing waits to be signed."
    assert drawing_state(job).is_sent
    _thicker(job)
    assert not drawing_state(job).is_sent


def test_a_chip_that_waits_is_no_drawing(job: Commission) -> None:
    """Colour is seen to later than the saw."""
    SignOffFactory(commission=job, kind="chip")
    assert drawing_state(job).is_quiet


def test_a_design_that_differs_from_the_signed_drawing_is_named(job: Commission) -> None:
    """In words, with both figures, in the studio's unit; the same design says nothing."""
    _signed(job)
    assert drawing_state(job).is_quiet
    _thicker(job)
    state = drawing_state(job)
    assert state.differs == ("layer thickness of band 1 (wall): 9.93 mm, now 10.5 mm",)
    assert state.words == "The design differs from the drawing signed on 3 March 2027: price the change."
    job.studio.length_unit = "in"
    assert drawing_state(job).differs == ("layer thickness of band 1 (wall): 25/64 in, now 0.413 in",)


def test_woods_are_called_by_their_names(job: Commission) -> None:
    """As on the studio's shelf."""
    _signed(job)
    Band.objects.filter(part__design=job.design).update(woods=["maple"])
    assert drawing_state(job).differs == (
        "wood of band 1 (wall): hard maple and black walnut, now hard maple",
    )


def test_another_finish_differs_and_its_price_does_not(job: Commission) -> None:
    """By its name, which the sheet of an estimate does not have."""
    _signed(job)
    finish = job.studio.finishes.get(usual=True)
    finish.price_per_ml = 1
    finish.save()
    assert drawing_state(job).is_quiet
    finish.name = "Hard oil"
    finish.save()
    assert drawing_state(job).differs == ("finish: Varnish, now Hard oil",)


def test_the_latest_agreement_counts(job: Commission) -> None:
    """A change agreed after the drawing takes its place; words alone do not."""
    _signed(job)
    _thicker(job)
    quote = QuoteFactory(commission=job)
    agreed = {"answer": "agreed", "answered_name": "P. Lorn", "quote": quote}
    later = NOON + datetime.timedelta(days=2)
    change = ChangeOrderFactory(**agreed, answered_at=later, sheet=_sheet(job), drawing="<svg/>")
    assert drawing_state(job).is_quiet
    ChangeOrderFactory(**agreed, answered_at=later + datetime.timedelta(days=1))
    piece = agreed_piece(job)
    assert piece is not None
    assert piece.words == f"the drawing of change {change.number}, agreed on 5 March 2027"


def test_an_accepted_quote_stands_in_for_a_signed_drawing(job: Commission) -> None:
    """With the finish that was frozen beside its sheet."""
    quote = QuoteFactory(commission=job)
    fields = {"sheet": sheet_data(job.design, commission=job), "finish": {"name": "Varnish", "coats": 5}}
    numbered = {"number": "2027-001", "revision": "A", "issued_at": NOON, "valid_until": NOON.date()}
    type(quote).objects.filter(pk=quote.pk).update(**fields, **numbered, state="issued")
    QuoteEventFactory(quote=quote, what="accepted", name="P. Lorn", text="All of it.", sha256="x", at=NOON)
    assert drawing_state(job).is_quiet
    _thicker(job)
    assert drawing_state(job).words == (
        "The design differs from quote 2027-001 as it was accepted: price the change."
    )


def test_a_change_that_waits_is_not_priced_again(job: Commission) -> None:
    """Where its drawing is of the design as it is now."""
    _signed(job)
    _thicker(job)
    change = ChangeOrderFactory(quote=QuoteFactory(commission=job), sheet=_sheet(job), drawing="<svg/>")
    said = drawing_state(job).words
    assert said.endswith(f": change {change.number} waits for the client.")


def test_what_was_delivered_is_left_in_peace(job: Commission) -> None:
    """A design may go on to other pieces."""
    _signed(job, at=timezone.now())
    _thicker(job)
    assert drawing_states([job])
    Commission.objects.filter(pk=job.pk).update(stage="delivered")
    job.refresh_from_db()
    assert drawing_states([job]) == []


def test_a_frozen_sheet_can_be_estimated(job: Commission) -> None:
    """Its finish has a name that estimating does not know, which is left out for it."""
    frozen = named_finish(sheet_data(job.design, commission=job), "Varnish")
    assert estimate_data(readable(frozen), studio=job.studio)[0].finish.coats == 5
