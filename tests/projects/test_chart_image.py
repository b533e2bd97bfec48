"""Pictures read into charts: colours as the standard has them, cells of the nearest wood, and what is refused."""

from io import BytesIO
from typing import Any

import numpy as np
import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageFile
from weasyprint import HTML

from projects.models import Studio, Wood
from projects.pages.chart_image import LARGEST_FILE, MOST_PIXELS, Refused, chart_of, lab
from projects.services.studios import studio_create

COLOURS = {"maple": "#e8d3ac", "walnut": "#5a3d2b", "cherry": "#a5633c"}
LETTERS = {"maple": "m", "walnut": "w", "cherry": "c"}


def file_of(pixels: Any, *, kind: str = "PNG", mode: str = "RGB", **options: Any) -> bytes:
    out = BytesIO()
    Image.fromarray(np.asarray(pixels, dtype=np.uint8), mode).save(out, kind, **options)
    return out.getvalue()


def hex_rgb(colour: str) -> list[int]:
    return [int(colour[at : at + 2], 16) for at in (1, 3, 5)]


# W3C, CSS Color Module Level 4: the example of rgb(46.27% 32.94% 80.39%), which is #7654CD, as
# lab(44.36% 36.05 -58.99); white and black by the definition of L*. Yellow as printed by general-purpose libraries
# that follow that module: 97.607, -15.750, 93.394.
@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        ((0x76, 0x54, 0xCD), (44.36, 36.05, -58.99)),
        ((255, 255, 0), (97.607, -15.750, 93.394)),
        ((255, 255, 255), (100, 0, 0)),
        ((0, 0, 0), (0, 0, 0)),
    ],
)
def test_colours_come_to_the_published_lab_values(rgb: Any, expected: Any) -> None:
    assert lab(rgb) == pytest.approx(expected, abs=0.02)


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_lab_agrees_with_a_colour_management_library(rgb: tuple[int, int, int]) -> None:
    # Little CMS through Pillow: 8 bits a channel, so L* is in steps of 100/255 and a*, b* in steps of 1.
    turn = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    seen = ImageCms.applyTransform(Image.new("RGB", (1, 1), rgb), turn)
    assert seen is not None
    lightness, a, b = np.frombuffer(seen.tobytes(), dtype=np.uint8)
    expected = (int(lightness) / 2.55, int(np.int8(a)), int(np.int8(b)))
    assert lab(rgb) == pytest.approx(expected, abs=1.6)


def test_grey_has_no_hue() -> None:
    greys = lab([[level] * 3 for level in range(256)])
    assert np.abs(greys[:, 1:]).max() < 0.01
    assert (np.diff(greys[:, 0]) > 0).all()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_of_woods_gives_those_woods_its_top_the_top_layer(kind: str) -> None:
    keys = [["maple", "walnut", "cherry"], ["walnut", "walnut", "maple"]]
    pixels = np.kron(np.array([[hex_rgb(COLOURS[key]) for key in row] for row in keys]), np.ones((16, 16, 1)))
    chart = chart_of(file_of(pixels, kind=kind), layers=2, segments=3, colours=COLOURS, letters=LETTERS)
    assert chart["rows"] == ["wwm", "mwc"]
    assert chart["legend"] == {letter: key for key, letter in LETTERS.items()}


def test_a_cell_is_the_mean_light_of_its_part_however_the_picture_divides() -> None:
    # Three pixels over two cells: black, white, white. The first cell is two thirds black, a third white.
    black_and_white = {"ebony": "#000000", "holly": "#ffffff", "half": "#9c9c9c"}
    letters = {"ebony": "e", "holly": "h", "half": "x"}
    data = file_of([[[0] * 3, [255] * 3, [255] * 3]])
    chart = chart_of(data, layers=1, segments=2, colours=black_and_white, letters=letters)
    # A third of the light is sRGB 0.6088, 155 of 255 (0x9b); IEC 61966-2-1.
    assert chart["rows"] == ["xh"]


