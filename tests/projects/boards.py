"""A draft of the drawing board as a browser would send it."""

from dataclasses import asdict

from projects.pages.draft import Draft, PartText

HTMX = {"HTTP_HX_REQUEST": "true"}


def fields(draft: Draft) -> dict[str, str]:
    """Every field of a draft by its name."""
    sent = {**draft.texts, "revision": str(draft.revision), "part": str(draft.shown)}
    sent |= {"parts": str(len(draft.parts)), "laminates": str(len(draft.laminates))}
    sent |= {f"new-{key}": text for key, text in draft.new.items()}
    for index, part in enumerate(draft.parts):
        sent |= _part_fields(f"parts-{index}", part)
    for number, laminate in enumerate(draft.laminates):
        name = f"laminates-{number}"
        sent |= {f"{name}-key": laminate.key, f"{name}-kind": laminate.kind, f"{name}-angle": laminate.angle}
        sent[f"{name}-strips"] = str(len(laminate.strips) + 1)
        for row, strip in enumerate(laminate.strips):
            sent |= {f"{name}-strip-{row}-wood": strip.wood, f"{name}-strip-{row}-width": strip.width}
    return sent


def _part_fields(name: str, part: PartText) -> dict[str, str]:
    sent = {f"{name}-{key}": text for key, text in (part.texts | part.tools).items()}
    sent[f"{name}-bands"] = str(len(part.bands))
    for curve, points in (("outer", part.outer), ("inner", part.inner)):
        sent[f"{name}-{curve}"] = str(len(points))
        for row, point in enumerate(points):
            place = f"{name}-{curve}-{row}"
            sent |= {f"{place}-height": point.height, f"{place}-diameter": point.diameter}
            # A box that is not ticked is not sent.
            sent |= {f"{place}-corner": "yes"} if point.corner else {}
    for index, band in enumerate(part.bands):
        place, texts = f"{name}-bands-{index}", asdict(band)
        woods = texts.pop("woods")
        sent |= {f"{place}-{key}": text for key, text in texts.items()}
        sent |= {f"{place}-wood-{number}": key for number, key in enumerate(woods)}
        sent[f"{place}-woods"] = str(len(woods))
    return sent
