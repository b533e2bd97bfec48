"""Proven settings of the saw: what the database holds, what the service refuses, and which one is shown."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from projects.models import SawSetting, Studio
from projects.services.saw_settings import proven_settings, saw_setting_delete, saw_setting_record
from tests.factories import CommissionFactory, MemberFactory, SawSettingFactory

pytestmark = pytest.mark.django_db
FIFTEEN = (Decimal("15.000"), Decimal("0.000"))


def values(**changes: Any) -> dict[str, Any]:
    return {"saw": "table saw", "miter_deg": 15, "shown_deg": "15.04", "segments": 12, **changes}


def test_a_setting_is_kept_with_who_proved_it_and_for_which_commission(studio: Studio) -> None:
    member, commission = MemberFactory(studio=studio), CommissionFactory(studio=studio)
    made = saw_setting_record(studio=studio, member=member, commission=commission, **values())
    kept = SawSetting.objects.get(pk=made.pk)
    assert (kept.studio, kept.member, kept.commission) == (studio, member, commission)
    assert (kept.miter_deg, kept.tilt_deg, kept.shown_deg, kept.gap) == (15, 0, Decimal("15.04"), 0)
    commission.delete()
    kept.refresh_from_db()
    assert kept.commission is None


WRONG = [
    ("saw", {"saw": ""}),
    ("miter_deg", {"miter_deg": 90}),
    ("miter_deg", {"miter_deg": -1}),
    ("tilt_deg", {"tilt_deg": 90}),
    ("shown_deg", {"shown_deg": "-0.5"}),
    ("segments", {"segments": 2}),
    ("segments", {"segments": 361}),
    ("gap", {"closed": "outside", "gap": 51}),
    ("closed", {"closed": "somehow"}),
    ("__all__", {"closed": "tight", "gap": "0.2"}),
    ("__all__", {"closed": "outside", "gap": 0}),
]


@pytest.mark.parametrize(("place", "wrong"), WRONG)
def test_what_cannot_be_is_refused_at_its_place_and_by_the_database(
    studio: Studio, place: str, wrong: dict[str, Any]
) -> None:
    member = MemberFactory(studio=studio)
    with pytest.raises(ValidationError) as refusal:
        saw_setting_record(studio=studio, member=member, **values(**wrong))
    assert place in refusal.value.message_dict
    with pytest.raises((IntegrityError, ValidationError)), transaction.atomic():
        SawSetting.objects.bulk_create([SawSetting(studio=studio, member=member, **values(**wrong))])
    assert not SawSetting.objects.exists()


@pytest.mark.parametrize(
    "right", [{}, {"closed": "inside", "gap": "0.2"}, {"miter_deg": 0, "tilt_deg": "89.999"}]
)
def test_what_can_be_is_taken_by_both(studio: Studio, right: dict[str, Any]) -> None:
    member = MemberFactory(studio=studio)
    saw_setting_record(studio=studio, member=member, **values(**right))
    SawSetting.objects.bulk_create([SawSetting(studio=studio, member=member, **values(**right))])
    assert SawSetting.objects.count() == 2


def test_neither_member_nor_commission_may_be_another_studios(studio: Studio, other_studio: Studio) -> None:
    with pytest.raises(ValidationError) as refusal:
        saw_setting_record(studio=studio, member=MemberFactory(studio=other_studio), **values())
    assert "member" in refusal.value.message_dict
    foreign = CommissionFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        saw_setting_record(studio=studio, member=MemberFactory(studio=studio), commission=foreign, **values())
    assert "commission" in refusal.value.message_dict


def test_the_last_that_closed_is_shown_for_its_angle_and_never_another_studios(
    studio: Studio, other_studio: Studio
) -> None:
    day = datetime.date(2027, 3, 1)
    old = SawSettingFactory(studio=studio, proven_on=day)
    SawSettingFactory(studio=studio, proven_on=day + datetime.timedelta(2), closed="outside", gap="0.3")
    SawSettingFactory(studio=other_studio, proven_on=day + datetime.timedelta(9))
    SawSettingFactory(studio=studio, proven_on=day + datetime.timedelta(9), tilt_deg=5)
    assert proven_settings(studio, angles=[FIFTEEN]) == {FIFTEEN: old}
    newer = SawSettingFactory(studio=studio, proven_on=day + datetime.timedelta(1))
    assert proven_settings(studio, angles=[FIFTEEN]) == {FIFTEEN: newer}


def test_one_that_did_not_close_is_shown_where_none_did(studio: Studio) -> None:
    SawSettingFactory(studio=studio, proven_on=datetime.date(2027, 3, 1), closed="inside", gap="0.4")
    last = SawSettingFactory(studio=studio, proven_on=datetime.date(2027, 3, 2), closed="outside", gap="0.1")
    assert proven_settings(studio, angles=[FIFTEEN]) == {FIFTEEN: last}
    assert proven_settings(studio, angles=[(Decimal(9), Decimal(0))]) == {}


def test_a_setting_can_be_taken_out(studio: Studio) -> None:
    saw_setting_delete(setting=SawSettingFactory(studio=studio))
    assert not SawSetting.objects.exists()
