"""An archive that is damaged, too new, hostile or wrong in a row is refused by its place, and nothing is changed."""

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from projects import models
from projects.archive import reading
from projects.services.archive import UnreadableArchive, studio_restore
from tests.factories import StudioFactory
from tests.projects.archived import changed_archive, kept, manifest_of, members_of, projects_models

pytestmark = pytest.mark.django_db

Change = Callable[[dict[str, bytes], dict[str, Any]], None]


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


def _refused(file: io.BytesIO, words: str, folder: Path) -> None:
    """Refused with these words, and as if nobody had tried: no row, no file, no folder."""
    there = StudioFactory(name="Was here before")
    counts = [model.objects.count() for model in projects_models()]
    with pytest.raises(UnreadableArchive) as refusal:
        studio_restore(file=file)
    assert words in str(refusal.value)
    assert [model.objects.count() for model in projects_models()] == counts
    assert models.Studio.objects.get() == there
    assert not User.objects.exists()
    assert not [path for path in folder.rglob("*") if path.is_file()]


def _rows(name: str, change: Callable[[list[dict[str, Any]]], Any]) -> Change:
    """A change of the rows of one model, by their order."""

    def apply(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        member = f"rows/{name}.jsonl"
        rows = [json.loads(line) for line in members[member].splitlines()]
        change(rows)
        members[member] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
        manifest["rows"][name]["count"] = len(rows)

    return apply


def _set(name: str, number: int, /, **values: Any) -> Change:
    return _rows(name, lambda rows: rows[number - 1].update(values))


@pytest.mark.parametrize(
    "content", [b"", b"no ZIP at all", b"PK\x03\x04" + bytes(60)], ids=["empty", "text", "head"]
)
def test_what_is_no_zip(content: bytes, folder: Path) -> None:
    kept()
    _refused(io.BytesIO(content), "This is no ZIP file, or it was cut short or changed", folder)


@pytest.mark.parametrize("share", [0.3, 0.9, 0.999])
def test_one_that_was_cut_short(share: float, folder: Path) -> None:
    content = kept().content
    _refused(io.BytesIO(content[: int(len(content) * share)]), "cut short", folder)


def test_one_with_a_bit_turned_wherever_it_is(folder: Path) -> None:
    """In no place does a changed byte come in unseen: the ZIP's own sums or the manifest's tell, or nothing differs."""
    kept()
    whole = members_of(kept().file)
    for at in range(0, len(kept().content), 997):
        content = bytearray(kept().content)
        content[at] ^= 0x20
        try:
            archive = reading.open_archive(io.BytesIO(bytes(content)))
        except UnreadableArchive:
            continue
        assert {name: archive.zip.read(name) for name in whole} == whole, at


def _manifest(**values: Any) -> Change:
    return lambda members, manifest: manifest.update(values)


def _unknown_model(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
    members["rows/chisel.jsonl"] = b""
    manifest["rows"]["chisel"] = {"count": 0, "fields": []}


def _unknown_field(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
    manifest["rows"]["wood"]["fields"].append("smell")


def _second_studio(rows: list[dict[str, Any]]) -> None:
    rows.append(rows[0] | {"id": 2})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            _manifest(schema=2),
            "manifest.json: the archive is of a newer Turnery (schema 2; this one reads up to 1).",
        ),
        (_manifest(schema="1"), "manifest.json, schema: must be a number from 1."),
        (_manifest(format="another"), "manifest.json: this is no archive of a studio."),
        (_manifest(missing=None), "manifest.json: is not as the schema has it."),
        (_unknown_model, "manifest.json, rows: 'chisel' is no model that this Turnery knows."),
        (_unknown_field, "manifest.json, rows, wood: 'smell' is no field that this Turnery knows."),
        (
            _rows("client", lambda rows: rows[0].pop("name")),
            "rows/client.jsonl, line 1: must have exactly the fields",
        ),
        (_set("client", 1, smell=1), "rows/client.jsonl, line 1: must have exactly the fields"),
        (_set("client", 1, id=5), "rows/client.jsonl, line 1, id: must be 1."),
        (_set("client", 1, name=5), "rows/client.jsonl, line 1, name: must be text."),
        (
            _set("client", 1, name="x" * 121),
            "rows/client.jsonl, line 1, name: Ensure this value has at most 120",
        ),
        (_set("client", 1, name=""), "rows/client.jsonl, line 1: The name must not be empty."),
        (
            _set("client", 1, kind="stranger"),
            "rows/client.jsonl, line 1, kind: Value 'stranger' is not a valid choice",
        ),
        (
            _set("client", 1, gallery_share="1.5"),
            "rows/client.jsonl, line 1, gallery_share: Must be at most 0.95.",
        ),
        (
            _set("client", 1, gallery_share="NaN"),
            "rows/client.jsonl, line 1, gallery_share: must be a number as text.",
        ),
        (_set("client", 1, gallery_share=0.5), "rows/client.jsonl, line 1, gallery_share: must be text."),
        (_set("wood", 2, density="5"), "rows/wood.jsonl, line 2, density: Must be at least 50."),
        (
            _set("wood", 2, key="maple"),
            "rows/wood.jsonl, line 2: The studio already has a wood with this key.",
        ),
        (_set("wood", 2, active=1), "rows/wood.jsonl, line 2, active: must be true or false."),
        (_set("board", 1, count=True), "rows/board.jsonl, line 1, count: must be a whole number."),
        (
            _set("board", 1, count=0),
            "rows/board.jsonl, line 1: No more boards can be reserved than lie there.",
        ),
        (_set("commission", 1, asked_on="2026-02-30"), "line 1, asked_on: must be a day as YYYY-MM-DD."),
        (
            _set("commission", 1, created_at="2026-02-03T00:00:00"),
            "created_at: must be a moment by ISO 8601 with",
        ),
        (_set("commission", 1, title=None), "rows/commission.jsonl, line 1, title: must not be empty."),
        (
            _set("commission", 1, client=77),
            "rows/commission.jsonl, line 1, client: refers to 77, which is not in",
        ),
        (
            _set("commission", 1, client="1"),
            "rows/commission.jsonl, line 1, client: refers to '1', which is not in",
        ),
        (_set("commission", 1, client=None), "rows/commission.jsonl, line 1, client: must not be empty."),
        (
            _set("benchtap", 1, undone_by=99),
            "rows/benchtap.jsonl, line 1, undone_by: refers to 99, which is not in",
        ),
        (_set("benchtap", 1, uuid="7"), "rows/benchtap.jsonl, line 1, uuid: must be a UUID."),
        (
            _set("benchtap", 1, changed={"hours": [99]}),
            "line 1, changed: refers to 99, which is not in the archive.",
        ),
        (_set("benchtap", 1, changed={"hours": 5}), "rows/benchtap.jsonl, line 1, changed: cannot be read"),
        (
            _set("letter", 1, attachments=[{"kind": "x", "id": 1}]),
            "rows/letter.jsonl, line 1, attachments: cannot be",
        ),
        (
            _set("sawingplan", 1, commissions=[99]),
            "line 1, commissions: must list rows of the archive by their ids.",
        ),
        (
            _set("quote", 1, trade_pdf="rows/quote.jsonl"),
            "trade_pdf: 'rows/quote.jsonl' is not in the archive.",
        ),
        (
            _set("quote", 1, trade_pdf="../../secret_key"),
            "trade_pdf: '../../secret_key' is not in the archive.",
        ),
        (
            _set("form", 1, outer=[["x"]]),
            "rows/form.jsonl, line 1, outer: Point 1 must be a height and a radius",
        ),
        (_rows("studio", _second_studio), "rows/studio.jsonl: must have one studio."),
        (
            _rows("studio", lambda rows: rows.clear()),
            "rows/member.jsonl, line 1, studio: refers to 1, which is not in",
        ),
        (_set("issuedpaper", 2, corrects=None), "line 2: A credit note says which paper it corrects."),
        (
            _set("changeorder", 1, base="1.0000"),
            "rows/changeorder.jsonl, line 1, amount: Before tax and tax must add",
        ),
    ],
)
def test_what_is_wrong_is_named_by_file_line_and_field(change: Change, words: str, folder: Path) -> None:
    _refused(changed_archive(kept().file, change), words, folder)