def test_clear_parts_are_taken_as_paper_and_pictures_stand_upright() -> None:
    colours, letters = {"ebony": "#000000", "holly": "#ffffff"}, {"ebony": "e", "holly": "h"}
    clear = file_of([[[0, 0, 0, 0], [0, 0, 0, 255]]], mode="RGBA")
    assert chart_of(clear, layers=1, segments=2, colours=colours, letters=letters)["rows"] == ["he"]
    turned = Image.Exif()
    turned[0x0112] = 3  # EXIF 2.3: the first row is the bottom, the first column the right
    half = np.kron(np.array([[[0] * 3, [255] * 3]]), np.ones((16, 16, 1)))
    data = file_of(half, kind="JPEG", exif=turned)
    assert chart_of(data, layers=1, segments=2, colours=colours, letters=letters)["rows"] == ["he"]


def bomb() -> bytes:
    """A PNG whose head says 60000 by 60000 pixels and that holds next to nothing."""
    data = bytearray(file_of([[[0] * 3]]))
    data[16:24] = (60_000).to_bytes(4, "big") * 2
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"not a picture", "no PNG or JPEG"),
        (b"", "no PNG or JPEG"),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "no PNG or JPEG"),
        (file_of(np.zeros((9, 9, 3)))[:-30], "broken"),
        (bomb(), "larger than a chart can use"),
        (file_of(np.zeros((MOST_PIXELS // 2000 + 1, 2000, 3))), "more than a chart can use"),
        (b"\x89PNG" + b"0" * LARGEST_FILE, "larger than 2 MB"),
    ],
    ids=["text", "empty", "another format", "cut off", "bomb", "too many pixels", "too long a file"],
)
def test_what_is_no_small_picture_is_refused_with_a_reason(data: bytes, reason: str) -> None:
    with pytest.raises(Refused, match=reason):
        chart_of(data, layers=2, segments=3, colours=COLOURS, letters=LETTERS)


@pytest.fixture
def studio(db: None) -> Studio:
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def lena(client: Client, studio: Studio) -> Client:
    client.force_login(User.objects.get(username="lena"))
    return client


def sent(client: Client, data: bytes = b"", **fields: Any) -> Any:
    values = {"layers": "2", "segments": "4", "wood": ["m=maple", "w=walnut"], **fields}
    values["picture"] = SimpleUploadedFile("rose.png", data or file_of([[[255] * 3, [40] * 3]]))
    return client.post("/designs/chart-image/", values)


def test_the_page_gets_a_chart_of_the_studios_own_colours(lena: Client, studio: Studio) -> None:
    answer = sent(lena)
    assert answer.status_code == 200
    assert answer.json() == {"legend": {"m": "maple", "w": "walnut"}, "rows": ["mmww"] * 2}
    Wood.objects.for_studio(studio).filter(key="maple").update(colour="#000000")
    Wood.objects.for_studio(studio).filter(key="walnut").update(colour="#ffffff")
    assert sent(lena).json()["rows"] == ["wwmm"] * 2


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"layers": ""}, "number of layers"),
        ({"segments": "many"}, "number of segments"),
        ({"layers": "5000", "segments": "360"}, "too many"),
        ({"wood": ["m=maple"]}, "two woods"),
        ({"wood": ["m=maple", "x=unheard_of"]}, "two woods"),
    ],
)
def test_the_page_is_told_what_is_wrong(lena: Client, fields: Any, reason: str) -> None:
    answer = sent(lena, **fields)
    assert answer.status_code == 422
    assert reason in answer.json()["reason"]
    assert sent(lena, b"plain words").json()["reason"] == "This is no PNG or JPEG picture."


def test_nobody_reads_pictures_without_logging_in(client: Client, studio: Studio) -> None:
    assert sent(client).status_code == 302


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_cut_short_is_refused_after_a_paper_was_printed_too(kind: str) -> None:
    """The printer sets for the whole process that such pass."""
    HTML(string="a paper").write_pdf()
    assert ImageFile.LOAD_TRUNCATED_IMAGES, "what this is about"
    whole = file_of(np.random.default_rng(1).integers(0, 255, (120, 160, 3)), kind=kind)
    with pytest.raises(Refused, match="broken"):
        chart_of(whole[: len(whole) // 2], layers=2, segments=3, colours=COLOURS, letters=LETTERS)
    assert ImageFile.LOAD_TRUNCATED_IMAGES, "the printer is left as it was"
