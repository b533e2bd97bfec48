"""The README's example is estimated and its table of defaults is the code's."""

import json
import re
from pathlib import Path

import pytest

from estimating.estimate import estimate
from estimating.reference import settings
from estimating.sheet import read_sheet

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


SHEETS = [
    json.loads(written) for written in re.findall(r"<!-- sheet:.*?```json\n(.*?)```", README, re.DOTALL)
]


@pytest.mark.parametrize(("number", "layers", "parts"), [(0, 31, 1), (1, 6, 3)], ids=["bowl", "jar"])
def test_the_sheets_in_the_readme_are_pieces_that_can_be_made(number: int, layers: int, parts: int) -> None:
    found = estimate(read_sheet(SHEETS[number]))
    assert (found.layers, len(found.shapes)) == (layers, parts)
    assert found.price.retail > 0


def test_the_readme_prints_every_default_as_the_code_has_it() -> None:
    printed = re.findall(r"^\| `(\w+)\.(\w+)` \| `(.+?)` \| (.*?) ?\| (.+?) \|$", README, re.MULTILINE)
    assert [row[:3] for row in printed] == [(s.section, s.key, s.default) for s in settings()]
    assert [row[4] for row in printed] == [s.meaning for s in settings()]


@pytest.mark.parametrize("section", ["shop", "adhesive", "usual_board", "finish", "pricing"])
def test_a_sheet_that_spells_out_every_default_reads_the_same_as_one_that_is_silent(section: str) -> None:
    silent = {
        "title": "Disc",
        "unit": "mm",
        "form": {"outer": [[0, 50], [10, 50]]},
        "bands": [{"layers": 1, "thickness": 10, "segments": 6, "woods": ["maple"]}],
    }
    spelt_out = {s.key: json.loads(s.default) for s in settings() if s.section == section}
    assert read_sheet({**silent, section: spelt_out}) == read_sheet(silent)
