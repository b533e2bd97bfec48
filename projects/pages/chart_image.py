"""A small picture read into a chart: one cell a segment, each of the wood whose colour is nearest to the eye."""

import re
from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse, JsonResponse
from django.urls import path
from django.views.decorators.http import require_POST

from projects.models import Wood
from projects.models.charts import MOST_ROWS, MOST_WOODS
from projects.pages.access import StudioRequest, in_studio
from projects.redrawing import whole_alone

if TYPE_CHECKING:
    import numpy.typing as npt
    from PIL.Image import Image

LARGEST_FILE = 2_000_000
MOST_PIXELS = 4_000_000
MOST_CELLS = 100_000
FORMATS = ("PNG", "JPEG")
PAPER = (255, 255, 255)

# sRGB to XYZ at D65, then to D50 by Bradford's method, D50's white, and CIE Lab's two constants.
# Source: W3C, CSS Color Module Level 4, sample code for color conversions (sRGB as IEC 61966-2-1, Lab as CIE 15).
TO_XYZ = (
    (506752 / 1228815, 87881 / 245763, 12673 / 70218),
    (87098 / 409605, 175762 / 245763, 12673 / 175545),
    (7918 / 409605, 87881 / 737289, 1001167 / 1053270),
)
TO_D50 = (
    (1.0479297925449969, 0.022946870601609652, -0.05019226628920524),
    (0.02962780877005599, 0.9904344267538799, -0.017073799063418826),
    (-0.009243040646204504, 0.015055191490298152, 0.7518742814281371),
)
WHITE_D50 = (0.3457 / 0.3585, 1.0, (1 - 0.3457 - 0.3585) / 0.3585)
EPSILON, KAPPA = 216 / 24389, 24389 / 27


class Refused(Exception):
    """A picture that cannot be read into a chart, and what would mend it."""


def lab(rgb: "npt.ArrayLike") -> "npt.NDArray[Any]":
    """CIE L*, a*, b* (D50) of sRGB channels from 0 to 255. Shapes: (..., 3) both. Source: see the constants above."""
    return _lab_of_light(_light(rgb))


