"""Which design came from which: one design's family as lines of text, from the first of them down."""

from collections import defaultdict
from dataclasses import dataclass, replace

from projects.models import Design

MOST = 60
"""Lines that are told; a family larger than that is told from the design's own line on."""


@dataclass(frozen=True, slots=True)
class Relative:
    """One design of a family: `depth` is how many came before it, `parent` the title of the one it came from.

    `piece` is the finished piece it was made from, where there was one.
    """

    pk: int
    title: str
    depth: int
    parent: str
    is_this: bool
    piece: "Piece | None" = None


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the log; one that was taken out of it has no page."""

    pk: int
    serial: str
    in_log: bool


def family_of(design: Design) -> list[Relative]:
    """The family, each after the one it came from, those of one origin in the order they were made.

    Empty where the design came from nothing and none came from it. One question, however large the family.
    """
    piece = ("made_from__record", "made_from__record__serial", "made_from__record__taken_out_at")
    rows = Design.objects.for_studio(design.studio_id).order_by("pk")
    pieces: dict[int, Piece] = {}
    titles: dict[int, str] = {}
    above: dict[int, int | None] = {}
    below: dict[int, list[int]] = defaultdict(list)
    for pk, title, parent, record, serial, out in rows.values_list("pk", "title", "grown_from", *piece):
        titles[pk], above[pk] = title, parent
        if record:
            pieces[pk] = Piece(record, serial, out is None)
        if parent:
            below[parent].append(pk)
    line = _line(design.pk, above)
    whole = _told(line[-1], titles, below, this=design.pk)
    if len(whole) > MOST:
        # Its own origins, then what came from it.
        own = {*line, *(one.pk for one in _told(design.pk, titles, below, this=design.pk))}
        whole = [one for one in whole if one.pk in own][:MOST]
    if len(whole) == 1 and not pieces.get(design.pk):
        return []
    return [replace(one, piece=pieces.get(one.pk)) for one in whole]


def _line(pk: int, above: dict[int, int | None]) -> list[int]:
    """A design and what it came from, to the first. No rule lets a line go round; one that did would end here."""
    line = [pk]
    while (parent := above.get(line[-1])) and parent not in line:
        line.append(parent)
    return line


def _told(first: int, titles: dict[int, str], below: dict[int, list[int]], *, this: int) -> list[Relative]:
    """A design and all that came of it, depth first; without recursion, since a line may be long."""
    told: list[Relative] = []
    seen: set[int] = set()
    waiting = [(first, 0, "")]
    while waiting:
        pk, depth, parent = waiting.pop()
        if pk in seen:
            continue
        seen.add(pk)
        told.append(Relative(pk, titles[pk], depth, parent, pk == this))
        waiting.extend((child, depth + 1, titles[pk]) for child in reversed(below.get(pk, [])))
    return told
