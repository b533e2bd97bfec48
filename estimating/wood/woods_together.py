"""What the woods of a piece do to one another and to whoever glues them: oil, dark dust, light, movement, papers."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from estimating.wood.colour import lightness
from estimating.wood.courses import Course, touching
from estimating.wood.movement import shrinkage_form
from estimating.wood.species import Species

Severity = Literal["note", "warning", "danger"]

COMMON = "common practice, no source"

PALE = 70.0
"""CIE lightness from which a wood shows dark dust in its pores (our own rule: beech and paler)."""

DARK = 35.0
"""CIE lightness below which a wood's dust counts as dark even if nothing is said of it (our own rule)."""

SEASONS = (6.0, 12.0)
"""Moistures, %, that wood comes to in a heated room in winter and in a damp summer: about 30 and 65 % humidity at
20 degrees C, by the handbook's equation (4-5)."""

UNLIKE = 0.01
"""Difference of strain between two woods of one ring, along their growth rings and from season to season, from which
it is said: a step of 0.1 mm, which a finger finds, in 10 mm of wood (our own rule, no source)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to know before gluing. `woods` are keys, `layers` numbers; `source` says where the rule is from."""

    code: str
    severity: Severity
    message: str
    woods: tuple[str, ...] = ()
    layers: tuple[int, ...] = ()
    source: str = COMMON


def findings_of_woods(courses: Sequence[Course], woods: Mapping[str, Species]) -> tuple[Finding, ...]:
    """Every finding that the design alone earns. Errors: KeyError for a wood that is not among `woods`."""
    rules = (oily_woods, dark_dust, unlike_neighbours, fading_colours, protected_woods)
    return tuple(finding for rule in rules for finding in rule(courses, woods))


def oily_woods(courses: Sequence[Course], woods: Mapping[str, Species]) -> Iterator[Finding]:
    """Woods whose oil keeps glue from the wood."""
    oily = [key for key in _used(courses) if woods[key].oily]
    if oily:
        message = (
            f"{_names(oily, woods)} {_is(oily)} oily: glue holds badly on an old surface. Cut or sand the joints just "
            "before gluing, wipe them with acetone or alcohol until the cloth stays clean, let them flash off, glue at "
            "once, and break a trial joint first. These solvents burn and their vapour harms: read label and safety "
            "data sheet, ventilate, gloves on, no flame or spark, cloths outdoors to dry."
        )
        yield Finding("oily_wood", "warning", message, tuple(oily), _layers(courses, oily))


def dark_dust(courses: Sequence[Course], woods: Mapping[str, Species]) -> Iterator[Finding]:
    """Woods whose dust is sanded into the pores of a pale neighbour, in the same layer or the next."""
    stained: dict[str, dict[str, None]] = {}
    layers: dict[int, None] = {}
    for pair, where in touching(courses).items():
        for dark, pale in (pair, pair[::-1]):
            if _stains(woods[dark]) and not _stains(woods[pale]) and lightness(woods[pale].colour) >= PALE:
                stained.setdefault(dark, {})[pale] = None
                layers |= dict.fromkeys(where)
    if stained:
        dark_ones = sorted(stained)
        pale_ones = list(dict.fromkeys(pale for dark in dark_ones for pale in stained[dark]))
        message = (
            f"The dust of {_names(dark_ones, woods)} stains {_names(pale_ones, woods)} beside it. Cut and scrape where "
            "you can rather than sand, blow and vacuum the pores between grits, seal the pale wood with a thin coat "
            "before the last sanding, and wipe no solvent from the dark wood over the pale."
        )
        yield Finding("dark_dust", "note", message, (*dark_ones, *pale_ones), tuple(sorted(layers)))


def _stains(species: Species) -> bool:
    return species.dust_stains or lightness(species.colour) < DARK


