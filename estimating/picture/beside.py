"""Several drawings on one sheet, all at the same scale."""

import re
from collections.abc import Sequence

from estimating.picture.svg import document, number

_APART = 10.0
_HEAD = re.compile(r'<svg xmlns="[^"]*" viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"')
_END = "</svg>"


def side_by_side(
    drawings: Sequence[str], *, title: str, description: str, prefix: str = "dw", full_size: bool = False
) -> str:
    """Drawings in mm, as picture.drawing makes them, beside one another: 10 mm apart, their lower edges level.

    Errors: ValueError for what is no such drawing.
    """
    heads = [_HEAD.match(drawing) for drawing in drawings]
    tall = max(float(head[4]) for head in heads if head)
    placed, x = [], 0.0
    for drawing, head in zip(drawings, heads, strict=True):
        if head is None or not drawing.endswith(_END):
            raise ValueError("this is no drawing that can be laid beside another")
        left, top, width, height = (float(side) for side in head.groups())
        # A group rather than a drawing within the drawing, which a page's style sheet would size by itself.
        shift = f"translate({number(x - left)} {number(tall - height - top)})"
        rest = drawing[head.end() : -len(_END)]
        placed.append(f'<g transform="{shift}"{rest}</g>')
        x += width + _APART
    return document(
        *placed,
        box=(0.0, 0.0, x - _APART, tall),
        title=title,
        description=description,
        prefix=prefix,
        full_size=full_size,
    )