@pytest.mark.parametrize("text", [b"{\n", b"[1]\n", b'{"id": NaN}\n', b"\xff\n", b"[" * 100_000 + b"\n"])
def test_a_line_that_is_no_row(text: bytes, folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        members["rows/client.jsonl"] = text

    _refused(changed_archive(kept().file, change), "rows/client.jsonl, line 1: ", folder)


def test_fewer_lines_than_were_counted(folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        members["rows/letter.jsonl"] = b""

    _refused(
        changed_archive(kept().file, change), "rows/letter.jsonl: the manifest counts other rows", folder
    )


def _zipped(members: list[tuple[str, bytes]], manifest: dict[str, Any]) -> io.BytesIO:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in [*members, ("manifest.json", json.dumps(manifest).encode())]:
            made.writestr(name, content)
    out.seek(0)
    return out


def _parts() -> tuple[list[tuple[str, bytes]], dict[str, Any]]:
    return list(members_of(kept().file).items()), manifest_of(kept().file)


def test_a_member_that_is_missing(folder: Path) -> None:
    members, manifest = _parts()
    photo = next(name for name, _ in members if name.startswith("files/stepnote"))
    members = [one for one in members if one[0] != photo]
    _refused(_zipped(members, manifest), f"{photo}: is missing.", folder)


def test_rows_that_are_not_as_they_were_written(folder: Path) -> None:
    members, manifest = _parts()
    members = [(name, text.replace(b'"amount": "500', b'"amount": "900')) for name, text in members]
    _refused(_zipped(members, manifest), "is not what was written: its SHA-256 differs.", folder)


def test_a_member_that_nobody_listed(folder: Path) -> None:
    members, manifest = _parts()
    _refused(
        _zipped([*members, ("files/more", b"x")], manifest), "files/more: is not in the manifest.", folder
    )


@pytest.mark.parametrize(
    "name", ["../outside", "/etc/passwd", "a/../../b", "C:\\x", "rows/./a", "a//b", "a b"]
)
def test_a_member_with_a_path_in_its_name(name: str, folder: Path) -> None:
    members, manifest = _parts()
    manifest["members"][name] = {"size": 1, "sha256": ""}
    _refused(_zipped([*members, (name, b"x")], manifest), "no member may have such a name.", folder)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_member_that_is_there_twice(folder: Path) -> None:
    members, manifest = _parts()
    _refused(
        _zipped([*members, ("rows/wood.jsonl", b"")], manifest), "rows/wood.jsonl: is there twice.", folder
    )


def test_a_bomb_is_not_unpacked_beyond_what_its_manifest_says(folder: Path) -> None:
    members, manifest = _parts()
    members = [(name, bytes(50_000_000) if name == "rows/wood.jsonl" else text) for name, text in members]
    _refused(_zipped(members, manifest), "rows/wood.jsonl: has 50000000 bytes, the manifest says", folder)


def test_a_bomb_whose_head_lies_about_its_size_is_found_while_it_is_unpacked(folder: Path) -> None:
    members, manifest = _parts()
    stated = manifest["members"]["rows/wood.jsonl"]["size"]
    members = [(name, bytes(5_000_000) if name == "rows/wood.jsonl" else text) for name, text in members]
    content = _zipped(members, manifest).getvalue()
    lying = content.replace((5_000_000).to_bytes(4, "little"), stated.to_bytes(4, "little"))
    assert lying != content
    # What unpacks to more than its head says is cut off there by the reader, and its sum does not fit then.
    with pytest.raises(UnreadableArchive, match=r"rows/wood\.jsonl|CRC"):
        reading.open_archive(io.BytesIO(lying))


def test_a_photo_too_large_to_be_one(monkeypatch: Any, folder: Path) -> None:
    monkeypatch.setattr(reading, "MOST_CONTENT", 10)
    _refused(kept().file, "is larger than", folder)


def test_a_row_too_long_to_be_one(monkeypatch: Any, folder: Path) -> None:
    monkeypatch.setattr(reading, "MOST_LINE", 100)
    _refused(kept().file, "is too long.", folder)


def test_a_password_s_hash_that_is_none(folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        manifest["passwords"] = True
        manifest["rows"]["person"]["fields"].append("password")
        _set("person", 1, password="plain text")(members, manifest)
        _rows("person", lambda rows: [row.setdefault("password", "!x") for row in rows])(members, manifest)

    _refused(changed_archive(kept().file, change), "rows/person.jsonl, line 1, password: ", folder)


def test_photos_are_taken_away_again_where_the_last_row_is_refused(folder: Path) -> None:
    last = list(manifest_of(kept().file)["rows"])[-1]
    change = _rows(last, lambda rows: rows.append({**rows[-1], "id": rows[-1]["id"]}))
    file = changed_archive(kept().file, change)
    _refused(file, f"rows/{last}.jsonl, line ", folder)
    assert not folder.exists() or not [path for path in folder.rglob("*") if path.is_file()]


def test_an_older_archive_has_the_usual_value_in_a_field_that_came_later(folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        for name, field in (("wood", "oily"), ("commission", "updated_at"), ("client", "legal_name")):
            manifest["rows"][name]["fields"].remove(field)
            _rows(name, lambda rows, field=field: [row.pop(field) for row in rows])(members, manifest)
        del manifest["rows"]["carriagerate"], members["rows/carriagerate.jsonl"]
        del manifest["members"]["rows/carriagerate.jsonl"]

    studio_restore(file=changed_archive(kept().file, change))
    assert set(models.Wood.objects.values_list("oily", flat=True)) == {False}
    assert not models.CarriageRate.objects.exists()


def test_a_field_without_a_usual_value_has_to_be_there(folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        manifest["rows"]["wood"]["fields"].remove("density")
        _rows("wood", lambda rows: [row.pop("density") for row in rows])(members, manifest)

    _refused(changed_archive(kept().file, change), "rows/wood.jsonl: the field density is missing.", folder)


def test_the_database_s_own_limits_are_said_in_words(folder: Path) -> None:
    """A NUL is text to SQLite and none to PostgreSQL."""
    file = changed_archive(kept().file, _set("client", 1, note="a\0b"))
    if connection.vendor == "postgresql":
        _refused(file, "rows/client.jsonl, line 1: The database cannot hold this row", folder)
    else:
        studio_restore(file=file)
        assert "a\0b" in models.Client.objects.values_list("note", flat=True)
