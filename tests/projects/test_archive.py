"""A studio written down and put in again: every row of every model as it was, and each id its own."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import connection
from django.utils import timezone

from projects import models
from projects.calendar import marks_now
from projects.pages.hours_week import history
from projects.services.archive import UnreadableArchive, UnwritableArchive, studio_restore
from projects.services.quote_accept import planned_boards
from tests.factories import BenchStepFactory, CommissionFactory, HoursEntryFactory, MemberFactory, UserFactory
from tests.projects.archived import (
    GONE,
    PHOTO,
    archive_of,
    full_studio,
    kept,
    manifest_of,
    members_of,
    projects_models,
    told,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


def _restored(file: io.BytesIO, **options: Any) -> models.Studio:
    before = set(models.Studio.objects.values_list("pk", flat=True))
    studio_restore(file=file, **options)
    studio: models.Studio = models.Studio.objects.exclude(pk__in=before).get()
    return studio


def _same(before: dict[str, Any], after: dict[str, Any]) -> None:
    """Every row alike; but what was an open link is revoked, and JSON that names rows is held by other tests."""
    assert set(before) == {model._meta.model_name for model in projects_models()} - {"feedaddress"}
    for name, rows in before.items():
        assert rows, f"there is no {name} to compare"
        assert after[name] == rows, name


def test_an_empty_server_has_every_row_of_every_model_as_it_was(folder: Path) -> None:
    studio = _restored(kept().file)
    _same(kept().told, told(studio))
    before = members_of(kept().file)
    photos = [
        before[name] for name in before if name.startswith("files/") and not name.endswith((".pdf", ".bin"))
    ]
    assert sorted(path.read_bytes() for path in folder.rglob("*.*")) == sorted(photos)
    assert {PHOTO, PHOTO[::-1]} <= set(photos)


def test_what_was_restored_is_written_down_to_the_same_bytes() -> None:
    """Each id inside JSON leads to the row that it led to, or the second archive would name another number."""
    before, after = members_of(kept().file), members_of(archive_of(_restored(kept().file)))
    assert set(before) == set(after)
    for name, content in before.items():
        if name == "rows/clientlink.jsonl":
            continue
        if connection.vendor == "postgresql" and name.endswith(".jsonl"):
            # It keeps the keys of JSON in an order of its own, by their length first.
            assert _parsed(after[name]) == _parsed(content), name
        else:
            assert after[name] == content, name
    link = json.loads(after["rows/clientlink.jsonl"])
    assert link | {"revoked_at": None} == json.loads(before["rows/clientlink.jsonl"])


def _parsed(lines: bytes) -> list[Any]:
    return [json.loads(line) for line in lines.splitlines()]


def test_it_becomes_one_more_beside_others_and_touches_none_of_them() -> None:
    there = full_studio("Salt Marsh Bowls")
    BenchStepFactory.create_batch(3, commission__studio=there)
    HoursEntryFactory.create_batch(4, commission__studio=there)
    before = told(there)
    with pytest.raises(
        UnreadableArchive, match=r"person.jsonl, line 1, username: there is a log-in ada here"
    ):
        studio_restore(file=kept().file)
    done = studio_restore(file=kept().file, rename=True)
    studio = models.Studio.objects.exclude(pk=there.pk).get()
    assert done.log_ins["ada"] == "ada-2"
    _same(kept().told, told(studio))
    assert told(there) == before


def test_a_tap_names_the_rows_it_made_by_their_new_ids_and_none_for_those_gone() -> None:
    CommissionFactory()  # so that new ids are other ones
    BenchStepFactory.create_batch(5)
    HoursEntryFactory.create_batch(5)
    studio = _restored(kept().file)
    tap = models.BenchTap.objects.for_studio(studio).exclude(changed={}).get()
    entry = models.HoursEntry.objects.for_studio(studio).get(member=tap.member)
    note = models.StepNote.objects.for_studio(studio).exclude(photo="").get()
    again = models.BenchStep.objects.for_studio(studio).get(run=1)
    gone = models.HoursChange.objects.for_studio(studio).filter(what="taken_out").order_by("pk").first()
    assert tap.changed["hours"] == [entry.pk, gone.entry_number]
    assert tap.changed["notes"] == [note.pk]
    assert tap.changed["again"] == [again.pk]
    assert tap.changed["replan"] is True
    assert set(tap.changed["steps"]) == {str(tap.step_id), "-1"}
    assert tap.changed["steps"][str(tap.step_id)]["after"] == {"started_by": tap.member_id}
    assert tap.undone_by.uuid.int == 7


def test_plans_letters_and_options_name_their_rows_by_the_new_ids() -> None:
    HoursEntryFactory.create_batch(5)
    studio = _restored(kept().file)
    job = models.Commission.objects.for_studio(studio).order_by("pk").first()
    offcut = models.Board.objects.for_studio(studio).exclude(from_board=None).get()
    plan = models.SawingPlan.objects.for_studio(studio).get()
    assert plan.plan["commissions"] == [job.pk]
    assert plan.plan["plan"]["cutting"]["boards"][0]["ref"] == str(offcut.pk)
    assert plan.marks[f"board {offcut.pk}"] == "c2:1"
    assert f"job {job.pk}" in plan.marks
    assert list(plan.commissions.all()) == [job]
    calendar = models.CalendarPlan.objects.for_studio(studio).get()
    assert calendar.marks == {"bench": "b0", f"job {job.pk}": "a1", f"due {job.pk}": "", "due -1": "x"}
    paper = models.IssuedPaper.objects.for_studio(studio).get(kind="deposit")
    letter = models.Letter.objects.for_studio(studio).get()
    assert letter.attachments == [{"kind": "paper", "id": paper.pk}, {"kind": "quote_trade", "id": -1}]
    quote = models.Quote.objects.for_studio(studio).get(state="issued")
    assert planned_boards(quote.estimate) == {offcut.pk: 1}
    assert quote.sheet == {"boards": [{"ref": str(offcut.pk)}, {"ref": "-1"}, {"ref": ""}], "z": 1, "a": 1e-9}
    option = models.QuoteOption.objects.for_studio(studio).get()
    assert option.choice["finish"] == studio.finishes.get().pk


def test_a_restored_calendar_is_as_up_to_date_as_it_was() -> None:
    """Its marks are made from what is planned, not from ids, which are other ones now."""
    studio = full_studio()
    job = models.Commission.objects.for_studio(studio).order_by("pk").first()
    models.Commission.objects.filter(pk=job.pk).update(stage="agreed")
    marks = marks_now(studio)
    assert set(marks) == {"bench", f"due {job.pk}", f"job {job.pk}"}
    restored = _restored(archive_of(studio), rename=True)
    assert sorted(marks_now(restored).values()) == sorted(marks.values())


def test_the_history_of_an_entry_that_is_gone_stays_its_own_for_ever() -> None:
    HoursEntryFactory.create_batch(3)
    studio = _restored(kept().file)
    changes = models.HoursChange.objects.for_studio(studio).order_by("pk")
    numbers = [change.entry_number for change in changes]
    assert numbers[1] == models.HoursEntry.objects.for_studio(studio).order_by("pk").first().pk
    assert numbers[2] == numbers[3]
    assert len({numbers[0], *numbers[2:]}) == 3
    gone = {numbers[0], *numbers[2:]}
    assert not models.HoursEntry.objects.filter(pk__in=gone).exists()
    new = HoursEntryFactory(commission=models.Commission.objects.for_studio(studio).first())
    assert new.pk not in gone
    assert history(studio, new.pk, new) == []
    assert len(history(studio, numbers[2], None)) == 2


def test_log_ins_have_no_password_until_one_is_set_unless_their_hashes_were_asked_for() -> None:
    studio_restore(file=kept().file)
    assert not User.objects.get(username="ada").has_usable_password()
    assert b'"password"' not in members_of(kept().file)["rows/person.jsonl"]
    member = MemberFactory(user=UserFactory(username="grace"))
    file = archive_of(member.studio, passwords=True)
    member.user.set_password("another one")
    member.user.save()
    studio_restore(file=file, rename=True)
    assert User.objects.get(username="grace-2").check_password("plane-and-gouge")


def test_no_secret_is_in_an_archive_and_what_it_opened_is_shut() -> None:
    studio = full_studio()
    link = models.ClientLink.objects.for_studio(studio).get()
    feed = models.FeedAddress.objects.for_studio(studio).get()
    written = b"".join(members_of(archive_of(studio)).values())
    for secret in (
        link.nonce,
        link.token_hash,
        feed.token_hash,
        studio.members.get(user__username="ada").user.password,
    ):
        assert secret.encode() not in written
    restored = _restored(archive_of(studio), rename=True)
    new = models.ClientLink.objects.for_studio(restored).get()
    assert new.revoked_at <= timezone.now()
    assert {new.nonce, new.token_hash} & {link.nonce, link.token_hash} == set()
    assert not models.FeedAddress.objects.for_studio(restored).exists()


def test_what_was_frozen_is_frozen_again() -> None:
    studio = _restored(kept().file)
    quote = models.Quote.objects.for_studio(studio).get(state="issued")
    paper = models.IssuedPaper.objects.for_studio(studio).first()
    signed = models.SignOff.objects.for_studio(studio).get(answer="agreed")
    payment = models.Payment.objects.for_studio(studio).get()
    payment.amount += 1
    for row in (quote, paper, signed, payment):
        with pytest.raises(ValidationError):
            row.save()
        with pytest.raises(ValidationError):
            row.delete()
    assert bytes(quote.trade_pdf) == b"%PDF-1.7 trade"


def test_a_dry_run_checks_everything_and_leaves_nothing(folder: Path) -> None:
    done = studio_restore(file=kept().file, dry_run=True)
    assert done.counts == {name: one["count"] for name, one in manifest_of(kept().file)["rows"].items()}
    assert done.files == sum(name.startswith("files/") for name in members_of(kept().file))
    assert not User.objects.exists()
    assert not any(model.objects.exists() for model in projects_models())
    assert not list(folder.rglob("*.*"))


def test_a_photo_that_is_gone_from_the_disk_is_said_to_be_and_is_gone_again() -> None:
    studio = full_studio()
    note = models.StepNote.objects.for_studio(studio).exclude(photo="").get()
    note.photo.storage.delete(note.photo.name)
    file = archive_of(studio)
    assert len(manifest_of(file)["missing"]) == 1
    restored = _restored(file, rename=True)
    new = models.StepNote.objects.for_studio(restored).exclude(photo="").get()
    assert new.photo.name.startswith(f"bench/{restored.pk}/")
    assert not new.photo.storage.exists(new.photo.name)


def test_a_studio_that_refers_to_another_s_rows_is_not_written_down() -> None:
    studio = full_studio()
    models.HoursEntry.objects.for_studio(studio).update(member=MemberFactory())
    with pytest.raises(
        UnwritableArchive, match=r"hours entry \d+, member: refers to a row of another studio"
    ):
        archive_of(studio)


def test_the_ids_of_rows_that_are_gone_do_not_stand_in_an_archive() -> None:
    for name, content in members_of(kept().file).items():
        assert str(GONE).encode() not in content, name
