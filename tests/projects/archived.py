"""A studio that has something in every corner an archive must reach, and the words two of them are compared by."""

import datetime
import hashlib
import io
import json
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any
from uuid import UUID

from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.db import models as db
from django.db import transaction
from django.test import override_settings

from projects import models
from projects.archive.references import MAPPED
from projects.archive.schema import EARLIER_NUMBERS, WITHHELD, carried, rows_of
from projects.services.archive import studio_archive
from tests.factories import (
    BenchStepFactory,
    BenchTapFactory,
    BoardFactory,
    CommissionFactory,
    DesignFactory,
    HoursChangeFactory,
    HoursEntryFactory,
    MemberFactory,
    QuoteFactory,
    StepNoteFactory,
    StudioFactory,
    UserFactory,
)
from tests.factories_papers import IssuedPaperFactory, SignOffFactory
from tests.factories_records import RecordFactory, RecordPhotoFactory
from tests.furnished import furnish

PHOTO = b"\xff\xd8\xff\xe0 a stack under the press \xff\xd9"
GONE = 9_000_001
"""The id of rows that are not there any more."""

MOMENT = datetime.datetime(2026, 3, 29, 1, 30, 15, 123456, tzinfo=datetime.UTC)


def full_studio(name: str = "Fern Gully Turning") -> models.Studio:
    """One of everything, and besides what leads from row to row: inside JSON, forward, back, and to what is gone."""
    studio: models.Studio = StudioFactory(name=name, address="Mill Lane 3\n“Höhe”, Ⅲ", currency="EUR")
    owner = UserFactory(username="ada", first_name="Ada", email="ada@example.com")
    MemberFactory(studio=studio, role="owner", user=owner)
    furnish(studio)
    _tap(studio)
    _papers(studio)
    _boards(studio)
    _gone(studio)
    _quote(studio)
    _piece(studio)
    return studio


def _raw(rows: Any, **values: Any) -> None:
    """Set fields past what guards them."""
    db.QuerySet(rows.model).filter(pk__in=rows.values("pk")).update(**values)


def _tap(studio: models.Studio) -> None:
    step: models.BenchStep = models.BenchStep.objects.for_studio(studio).get()
    member = MemberFactory(studio=studio)
    entry = HoursEntryFactory(commission=step.commission, member=member, stretch=None)
    note = StepNoteFactory(step=step, member=member)
    note.photo.save("photo.jpg", ContentFile(PHOTO))
    models.StepNote.objects.filter(pk=note.pk).update(text="")
    again = BenchStepFactory(commission=step.commission, key=step.key, run=1, state="dropped")
    changed = {
        "steps": {
            str(step.pk): {
                "before": {"state": "waiting", "started_by": None},
                "after": {"started_by": member.pk},
            },
            str(GONE): {"before": {}, "after": {"started_at": MOMENT.isoformat()}},
        },
        "hours": [entry.pk, GONE],
        "notes": [note.pk],
        "again": [again.pk],
        "as_built": list(models.AsBuilt.objects.for_studio(studio).values_list("pk", flat=True)),
        "mishaps": list(models.Mishap.objects.for_studio(studio).values_list("pk", flat=True)),
        "lots": [*models.AdhesiveLot.objects.for_studio(studio).values_list("pk", flat=True), GONE],
        "replan": True,
    }
    tap = BenchTapFactory(step=step, member=member, at=MOMENT, changed=changed, payload={"text": "−0.0 é"})
    undo = BenchTapFactory(step=step, member=member, act="undo", uuid=UUID(int=7))
    models.BenchTap.objects.filter(pk=tap.pk).update(undone_by=undo)


