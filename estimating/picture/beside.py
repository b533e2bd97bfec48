"""Several drawings on one sheet, all at the same scale."""

import re
from collections.abc import Sequence

from estimating.picture.svg import document, number

_APART = 10.0
_BOX = re.compile(r'viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"')


def side_by_side(drawings: Sequence[str], *, title: str, prefix: str = "dw") -> str:
    """Drawings in mm beside one another at full size, 10 mm apart, their lower edges level.

    Errors: ValueError for a drawing without a box.
    """
    boxes = []
    for drawing in drawings:
        box = _BOX.search(drawing)
        if box is None:
            raise ValueError("a drawing without a box cannot be laid beside another")
        boxes.append((float(box[3]), float(box[4])))
    tall = max(height for _, height in boxes)
    placed, x = [], 0.0
    for drawing, (width, height) in zip(drawings, boxes, strict=True):
        at = f'x="{number(x)}" y="{number(tall - height)}" width="{number(width)}" height="{number(height)}"'
        placed.append(drawing.replace("<svg ", f"<svg {at} ", 1))
        x += width + _APART
    return document(
        *placed,
        box=(0.0, 0.0, x - _APART, tall),
        title=title,
        description=f"{len(drawings)} parts, each in section.",
        prefix=prefix,
        full_size=True,
    )
