"""Photos drawn anew: colours as they look, whatever the file keeps them in, and nothing of the file beside them."""

import io
import struct
import zlib
from typing import Any

import pytest
from django.core.files.base import ContentFile, File
from PIL import Image, ImageFile
from pillow_heif import register_heif_opener

from projects import redrawing
from projects.redrawing import WITH_HEIF, NoPhoto, Size, TooManyPixels, drawn_anew

register_heif_opener(thumbnails=False)
SMALL = [Size(600, 95)]
WALNUT, CHERRY = (91, 63, 43), (165, 99, 60)
# Linear light of Display P3 to XYZ, and XYZ to linear light of sRGB, both at D65.
# Source: W3C, CSS Color Module Level 4, sample code for color conversions.
P3_TO_XYZ = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)
XYZ_TO_SRGB = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)


def saved(picture: Image.Image, kind: str, **more: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def halves(mode: str, left: Any, right: Any, size: tuple[int, int] = (80, 40)) -> Image.Image:
    picture = Image.new(mode, size, left)
    picture.paste(right, (size[0] // 2, 0, *size))
    return picture


def redrawn(content: bytes, *, kinds: Any = WITH_HEIF) -> Image.Image:
    (drawn,) = drawn_anew(ContentFile(content, name="x"), kinds=kinds, sizes=SMALL)
    return Image.open(io.BytesIO(drawn.content))


def colours(picture: Image.Image) -> tuple[Any, Any]:
    across, down = picture.size
    return picture.getpixel((across // 4, down // 2)), picture.getpixel((across * 3 // 4, down // 2))


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def display_p3() -> bytes:
    """Display P3 as a profile of a matrix and a curve, written by hand (ICC.1:2010, 7.2 and 9.2; D50 by Bradford)."""
    # Its colorants adapted to D50, as CSS Color 4's D65_to_D50 makes them of P3_TO_XYZ.
    to_d50 = (
        (1.0479297925449969, 0.022946870601609652, -0.05019226628920524),
        (0.02962780877005599, 0.9904344267538799, -0.017073799063418826),
        (-0.009243040646204504, 0.015055191490298152, 0.7518742814281371),
    )
    columns = [tuple(sum(row[k] * P3_TO_XYZ[k][of] for k in range(3)) for row in to_d50) for of in range(3)]
    # sRGB's curve, which is Display P3's too: IEC 61966-2-1, as `para` of type 3.
    curve = b"para\0\0\0\0\0\3\0\0" + b"".join(
        map(_fixed, (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
    )
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", 3) + b"P3\0" + b"\0" * 79,
        b"cprt": b"text\0\0\0\0none\0\0\0\0",
        b"wtpt": b"XYZ \0\0\0\0" + b"".join(map(_fixed, (0.9642, 1.0, 0.8249))),
        **{
            name: b"XYZ \0\0\0\0" + b"".join(map(_fixed, column))
            for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)
        },
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    table, body, at = b"", b"", 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        padded = content + b"\0" * (-len(content) % 4)
        table += name + struct.pack(">II", at + len(body), len(content))
        body += padded
    head = struct.pack(">I4sI4s4s4s", at + len(body), b"\0\0\0\0", 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head += b"\0" * 12 + b"acsp" + b"\0" * 28 + b"".join(map(_fixed, (0.9642, 1.0, 0.8249)))
    return head + b"\0" * (128 - len(head)) + struct.pack(">I", len(tags)) + table + body


def p3_as_srgb(colour: tuple[int, int, int]) -> list[float]:
    """Channels of Display P3 as those of sRGB, by the published matrices."""

    def light(share: float) -> float:
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    def share(lit: float) -> float:
        return 12.92 * lit if lit <= 0.0031308 else 1.055 * lit ** (1 / 2.4) - 0.055

    lit = [light(channel / 255) for channel in colour]
    xyz = [sum(a * b for a, b in zip(row, lit, strict=True)) for row in P3_TO_XYZ]
    return [255 * share(sum(a * b for a, b in zip(row, xyz, strict=True))) for row in XYZ_TO_SRGB]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_phones_wide_colours_look_as_they_did(kind: str) -> None:
    """Telephones keep photos in Display P3; read as sRGB the woods would come out dull."""
    picture = halves("RGB", CHERRY, WALNUT)
    more = {"quality": 95} if kind in ("JPEG", "WEBP", "HEIF") else {}
    shown = redrawn(saved(picture, kind, icc_profile=display_p3(), **more))
    for seen, colour in zip(colours(shown), (CHERRY, WALNUT), strict=True):
        assert seen == pytest.approx(p3_as_srgb(colour), abs=4)
    assert max(abs(a - b) for a, b in zip(p3_as_srgb(CHERRY), CHERRY, strict=True)) > 8, (
        "there is something to tell"
    )
    assert "icc_profile" not in shown.info


@pytest.mark.parametrize("profile", [b"x" * 500, display_p3()[:200], display_p3().replace(b"RGB ", b"CMYK")])
def test_a_profile_that_is_broken_or_of_other_colours_spoils_no_photo(profile: bytes) -> None:
    shown = redrawn(saved(halves("RGB", CHERRY, WALNUT), "PNG", icc_profile=profile))
    assert colours(shown) == (pytest.approx(CHERRY, abs=4), pytest.approx(WALNUT, abs=4))


def test_a_profile_too_large_to_be_one_is_not_read(monkeypatch: Any) -> None:
    monkeypatch.setattr(redrawing, "MOST_PROFILE", 100)
    shown = redrawn(saved(halves("RGB", CHERRY, WALNUT), "PNG", icc_profile=display_p3()))
    assert colours(shown)[0] == pytest.approx(CHERRY, abs=4)


@pytest.mark.parametrize("clear", ["grey", "colour"])
def test_a_wide_colour_that_shines_through_stands_on_white(clear: str) -> None:
    mode, left = ("LA", (40, 0)) if clear == "grey" else ("RGBA", (165, 99, 60, 0))
    right = (200, 255) if clear == "grey" else (*WALNUT, 255)
    shown = redrawn(saved(halves(mode, left, right), "PNG"))
    assert colours(shown)[0] == pytest.approx((255, 255, 255), abs=2)
    assert colours(shown)[1] == pytest.approx((200,) * 3 if clear == "grey" else WALNUT, abs=4)


def test_grey_of_16_bits_is_not_blown_out() -> None:
    """A level of 16 bits is 257 times that of 8 (ISO/IEC 15948, 12.5: sample depth scaling)."""
    shown = redrawn(saved(halves("I;16", 60 * 257, 190 * 257), "PNG"))
    assert colours(shown) == (pytest.approx((60,) * 3, abs=3), pytest.approx((190,) * 3, abs=3))


def test_inks_are_shown_as_they_print() -> None:
    """No cyan, and all of magenta and yellow: red; and the other way about."""
    shown = redrawn(saved(halves("CMYK", (0, 255, 255, 0), (255, 255, 0, 0)), "JPEG", quality=95))
    assert colours(shown) == (pytest.approx((255, 0, 0), abs=6), pytest.approx((0, 0, 255), abs=6))


@pytest.mark.parametrize("kind", ["WEBP", "PNG", "MPO", "HEIF"])
def test_of_several_pictures_in_a_file_the_first_is_shown(kind: str) -> None:
    others = [halves("RGB", "lime", "lime")] * 4
    shown = redrawn(saved(halves("RGB", CHERRY, WALNUT), kind, save_all=True, append_images=others))
    assert colours(shown) == (pytest.approx(CHERRY, abs=8), pytest.approx(WALNUT, abs=8))


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


PLACE = b"51.4778N 0.0014W Somewhere 7"


def _jpeg_with_places() -> bytes:
    """A place in EXIF with a small picture of its own, in XMP, in IPTC's block, in a maker's note and in a comment."""
    exif = Image.Exif()
    exif[0x010F], exif[0x9286] = "Telephone", PLACE.decode()
    exif.get_ifd(0x8769)[0x927C] = PLACE
    exif.get_ifd(0x8825)[0x1D] = PLACE.decode()
    whole = saved(halves("RGB", CHERRY, WALNUT), "JPEG", exif=exif, comment=PLACE)
    inner = saved(Image.new("RGB", (16, 16)), "JPEG", comment=PLACE)
    parts = [
        (0xE1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta>" + PLACE + b"</x:xmpmeta>"),
        (0xED, b"Photoshop 3.0\x008BIM\x04\x04\0\0" + struct.pack(">I", len(PLACE)) + PLACE),
        (0xE2, b"MPF\0" + inner),
        (0xEF, PLACE),
    ]
    added = b"".join(bytes([0xFF, kind]) + struct.pack(">H", len(part) + 2) + part for kind, part in parts)
    return whole[:2] + added + whole[2:]


def _png_with_places() -> bytes:
    whole = saved(halves("RGB", CHERRY, WALNUT), "PNG")
    exif = b"MM\0*\0\0\0\x08\0\1\x01\x0e\0\2" + struct.pack(">II", len(PLACE), 26) + b"\0\0\0\0" + PLACE
    added = _chunk(b"eXIf", exif) + _chunk(b"tEXt", b"Comment\0" + PLACE)
    added += _chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + PLACE) + _chunk(b"prVt", PLACE)
    return whole[:33] + added + whole[33:]


@pytest.mark.parametrize("content", [_jpeg_with_places(), _png_with_places()], ids=["JPEG", "PNG"])
def test_wherever_a_place_is_hidden_it_does_not_come_through(content: bytes) -> None:
    """Of JPEG's segments only those that a picture needs are there (ITU-T T.81, table B.1, and JFIF's APP0)."""
    assert PLACE in content
    (drawn,) = drawn_anew(ContentFile(content, name="x"), kinds=WITH_HEIF, sizes=SMALL)
    assert PLACE not in drawn.content
    segments, at = [], 2
    while (kind := drawn.content[at + 1]) != 0xDA:
        segments.append(kind)
        at += 2 + struct.unpack(">H", drawn.content[at + 2 : at + 4])[0]
    assert set(segments) == {0xE0, 0xDB, 0xC0, 0xC4}
    assert drawn.content.index(b"\xff\xd9") == len(drawn.content) - 2, "nothing hangs on behind"


def _stretched(kind: str, *, side: int) -> bytes:
    """A whole small file whose head says that it is `side` pixels a side."""
    content = saved(halves("RGB", CHERRY, WALNUT, size=(400, 300)), kind)
    if kind == "PNG":
        head = b"IHDR" + struct.pack(">II", side, side) + content[24:29]
        return content[:12] + head + struct.pack(">I", zlib.crc32(head)) + content[33:]
    at = content.index(b"ispe") + 8
    return content[:at] + struct.pack(">II", side, side) + content[at + 8 :]


@pytest.mark.parametrize(
    ("kind", "side"), [("PNG", 6_400), ("PNG", 60_000), ("HEIF", 8_100), ("HEIF", 60_000)]
)
def test_what_would_be_unpacked_whole_is_smaller_than_a_jpeg_may_be(kind: str, side: int) -> None:
    with pytest.raises(TooManyPixels):
        redrawn(_stretched(kind, side=side))


def test_a_webp_of_endless_pixels_is_refused_by_its_head() -> None:
    """The sizes of VP8X are 24 bits each, less one (WebP container specification)."""
    content = saved(
        halves("RGB", CHERRY, WALNUT), "WEBP", save_all=True, append_images=[Image.new("RGB", (80, 40))]
    )
    at = content.index(b"VP8X") + 12
    side = (5_100 - 1).to_bytes(3, "little")
    with pytest.raises(TooManyPixels) as refusal:
        redrawn(content[:at] + side + side + content[at + 6 :])
    assert refusal.value.most == 25_000_000


def test_large_photos_as_cameras_take_them_are_drawn() -> None:
    """50 million pixels as JPEG, the most of common cameras (common practice, no source)."""
    (drawn,) = drawn_anew(
        ContentFile(saved(Image.new("RGB", (8192, 6144)), "JPEG"), name="x"), kinds=WITH_HEIF, sizes=SMALL
    )
    assert (drawn.width, drawn.height) == (600, 450)


@pytest.mark.parametrize("name", [b"zTXt", b"iCCP"])
def test_a_bomb_among_the_words_of_a_png_is_not_unpacked(name: bytes) -> None:
    whole = saved(halves("RGB", CHERRY, WALNUT), "PNG")
    bomb = _chunk(name, b"k\0\0" + zlib.compress(b"a" * 100_000_000))
    assert len(bomb) < 200_000
    with pytest.raises(NoPhoto):
        redrawn(whole[:33] + bomb + whole[33:])


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "ICO", "BMP", "PDF", "EPS", "TGA"])
def test_other_kinds_of_picture_are_refused_whatever_they_are_called(kind: str) -> None:
    with pytest.raises(NoPhoto):
        redrawn(saved(halves("RGB", CHERRY, WALNUT), kind))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_cut_anywhere_it_is_refused_even_after_papers_were_printed(kind: str, monkeypatch: Any) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as the printer sets it
    noise = Image.effect_noise((300, 200), 90).convert("RGB")
    whole = saved(noise, kind)
    for share in (0.02, 0.3, 0.7, 0.95):
        with pytest.raises(NoPhoto):
            redrawn(whole[: int(len(whole) * share)])
    assert ImageFile.LOAD_TRUNCATED_IMAGES, "the printer is left as it was"


def test_a_file_that_cannot_be_read_is_no_photo() -> None:
    class Gone(File):
        def seek(self, *args: Any) -> int:
            raise OSError("Input/output error")

    with pytest.raises(NoPhoto):
        drawn_anew(Gone(io.BytesIO(), name="x"), kinds=WITH_HEIF, sizes=SMALL)