def _papers(studio: models.Studio) -> None:
    paper = models.IssuedPaper.objects.for_studio(studio).get()
    _raw(
        models.IssuedPaper.objects.filter(pk=paper.pk), pdf=b"%PDF-1.7 a request", content={"a": [1.5, None]}
    )
    IssuedPaperFactory(
        commission=paper.commission, kind="credit", corrects=paper, base=-500, amount=-500, pdf=b"\x00\xff"
    )
    sign_off = SignOffFactory(commission=paper.commission, kind="ring")
    _raw(
        models.SignOff.objects.filter(pk=sign_off.pk),
        answer="agreed",
        answered_at=MOMENT,
        answered_name="C. Lane",
        answered_by_link=models.ClientLink.objects.for_studio(studio).get(),
        photo=models.SignOff._meta.get_field("photo").storage.save(
            "samples/x/ring.jpg", ContentFile(PHOTO[::-1])
        ),
    )
    papers = [{"kind": "paper", "id": paper.pk}, {"kind": "quote_trade", "id": GONE}]
    models.Letter.objects.for_studio(studio).update(attachments=papers)


def _boards(studio: models.Studio) -> None:
    board = models.Board.objects.for_studio(studio).get()
    offcut = BoardFactory(wood=board.wood, from_board=board, defects=[[0, 80.5]], length="81.125")
    commission = models.Commission.objects.for_studio(studio).first()
    models.CalendarPlan.objects.for_studio(studio).update(
        marks={"bench": "b0", f"job {commission.pk}": "a1", f"due {commission.pk}": "", f"due {GONE}": "x"}
    )
    plan = models.SawingPlan.objects.for_studio(studio).get()
    frozen = json.loads(json.dumps(plan.plan))
    frozen["plan"]["cutting"]["boards"][0]["ref"] = str(offcut.pk)
    marks = plan.marks | {f"board {offcut.pk}": "c2:1", f"board {GONE}": "d3:1"}
    models.SawingPlan.objects.filter(pk=plan.pk).update(plan=frozen, marks=marks)


def _gone(studio: models.Studio) -> None:
    entry = models.HoursEntry.objects.for_studio(studio).order_by("pk").first()
    _raw(models.HoursChange.objects.for_studio(studio), entry_number=GONE + 2)
    for number, what in (
        (entry.pk, "changed"),
        (GONE, "changed"),
        (GONE, "taken_out"),
        (GONE + 1, "taken_out"),
    ):
        HoursChangeFactory(
            member=entry.member,
            entry_number=number,
            what=what,
            before={"commission": entry.commission_id, "minutes": "30"},
        )


def _quote(studio: models.Studio) -> None:
    finish, board = studio.finishes.get(), models.Board.objects.for_studio(studio).order_by("pk").last()
    models.QuoteOption.objects.for_studio(studio).update(
        choice={"wood": "maple", "finish": finish.pk, "size": 1.25, "quantity": None}
    )
    issued = QuoteFactory(commission=CommissionFactory(studio=studio, design=DesignFactory(studio=studio)))
    _raw(
        models.Quote.objects.filter(pk=issued.pk),
        state="issued",
        number="2026-001",
        revision="A",
        issued_at=MOMENT,
        valid_until=MOMENT.date(),
        trade_pdf=b"%PDF-1.7 trade",
        client_pdf=b"%PDF-1.7 client",
        sheet={"boards": [{"ref": str(board.pk)}, {"ref": str(GONE)}, {"ref": ""}], "z": 1, "a": 1e-9},
        estimate={"cutting": {"boards": [{"ref": str(board.pk), "buy": False}, {"ref": "", "buy": True}]}},
    )
    for model in (models.Quote, models.Commission, models.BoardEvent):
        for moment in {"created_at", "updated_at", "at"} & {one.name for one in model._meta.fields}:
            _raw(model.objects.for_studio(studio), **{moment: MOMENT})


def _piece(studio: models.Studio) -> None:
    """A piece with photos, and with figures that its model's own check would set otherwise."""
    piece = models.PieceRecord.objects.for_studio(studio).first()
    RecordPhotoFactory(record=piece, position=2)
    out = {"taken_out_at": MOMENT, "taken_out_why": "written down twice", "updated_at": MOMENT}
    out |= {"taken_out_by": models.Member.objects.for_studio(studio).first()}
    RecordFactory(studio=studio, commission=piece.commission, piece=piece.piece, **out)
    models.PieceRecord.objects.filter(pk=piece.pk).update(size="7.125", updated_at=MOMENT)


