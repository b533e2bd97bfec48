"""`manage.py write_quote`: the frozen papers on disk, whole or not at all."""

from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from projects.demo import STUDIO
from projects.management.commands import write_quote
from projects.models import Quote, Studio
from tests.factories import CommissionFactory, StudioFactory
from tests.projects.frozen import ISSUED_AT

pytestmark = pytest.mark.django_db


def issued(studio: Studio, number: str, revision: str = "A", *, paper: str = "paper") -> Quote:
    quote = Quote(
        studio=studio,
        commission=CommissionFactory(studio=studio),
        state="issued",
        number=number,
        revision=revision,
        issued_at=ISSUED_AT,
        valid_until=ISSUED_AT.date(),
        client_pdf=f"client {paper}".encode(),
        trade_pdf=f"trade {paper}".encode(),
    )
    quote.save()
    return quote


@pytest.fixture
def demo(db: None) -> Studio:
    return StudioFactory(name=STUDIO)


def test_the_demos_quote_is_written_with_its_trade_copy_beside_it(
    demo: Studio, tmp_path: Path, capsys: Any
) -> None:
    issued(demo, "2027-001")
    issued(StudioFactory(), "2027-002", paper="of another")
    call_command("write_quote", str(tmp_path / "demo.pdf"))
    assert (tmp_path / "demo.pdf").read_bytes() == b"client paper"
    assert (tmp_path / "demo-trade.pdf").read_bytes() == b"trade paper"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["demo-trade.pdf", "demo.pdf"]
    assert "Quote 2027-001 is in" in capsys.readouterr().out


def test_a_quote_is_found_by_number_its_latest_revision_unless_one_is_named(
    studio: Studio, tmp_path: Path
) -> None:
    issued(studio, "2027-003", "A", paper="A")
    issued(studio, "2027-003", "B", paper="B")
    file = tmp_path / "quote.pdf"
    for number, content in (
        ("2027-003", b"client B"),
        ("2027-003 A", b"client A"),
        ("2027-003 B", b"client B"),
    ):
        call_command("write_quote", str(file), "--quote", number)
        assert file.read_bytes() == content


def test_a_number_that_two_studios_have_asks_for_the_studio(
    studio: Studio, other_studio: Studio, tmp_path: Path
) -> None:
    issued(studio, "2027-001", paper="ours")
    issued(other_studio, "2027-001", paper="theirs")
    file = tmp_path / "quote.pdf"
    with pytest.raises(CommandError, match=r"Fern Gully Turning, Salt Marsh Bowls\. Say which with --studio"):
        call_command("write_quote", str(file), "--quote", "2027-001")
    assert not file.exists()
    call_command("write_quote", str(file), "--quote", "2027-001", "--studio", "Salt Marsh Bowls")
    assert file.read_bytes() == b"client theirs"


@pytest.mark.parametrize(
    "arguments", [[], ["--quote", "2027-999"], ["--quote", "2027-001 Q"], ["--studio", "nobody"]]
)
def test_a_quote_that_is_not_there_is_said_so(demo: Studio, tmp_path: Path, arguments: list[str]) -> None:
    issued(StudioFactory(), "2027-001")
    with pytest.raises(CommandError, match="has been issued"):
        call_command("write_quote", str(tmp_path / "quote.pdf"), *arguments)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_said_so_without_a_traceback(demo: Studio, tmp_path: Path) -> None:
    issued(demo, "2027-001")
    with pytest.raises(CommandError, match="No such file or directory"):
        call_command("write_quote", str(tmp_path / "nowhere" / "quote.pdf"))


def test_a_write_that_fails_leaves_the_file_that_was_there(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "quote.pdf"
    file.write_bytes(b"before")

    def full(*args: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write_quote.os, "replace", full)
    with pytest.raises(OSError, match="No space left"):
        write_quote.write_whole(file, b"after")
    assert file.read_bytes() == b"before"
    assert list(tmp_path.iterdir()) == [file]


def test_a_written_file_can_be_read_as_any_new_file_can(tmp_path: Path) -> None:
    write_quote.write_whole(tmp_path / "one", b"x")
    (tmp_path / "two").write_bytes(b"x")
    assert (tmp_path / "one").stat().st_mode == (tmp_path / "two").stat().st_mode
