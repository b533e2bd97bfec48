"""`manage.py estimate`: the report and the contract, errors on standard error alone, the same bytes twice."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.estimating.sheets import answer, bowl, changed

ROOT = Path(__file__).resolve().parents[2]


def run(*arguments: str, text: bytes = b"") -> tuple[int, bytes, bytes]:
    """Exit status, standard output and standard error of the command in a process of its own."""
    command = [sys.executable, str(ROOT / "manage.py"), "estimate", *arguments]
    # Nothing of this test's own environment: a locale that cannot write every letter must do too.
    environment = {"PATH": os.environ["PATH"], "LC_ALL": "C"}
    done = subprocess.run(command, input=text, capture_output=True, cwd=ROOT, env=environment, check=False)
    return done.returncode, done.stdout, done.stderr


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "bowl.json"
    path.write_text(json.dumps(bowl()), encoding="utf-8")
    return path


def test_json_is_the_contract_and_agrees_with_the_functions(sheet: Path) -> None:
    status, out, errors = run(str(sheet), "--json")
    assert (status, errors) == (0, b"")
    assert json.loads(out) == json.loads(json.dumps(answer(bowl())))


def test_a_minus_reads_standard_input() -> None:
    status, out, errors = run("-", "--json", text=json.dumps(bowl()).encode())
    assert (status, errors) == (0, b"")
    assert json.loads(out)["title"] == "Small bowl"


def test_the_same_sheet_gives_the_same_bytes(sheet: Path) -> None:
    assert run(str(sheet), "--json") == run(str(sheet), "--json")
    assert run(str(sheet)) == run(str(sheet))


def test_the_report_can_be_read(sheet: Path) -> None:
    status, out, errors = run(str(sheet))
    assert (status, errors) == (0, b"")
    report = out.decode()
    found = answer(bowl())
    head = report.splitlines()
    assert head[0] == "Small bowl"
    assert head[1].startswith("48 segments, 4 layers, 4 rings; ")
    assert f"Retail {found['price']['retail']} USD, {found['price']['net']} of it to the studio" in head[2]
    for title in ("RINGS, mm", "WOOD, cm3", "BOARDS, mm", "ADHESIVE", "HOURS", "MONEY, USD", "CAUTIONS"):
        assert sum(line.startswith(title) for line in head) == 1
    assert "15.00" in report  # what the saw is set to
    assert found["cost"]["total"] in report
    assert "nan" not in report.lower().replace("finan", "")
    assert not any(line != line.rstrip() for line in head)


def test_the_report_says_what_to_buy_and_to_weigh_and_how_long_it_works() -> None:
    """The times at 11 degrees C, 10 below the label's: 42, 90, 240 and 1440 minutes, by hand."""
    sheet = changed(
        bowl(adhesive={"mass_ratio": [100, 44], "exotherm_ml": 10, "least_c": 5}),
        ["shop", "temperature_c"],
        11,
    )
    status, out, errors = run("-", text=json.dumps(sheet).encode())
    assert (status, errors) == (0, b"")
    found, report = answer(sheet)["adhesive"], out.decode()
    bought, mix = found["to_buy"], found["mixes"][0]
    assert f"{bought['part_a_ml']:g} ml of part A and {bought['part_b_ml']:g} ml of part B" in report
    assert "works for 42 minutes; set 90, press 240, cure 1440 minutes" in report
    assert f"{mix['part_a_g']:.1f}" in report
    assert "part A g" in report
    assert any(mix["heats"] for mix in found["mixes"]) == ("heats itself" in report)


def test_a_title_in_any_script_is_printed_whatever_the_locale(tmp_path: Path) -> None:
    path = tmp_path / "bowl.json"
    title = "Ørnulf <b>鉢</b> \U0001f333"
    path.write_text(json.dumps(bowl(title=title)), encoding="utf-8")
    status, out, errors = run(str(path), "--json")
    assert (status, errors) == (0, b"")
    assert json.loads(out.decode("utf-8"))["title"] == title
    status, out, errors = run(str(path))
    assert (status, errors) == (0, b"")
    assert out.decode("utf-8").startswith(title)


def refused(text: bytes) -> list[str]:
    status, out, errors = run("-", "--json", text=text)
    assert (status, out) == (2, b"")
    assert errors.endswith(b"\n")
    return errors.decode("utf-8").splitlines()


def test_every_error_is_one_line_on_standard_error_and_nothing_else_is_anywhere() -> None:
    sheet = changed(changed(bowl(title=""), ["bands", 1, "segments"], 10_000), ["shop", "film"], "thin")
    lines = refused(json.dumps(sheet).encode())
    assert [line.split(": ")[0] for line in lines] == ["title", "bands[1].segments", "shop.film"]


@pytest.mark.parametrize(
    ("text", "start"),
    [
        (b"", "sheet: is empty"),
        (b"[" * 10_000, "sheet: is nested too deeply"),
        (b"not json", "sheet: is not JSON"),
        (b"\xff\xfe", "sheet: is not text in UTF-8"),
        (b"[]", "sheet: must be an object"),
        (b"NaN", "sheet: must be an object"),
    ],
)
def test_what_is_no_sheet_is_refused_as_one(text: bytes, start: str) -> None:
    (line,) = refused(text)
    assert line.startswith(start)


@pytest.mark.parametrize("value", ["1e999", "-1e999", "NaN", "Infinity", "1" + "0" * 400])
def test_a_number_without_end_is_refused_at_its_place(value: str) -> None:
    text = json.dumps(changed(bowl(), ["bands", 1, "thickness"], "HERE")).replace('"HERE"', value)
    assert refused(text.encode()) == ["bands[1].thickness: must be a finite number"]


def test_half_a_character_in_a_key_or_a_value_can_still_be_told() -> None:
    lines = refused(json.dumps({**bowl(), "\ud83c": 1, "title": "a\udf33"}).encode())
    assert [line.split(": ")[0] for line in lines] == ["title", "\ufffd"]


def test_a_file_that_is_not_there_is_said_in_one_line(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        status, out, errors = run(str(path))
        assert (status, out) == (2, b"")
        (line,) = errors.decode().splitlines()
        assert line.startswith("sheet: cannot be read: ")


def test_a_sheet_larger_than_any_sheet_is_said_to_be_so() -> None:
    body: dict[str, Any] = {**bowl(), "notes": "x" * (11 * 1024 * 1024)}
    (line,) = refused(json.dumps(body).encode())
    assert line.startswith("sheet: cannot be read: it is larger than 10,485,760 bytes")
