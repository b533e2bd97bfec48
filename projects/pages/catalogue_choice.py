"""The pieces chosen for a catalogue, kept with whoever is logged in while the log is paged, filtered and searched."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.http import HttpRequest

from projects.models import PieceRecord, Studio

MOST_PIECES = 60
"""As many as are printed while somebody waits."""

LONGEST_KEY = 18
"""Digits of a row's key: what is longer is nobody's."""

_KEY = "catalogue"


@dataclass(frozen=True, slots=True)
class Choice:
    """The keys of the pieces in the order they will stand, and what was typed of the catalogue itself."""

    pieces: tuple[int, ...] = ()
    settings: dict[str, Any] = field(default_factory=dict)

    def with_page(self, shown: Iterable[int], ticked: Iterable[int]) -> "Choice":
        """With a page of the log ticked so: what it shows and has no tick goes, what is new comes last."""
        chosen = list(ticked)
        gone = set(shown) - set(chosen)
        kept = [key for key in self.pieces if key not in gone]
        return self.of([*kept, *chosen])

    def of(self, pieces: Iterable[int]) -> "Choice":
        """With these pieces, each once."""
        return replace(self, pieces=tuple(dict.fromkeys(pieces)))

    def without(self, key: int) -> "Choice":
        """With one taken out."""
        return self.of(one for one in self.pieces if one != key)

    def moved(self, key: int, by: int) -> "Choice":
        """With one put so many places further down; as far as there are places."""
        if key not in self.pieces:
            return self
        rest = [one for one in self.pieces if one != key]
        place = min(max(self.pieces.index(key) + by, 0), len(rest))
        return self.of([*rest[:place], key, *rest[place:]])

    @property
    def is_too_long(self) -> bool:
        """Whether more are chosen than are printed."""
        return len(self.pieces) > MOST_PIECES


def choice_of(request: HttpRequest, studio: Studio) -> Choice:
    """What is chosen of a studio's log; nothing where nothing was, or where what was kept cannot be read."""
    kept = request.session.get(_KEY, {}).get(str(studio.pk), {})
    pieces = [key for key in kept.get("pieces", ()) if isinstance(key, int)]
    return Choice(tuple(pieces), dict(kept.get("settings", {})))


def keep(request: HttpRequest, studio: Studio, choice: Choice) -> None:
    """Keep what is chosen for as long as the log-in lasts."""
    others = request.session.get(_KEY, {})
    kept = {"pieces": list(choice.pieces), "settings": choice.settings}
    request.session[_KEY] = {**others, str(studio.pk): kept}


def chosen_records(choice: Choice, studio: Studio) -> list[PieceRecord]:
    """The pieces in their order; one that is no longer in the log is left out."""
    found = PieceRecord.objects.for_studio(studio).filter(pk__in=choice.pieces)
    rows = {record.pk: record for record in found.prefetch_related("woods", "coats")}
    return [rows[key] for key in choice.pieces if key in rows]


def in_log(keys: Sequence[int], studio: Studio) -> list[int]:
    """Those of the keys that stand for a piece in the studio's log, in their order."""
    found = set(PieceRecord.objects.for_studio(studio).filter(pk__in=keys).values_list("pk", flat=True))
    return [key for key in keys if key in found]


def keys_of(texts: Sequence[str]) -> list[int] | None:
    """Keys as a form sends them; None where one is none."""
    if any(not (text.isascii() and text.isdigit() and len(text) <= LONGEST_KEY) for text in texts):
        return None
    return [int(text) for text in texts]