def _light(rgb: "npt.ArrayLike") -> "npt.NDArray[Any]":
    """Linear light, 0 to 1, of sRGB channels from 0 to 255."""
    import numpy as np

    share = np.asarray(rgb, dtype=float) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def _lab_of_light(light: "npt.NDArray[Any]") -> "npt.NDArray[Any]":
    import numpy as np

    xyz = light @ (np.array(TO_D50) @ np.array(TO_XYZ)).T / np.array(WHITE_D50)
    f = np.where(xyz > EPSILON, np.cbrt(xyz), (KAPPA * xyz + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def chart_of(
    data: bytes, *, layers: int, segments: int, colours: Mapping[str, str], letters: Mapping[str, str]
) -> dict[str, Any]:
    """The chart {"legend", "rows"} of a picture whose top is the top layer; rows bottom up.

    `colours` is #rrggbb by wood key, `letters` a letter for each. A cell is the mean light of its part of the picture,
    and of the wood nearest to it in CIE Lab (the distance CIE 1976). Errors: Refused.
    """
    import numpy as np

    cells = _cells(_opened(data), layers=layers, segments=segments)
    keys = list(colours)
    woods = lab([[int(colours[key][at : at + 2], 16) for at in (1, 3, 5)] for key in keys])
    away = ((_lab_of_light(cells)[:, :, None, :] - woods) ** 2).sum(axis=-1)
    nearest = np.argmin(away, axis=-1)
    rows = ["".join(letters[keys[wood]] for wood in row) for row in nearest.tolist()]
    used = {letter for row in rows for letter in row}
    return {"legend": {letters[key]: key for key in keys if letters[key] in used}, "rows": rows[::-1]}


def _cells(picture: "Image", *, layers: int, segments: int) -> "npt.NDArray[Any]":
    """Mean linear light of each cell, (layers, segments, 3), top layer first."""
    import numpy as np

    light = _light(np.asarray(picture))
    height, width = light.shape[:2]
    # Running sums make the mean of any cell exact, whole pixels or not, however the picture divides.
    down = _shares(height, layers) @ light.reshape(height, -1)
    return np.einsum("sw,lwc->lsc", _shares(width, segments), down.reshape(layers, width, 3))


def _shares(pixels: int, cells: int) -> "npt.NDArray[Any]":
    """How much each pixel counts in each cell, (cells, pixels); each row sums to 1."""
    import numpy as np

    edges = np.linspace(0, pixels, cells + 1)
    at = np.arange(pixels)
    overlap = np.minimum(edges[1:, None], at + 1) - np.maximum(edges[:-1, None], at)
    weights = np.clip(overlap, 0, None)
    return weights / weights.sum(axis=1, keepdims=True)


def _opened(data: bytes) -> "Image":
    """The picture upright, in sRGB, on paper where it is clear. Errors: Refused."""
    import warnings

    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(data) > LARGEST_FILE:
        raise Refused(
            f"The file is larger than {LARGEST_FILE // 1_000_000} MB. A small picture is enough: shrink it first."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the size is looked at below
            picture = Image.open(BytesIO(data), formats=FORMATS)
        if picture.width * picture.height > MOST_PIXELS:
            raise Refused(
                f"The picture is {picture.width} by {picture.height} pixels, which is more than a chart can use. "
                "Make it smaller first; a few hundred pixels are enough."
            )
        with whole_alone():
            upright = ImageOps.exif_transpose(picture).convert("RGBA")
    except Refused:
        raise
    except UnidentifiedImageError:
        raise Refused("This is no PNG or JPEG picture.") from None
    except Image.DecompressionBombError:
        raise Refused("The picture is far larger than a chart can use. Make it smaller first.") from None
    except (OSError, SyntaxError, ValueError):
        raise Refused("The picture is broken and cannot be read to its end.") from None
    paper = Image.new("RGBA", upright.size, (*PAPER, 255))
    return Image.alpha_composite(paper, upright).convert("RGB")


def _whole(text: str, *, most: int, what: str) -> int:
    if not (text.isdecimal() and len(text) < 6 and 0 < int(text) <= most):
        raise Refused(f"Write the band's number of {what} first.")
    return int(text)


def _letters(pairs: Sequence[str]) -> dict[str, str]:
    """`m=maple` pairs as letters by wood key. Errors: Refused."""
    found: dict[str, str] = {}
    for pair in pairs:
        letter, _, key = pair.partition("=")
        if len(letter) == 1 and not letter.isspace() and letter not in found.values():
            found[key] = letter
    return found


@in_studio
@require_POST
def chart_image(request: StudioRequest) -> HttpResponse:
    """A chart as JSON from a picture, the numbers of layers and segments, and the woods to choose from with letters."""
    try:
        layers = _whole(request.POST.get("layers", ""), most=MOST_ROWS, what="layers")
        segments = _whole(request.POST.get("segments", ""), most=MOST_WOODS, what="segments")
        if layers * segments > MOST_CELLS:
            raise Refused("The band has too many segments to be filled from a picture.")
        letters = _letters(request.POST.getlist("wood")[:MOST_WOODS])
        woods = Wood.objects.for_studio(request.studio).filter(key__in=list(letters))
        colours = {wood.key: wood.colour for wood in woods if re.fullmatch("#[0-9a-fA-F]{6}", wood.colour)}
        if len(colours) < 2:
            raise Refused("Give the chart two woods or more first: the picture is put into their colours.")
        upload = request.FILES.get("picture")
        if upload is None:
            raise Refused("Choose a picture first.")
        # One byte more than is taken tells a file that is too large without reading it all.
        chart = chart_of(
            upload.read(LARGEST_FILE + 1), layers=layers, segments=segments, colours=colours, letters=letters
        )
    except Refused as refusal:
        return JsonResponse({"reason": str(refusal)}, status=422)
    return JsonResponse(chart)


urlpatterns = [path("designs/chart-image/", chart_image, name="chart_image")]
