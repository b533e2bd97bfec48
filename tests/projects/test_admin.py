"""The admin: every kind of record is there to be looked at, and quotes to be looked at only."""

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse

from tests.factories import CommissionFactory, QuoteFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_keeper() -> Browser:
    """A browser in which the installation's keeper is logged in."""
    browser = Browser()
    browser.force_login(User.objects.create_superuser("keeper"))
    return browser


def test_every_kind_of_record_has_its_list(as_keeper: Browser) -> None:
    quote = QuoteFactory(commission=CommissionFactory())
    inline = {"form", "band"}  # within their design
    for model in apps.get_app_config("projects").get_models():
        if model._meta.model_name in inline:
            continue
        answer = as_keeper.get(reverse(f"admin:projects_{model._meta.model_name}_changelist"))
        assert answer.status_code == 200, model
    design = quote.commission.design
    assert as_keeper.get(reverse("admin:projects_design_change", args=[design.pk])).status_code == 200


def test_a_quote_can_be_looked_at_and_neither_changed_nor_deleted(as_keeper: Browser) -> None:
    quote = QuoteFactory(commission=CommissionFactory(), message="As we said.")
    page = reverse("admin:projects_quote_change", args=[quote.pk])
    assert as_keeper.get(page).status_code == 200
    assert as_keeper.post(page, {"message": "cheaper"}).status_code == 403
    assert as_keeper.post(reverse("admin:projects_quote_delete", args=[quote.pk])).status_code == 403
    quote.refresh_from_db()
    assert quote.message == "As we said."


def test_a_member_who_is_not_the_keeper_has_no_admin(as_alice: Browser) -> None:
    assert as_alice.get(reverse("admin:index")).status_code == 302
