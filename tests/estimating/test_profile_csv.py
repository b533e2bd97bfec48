"""Profiles from tables: columns, units, decimal commas, and every bad row named."""

import numpy as np
import pytest

from estimating.errors import InvalidInput
from estimating.profile.reading import Profile, read_profile
from tests.estimating.profiles import TOLERANCE, apart, plain

CONE = [(0, 30, False), (80, 60, False)]


def read(text: str | bytes, name: str = "bowl.csv", **options: str) -> Profile:
    return read_profile(text if isinstance(text, bytes) else text.encode(), name, **options)


@pytest.mark.parametrize(
    "text",
    [
        "0,30\n80,60\n",
        "0;30\n80;60",
        "0\t30\r\n80\t60\r\n",
        "\ufeffheight,radius\n0,30\n80,60\n",
        "Radius;Height\n30,0;0,0\n60,0;80,0\n",
        "height_mm,diameter_mm\n0,60\n80,120\n",
        "Height (cm),Radius [cm]\n0,3\n8,6\n",
        "height (in)\tdiameter in\n0\t2.3622047244094486\n3.149606299212598\t4.724409448818897\n",
        "\n height , radius \n\n 0 , 30 \n\n 80 , 60 \n\n",
        '"height","radius"\n"0","30"\n"80","60"\n',
        "0 mm, 3 cm\n8 cm, 60 mm\n",
        "80,60\n0,30\n",
        "+0.0,3e1\n8.0E+1,6e1\n",
    ],
)
def test_a_table_is_read_however_it_is_written(text: str) -> None:
    assert plain(read(text).outer) == CONE
    assert read(text).inner == ()


def test_lengths_without_a_unit_are_in_the_one_asked_for() -> None:
    assert plain(read("0,1\n3 1/2,2\n", unit="in").outer) == [(0, 25.4, False), (88.9, 50.8, False)]


def test_heights_stay_as_they_stand() -> None:
    assert plain(read("12.5,30\n80,60\n").outer)[0] == (12.5, 30, False)


def test_corners_and_sides_have_their_columns() -> None:
    text = (
        "height,radius,corner,side\n0,30,,outside\n10,45,yes,\n80,60,1,outer\n8,20,no,inside\n80,54,,inner\n"
    )
    profile = read(text)
    assert plain(profile.outer) == [(0, 30, False), (10, 45, True), (80, 60, False)]
    assert plain(profile.inner) == [(8, 20, False), (80, 54, False)]
    assert profile.notes == ()
    assert "no column for corners" in read("0,30\n80,60\n").notes[0]


def test_too_many_rows_are_thinned_within_the_tolerance() -> None:
    heights = np.linspace(0, 150, 3001)
    radii = 60 + 20 * np.sin(heights / 15)
    profile = read("\n".join(f"{h:.6f},{r:.6f}" for h, r in zip(heights, radii, strict=True)))
    assert len(profile.outer) <= 200
    assert apart(profile.outer, list(zip(radii, heights, strict=True))) <= TOLERANCE
    assert any("thinned" in note for note in profile.notes)


@pytest.mark.parametrize(
    ("text", "place", "says"),
    [
        ("height,radius\n0,30\nabc,45\n80,60\n", "file: row 3", 'has a height that is not a length: "abc"'),
        ("0,30\n\n\n40,x\n50,\n60,1\n70,y\n", "file: row 4", r"has a radius that .*; wrong \(as are rows 5, 7\)"),
        ("0,30\n80\n", "file: row 2", "has no radius"),
        (f"0,30\n{'9' * 100_000}x,40\n", "file: row 2", "has a height that is not a length"),
        ("0,30\n80,60,yes,outside,5\n", "file: row 2", "has 5 columns, not 2"),
        ("0,30\n40,-5\n80,60\n", "file: row 2", "has a radius of -5 mm; it must be from 0 to 10,000 mm"),
        ("0,30\n40,nan\n80,60\n", "file: row 2", "has a radius that is not a length"),
        ("0,30\n40,1e999\n80,60\n", "file: row 2", "has a radius of inf mm"),
        ("0,30\n20000,40\n", "file: row 2", "has a height of 20000 mm; it must be"),
        ("0,30\n50,40\n40,50\n80,60\n", "file: row 3", "turns back in height: 40 mm does not stand above 50 mm in"),
        ("0,30\n50,40\n50,50\n80,60\n", "file: row 3", "turns back in height"),
        ("0,30\n50,0\n80,60\n", "file: row 2", "touches the axis between"),
        ("height,width\n0,30\n80,60\n", "file: row 1", 'a heading that is not known: "width"'),
        ("height,radius,diameter\n0,30,60\n80,60,120\n", "file: row 1", "one column height and one radius or diameter"),
        ("height,height\n0,30\n80,60\n", "file: row 1", "no column twice"),
        ("height,radius (furlong)\n0,30\n", "file: row 1", "a heading that is not known"),
        ("height,radius,corner\n0,30,\n40,40,maybe\n80,60,\n", "file: row 3", 'says "maybe" of its corner'),
        ("height,radius,side\n0,30,\n40,40,left\n80,60,\n", "file: row 3", 'says "left" of its side'),
        ("0,30\n", "file", "has fewer than two points"),
        ("height,radius,side\n0,30,\n80,40,\n80,30,inside\n", "file", "has fewer than two points for a side"),
        ("0,30\n0.05,40\n", "file", "0.05 mm high, less than 0.1 mm"),
        ("0,0\n80,0.01\n", "file", "less than 0.1 mm"),
        ('0,30\n"80,60\n', "file: row 2", "cannot be read"),
        ("1,5,2,5\n3,5,4,5\n", "file: row 1", "of its corner"),
    ],
)  # fmt: skip
def test_what_cannot_be_turned_is_refused_at_its_row(text: str, place: str, says: str) -> None:
    with pytest.raises(InvalidInput, match=says) as refusal:
        read(text)
    assert refusal.value.place == place


@pytest.mark.parametrize(
    ("data", "name", "says"),
    [
        (b"0,30\n8\0,60\n", "bowl.csv", 'is called "bowl.csv" but is not a table of numbers'),
        (b"0,30\n80,60 \xff\xfe\n", "bowl.csv", "is not a table of numbers|is not text in UTF-8"),
        ("0,30\n80,60\n".encode("utf-16"), "bowl.csv", "is not a table of numbers"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "bowl.csv", "is not a table of numbers"),
        (b"hello there\n", "bowl.csv", "is not a table of numbers"),
        (b"hello there\n", "bowl.doc", "is not a profile; give an SVG, DXF"),
        (b"<svg/>", "bowl.csv", "is not a table of numbers"),
        (b"", "bowl.csv", "is empty"),
        (b"\xef\xbb\xbf", "bowl.csv", "is empty|is not a table"),
        (b"0,30\n" * 1_000_001, "bowl.csv", "is larger than 5 MB"),
        (b"".join(b"%d,5\n" % n for n in range(20_002)), "bowl.csv", "has more than 20000 rows"),
    ],
)
def test_what_is_no_table_is_refused(data: bytes, name: str, says: str) -> None:
    with pytest.raises(InvalidInput, match=says):
        read(data, name)


def test_bytes_that_are_no_text_far_into_the_file_are_found() -> None:
    rows = "".join(f"{n},{30 + n % 3}\n" for n in range(400)).encode()
    with pytest.raises(InvalidInput, match=r"is not text in UTF-8 \(byte \d+\)"):
        read(rows + b"401,\xff\n")
