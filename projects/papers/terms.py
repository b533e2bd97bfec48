"""What is agreed between studio and client: the studio's own words, or ours where it has written none."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

STANDARD_TERMS = """\
Drawing and sample. Work starts once this drawing is signed and, where one is asked for, a sample ring of the woods \
has been seen. A change after that is priced before it is made.

Wood is wood. Colour and figure differ from board to board and deepen with light. The finished piece may differ from \
the drawing by the tolerance given.

Time. It runs from the day the deposit arrives. Carriage is charged at cost unless agreed otherwise.

Ours to show. Design and copyright stay with the studio, which may photograph and show the piece.

If plans change. Until wood is cut, the deposit is returned less what has been spent on wood; after that it pays for \
the work done, and what is left of it is returned. Rights that the law gives a buyer stay as they are.
"""

STANDARD_CARE = """\
Dust with a soft, dry cloth. Keep out of direct sun and away from heaters and damp. Not for water, nor for food unless \
we have said so.
"""

_LONGEST_HEAD = 32
_SPACES = re.compile(r"[^\S\u00a0]+")  # a figure stays with its unit
_HEAD = re.compile(r"(?P<head>[^.:!?]+)[.:]\s+(?P<body>\S.*)", re.DOTALL)


@dataclass(frozen=True)
class Clause:
    """One paragraph; `head` is the few words it opens with, empty where it opens with a sentence."""

    head: str
    body: str


def clauses(text: str) -> list[Clause]:
    """A text's paragraphs, each line of its own or set apart by an empty line.

    >>> clauses("Wood is wood. It moves.")
    [Clause(head='Wood is wood.', body='It moves.')]
    >>> clauses("Half of the price is due with the order. The rest is not.")[0].head
    ''
    """
    return [_clause(_SPACES.sub(" ", line).strip()) for line in text.splitlines() if line.strip()]


def _clause(paragraph: str) -> Clause:
    match = _HEAD.fullmatch(paragraph)
    if match is None or len(match["head"]) > _LONGEST_HEAD or len(match["head"].split()) > 4:
        return Clause("", paragraph)
    return Clause(f"{match['head']}.", match["body"])


def in_full(own: str, settled: Sequence[Clause]) -> str:
    """Terms as they are frozen: the studio's own paragraphs, then what is settled by its settings and the commission.

    A paragraph of the studio's own stands in the place of a settled one with the same head.

    >>> in_full("Joints. Ours hold.", [Clause("Joints.", "They last."), Clause("Damage.", "Write it down.")])
    'Joints. Ours hold.\\n\\nDamage. Write it down.'
    """
    written = clauses(own or STANDARD_TERMS)
    heads = {clause.head.casefold() for clause in written}
    together = [*written, *(clause for clause in settled if clause.head.casefold() not in heads)]
    return "\n\n".join(f"{clause.head} {clause.body}".strip() for clause in together)