def unlike_neighbours(courses: Sequence[Course], woods: Mapping[str, Species]) -> Iterator[Finding]:
    """Woods glued to one another in one layer that swell and shrink unlike."""
    found: dict[tuple[str, str], list[int]] = {}
    for course in courses:
        for pair in sorted(course.pairs):
            if (apart := strain_apart(woods[pair[0]], woods[pair[1]])) is not None and apart >= UNLIKE:
                found.setdefault(pair, []).append(course.layer)
    if found:
        low, high = SEASONS
        worst = max(found, key=lambda pair: strain_apart(woods[pair[0]], woods[pair[1]]) or 0.0)
        apart = strain_apart(woods[worst[0]], woods[worst[1]]) or 0.0
        pairs = ", ".join(f"{woods[one].name} beside {woods[other].name}" for one, other in found)
        message = (
            f"These woods of one ring move unlike: {pairs}. From {low:g} to {high:g} % moisture the worst of them part "
            f"by {100 * apart:.1f} % along their growth rings, {10 * apart:.2f} mm in 10 mm of wood: a step that can "
            "be felt. Take woods that move alike, keep the ring narrow, or glue at the moisture of the client's room."
        )
        yield Finding(
            code="neighbours_move",
            severity="note",
            message=message,
            woods=tuple(dict.fromkeys(wood for pair in found for wood in pair)),
            layers=tuple(sorted({layer for layers in found.values() for layer in layers})),
            source="Wood Handbook (FPL-GTR-282) ch. 13 equation (13-3); the mark of 1 % is our own rule",
        )


def strain_apart(one: Species, other: Species) -> float | None:
    """How far two woods part from season to season by their tangential shrinkage, a fraction; None if not known."""
    if one.shrink_tangential_pct is None or other.shrink_tangential_pct is None:
        return None
    low, high = SEASONS
    strains = [
        shrinkage_form(shrink_pct=shrink, start=low, end=high)
        for shrink in (one.shrink_tangential_pct, other.shrink_tangential_pct)
    ]
    return abs(strains[0] - strains[1])


def fading_colours(courses: Sequence[Course], woods: Mapping[str, Species]) -> Iterator[Finding]:
    """Woods whose colour does not last, so that a pattern of colours changes."""
    fading = [key for key in _used(courses) if woods[key].fades]
    if fading:
        said = "; ".join(f"{woods[key].name} {woods[key].fades}" for key in fading)
        message = (
            f"Light changes the colours: {said}. Show the client a piece that has aged, keep it out of the sun, and do "
            "not count on a finish to stop it: one with a UV absorber slows it at best."
        )
        yield Finding("colour_fades", "note", message, tuple(fading), _layers(courses, fading))


def protected_woods(courses: Sequence[Course], woods: Mapping[str, Species]) -> Iterator[Finding]:
    """Woods that stand, or stood when the table was written, in a list of protected species."""
    listed = [key for key in _used(courses) if woods[key].protected_note]
    if listed:
        said = ". ".join(
            f"{woods[key].name[:1].upper()}{woods[key].name[1:]}: {woods[key].protected_note}"
            for key in listed
        )
        message = (
            f"{said}. Keep the dealer's invoice and papers with the piece; crossing a border, also finished, may need "
            "a permit. The lists change: ask the authority of both countries before you buy or ship. This is no legal "
            "advice."
        )
        source = "; ".join(dict.fromkeys(_listing_from(woods[key]) for key in listed))
        yield Finding("protected_wood", "warning", message, tuple(listed), _layers(courses, listed), source)


def _listing_from(species: Species) -> str:
    """Where what is said of its listing is from; a shop's own note may name nothing."""
    _, named, source = species.traits_source.partition("protected: ")
    return source.partition(";")[0].strip() if named else "no source named"


def _used(courses: Sequence[Course]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(wood for course in courses for wood in course.woods))


def _layers(courses: Sequence[Course], keys: Sequence[str]) -> tuple[int, ...]:
    return tuple(course.layer for course in courses if set(course.woods) & set(keys))


def _is(keys: Sequence[str]) -> str:
    return "is" if len(keys) == 1 else "are"


def _names(keys: Sequence[str], woods: Mapping[str, Species]) -> str:
    names = [woods[key].name for key in keys]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