def archive_of(studio: models.Studio, **options: Any) -> io.BytesIO:
    """A studio's archive in memory."""
    file = io.BytesIO()
    studio_archive(studio=studio, file=file, **options)
    file.seek(0)
    return file


def members_of(file: io.BytesIO) -> dict[str, bytes]:
    """Each member of an archive but the manifest, which has the time."""
    with zipfile.ZipFile(file) as found:
        return {name: found.read(name) for name in found.namelist() if name != "manifest.json"}


def changed_archive(
    file: io.BytesIO, change: Callable[[dict[str, bytes], dict[str, Any]], None]
) -> io.BytesIO:
    """The archive with its members and its manifest changed, and otherwise whole: sizes and sums are made anew."""
    members, manifest = members_of(file), manifest_of(file)
    change(members, manifest)
    for name, content in members.items():
        manifest["members"][name] = {"size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in {**members, "manifest.json": json.dumps(manifest).encode()}.items():
            made.writestr(name, content)
    out.seek(0)
    return out


def told(studio: models.Studio) -> dict[str, list[dict[str, Any]]]:
    """Every row of a studio in plain values, with no help from the archive: rows referred to by their place."""
    places: dict[type[db.Model], dict[int, int]] = {}
    rows: dict[str, list[dict[str, Any]]] = {}
    models_told = [one for one in carried() if one.model is not User]
    places[User] = _places(User.objects.filter(member__studio=studio))
    for one in models_told:
        places[one.model] = _places(rows_of(one, studio))
    for one in models_told:
        rows[one.name] = [_told(row, places) for row in rows_of(one, studio)]
    return rows


def _places(rows: Any) -> dict[int, int]:
    return {key: place for place, key in enumerate(rows.order_by("pk").values_list("pk", flat=True))}


def _told(row: Any, places: dict[type[db.Model], dict[int, int]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in row._meta.concrete_fields:
        value = getattr(row, field.attname)
        if field.name == "id" or (type(row), field.name) in WITHHELD:
            continue
        if field.is_relation:
            value = None if value is None else places[field.related_model][value]
        elif field.get_internal_type() == "FileField":
            value = value.open("rb").read() if value else ""
        elif field.get_internal_type() == "BinaryField":
            value = None if value is None else bytes(value)
        elif (type(row), field.name) in {*MAPPED, *EARLIER_NUMBERS}:
            continue  # it names rows by their ids, which are other ones
        elif (type(row), field.name) == (models.ClientLink, "revoked_at"):
            continue  # a link that was open is revoked
        found[field.name] = value
    for field in row._meta.many_to_many:
        found[field.name] = sorted(
            places[field.related_model][one.pk] for one in getattr(row, field.name).all()
        )
    return found


@dataclass(frozen=True)
class Kept:
    """An archive of the full studio, and the studio's rows as they were."""

    content: bytes
    told: dict[str, list[dict[str, Any]]]

    @property
    def file(self) -> io.BytesIO:
        """The archive, open at its beginning."""
        return io.BytesIO(self.content)


@cache
def kept() -> Kept:
    """Made once, and taken out of the database again. Within a test that may use that."""
    with tempfile.TemporaryDirectory() as folder, override_settings(MEDIA_ROOT=folder), transaction.atomic():
        studio = full_studio()
        found = Kept(archive_of(studio).getvalue(), told(studio))
        transaction.set_rollback(True)
    return found


def manifest_of(file: io.BytesIO) -> dict[str, Any]:
    """What an archive says of itself."""
    with zipfile.ZipFile(file) as found:
        manifest: dict[str, Any] = json.loads(found.read("manifest.json"))
    return manifest


def projects_models() -> list[type[db.Model]]:
    """Every model of the app."""
    return list(apps.get_app_config("projects").get_models())
