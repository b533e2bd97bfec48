"""The few things a drawing is made of in SVG: numbers, escaped text, elements and outlines."""

import re
from collections.abc import Iterable
from html import escape

import numpy as np

from estimating.shape.curves import Floats

_NOT_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")

UNKNOWN_WOOD = "#c9c1b2"
"""Colour of a wood that no colour is known for."""

_JOINT_SHARE = 0.08

INK, PAPER = "#23211d", "#fffdf8"


def number(value: float, places: int = 2) -> str:
    """A coordinate in mm, to 0.01 unless asked otherwise."""
    written = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def text_of(value: str) -> str:
    """Text made safe to stand in a drawing: escaped, and without the characters XML has no place for."""
    return escape(_NOT_XML.sub("", value))


def element(name: str, *children: str, **attributes: str | float | int | None) -> str:
    """An element; `_` in an attribute's name is written `-`, one at its end left off, and None left out."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{text_of(_value(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    inside = "".join(children)
    return f"<{name}{written}>{inside}</{name}>" if inside else f"<{name}{written}/>"


def _value(value: str | float | int) -> str:
    return number(value) if isinstance(value, float) else str(value)


def outline(xs: Iterable[float], ys: Iterable[float], *, closed: bool = True) -> str:
    """Path data through the points."""
    points = " ".join(f"{number(x)},{number(y)}" for x, y in zip(xs, ys, strict=True))
    return f"M{points}Z" if closed else f"M{points}"


def strip_outline(left: Floats, right: Floats, ys: Floats) -> str:
    """Path data of a patch between two edges that share their heights: up the left edge, down the right one."""
    rows = [number(y) for y in ys.tolist()]
    up = [f"{number(x)},{y}" for x, y in zip(left.tolist(), rows, strict=True)]
    down = [f"{number(x)},{y}" for x, y in zip(right.tolist(), rows, strict=True)]
    return f"M{' '.join(up)} {' '.join(reversed(down))}Z"


def wood_colour(colour: str | None) -> str:
    """The colour as #rrggbb, or that of an unknown wood: nothing else may stand in a fill."""
    return colour if colour is not None and _COLOUR.fullmatch(colour) else UNKNOWN_WOOD


def joint_colour(colour: str) -> str:
    """Ink on light wood, paper on dark wood, so that joints are seen on both, in black and white too."""
    return INK if _lightness(colour) > 0.36 else PAPER


def joint_width(line: float, *, spacing: float) -> float:
    """How wide a joint is drawn, mm: a hairline, but finer where joints stand so close as to hide the wood."""
    return min(line, _JOINT_SHARE * spacing)


def shaded(colour: str, share: float) -> str:
    """The colour with a share of ink in it."""
    mixed = (1 - share) * _channels(colour) + share * _channels(INK)
    return "#" + "".join(f"{round(channel):02x}" for channel in mixed.tolist())


def _channels(colour: str) -> Floats:
    return np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)], dtype=float)


def _lightness(colour: str) -> float:
    """Rec. 709 luma of the colour as written, 0 to 1: near enough to grey as printed."""
    return float(_channels(colour) @ np.array([0.2126, 0.7152, 0.0722]) / 255)


def document(
    *children: str,
    box: tuple[float, float, float, float],
    title: str,
    description: str,
    prefix: str,
    full_size: bool = False,
) -> str:
    """A whole drawing. `box` is x, y, width, height in mm; at full size it prints 1 : 1."""
    _, _, width, height = box
    return element(
        "svg",
        element("title", text_of(title), id=f"{prefix}-title"),
        element("desc", text_of(description), id=f"{prefix}-desc"),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=" ".join(map(number, box)),
        width=f"{number(width)}mm" if full_size else None,
        height=f"{number(height)}mm" if full_size else None,
        class_="dw",
        role="img",
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_family="'Source Sans 3', 'Source Sans Pro', sans-serif",
        stroke_linejoin="round",
    )
