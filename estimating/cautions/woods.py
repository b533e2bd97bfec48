"""Cautions of the woods: oil under glue, dark dust, unlike neighbours, light, papers, dust that sensitises."""

from collections.abc import Iterator

from estimating.cautions.seen import Caution, Rule, Seen, numbers
from estimating.wood.courses import courses_of
from estimating.wood.dust import hazards_of, woods_in
from estimating.wood.woods_together import findings_of_woods


def together(seen: Seen) -> Iterator[Caution]:
    """What the woods do to one another, at the lowest band that has to do with it."""
    courses = courses_of(seen.shapes, laminates=seen.sheet.laminates)
    places = {course.layer: course.place for course in courses}
    for finding in findings_of_woods(courses, seen.woods):
        where = places[finding.layers[0]]
        layers = "Layer" if len(finding.layers) == 1 else "Layers"
        message = f"{finding.message} {layers} {numbers(finding.layers)}."
        yield Caution(finding.code, finding.severity, where, message)


def dust_that_sensitises(seen: Seen) -> Iterator[Caution]:
    """Woods whose dust brings on rash or asthma that stay."""
    found = [
        hazard
        for hazard in hazards_of(woods_in(seen.shapes), woods=seen.woods)
        if hazard.kind == "sensitizer"
    ]
    if found:
        said = "; ".join(f"{h.name}, {h.detail}" if h.detail else h.name for h in found)
        message = (
            f"Dust that sensitises: {said}. Extract it at the tool, wear a respirator for fine dust that fits, keep "
            "sleeves long, and stop at the first wheeze or rash. The safety data sheet and local limits come first."
        )
        named = {hazard.wood for hazard in found}
        where = next(
            band.where
            for band in seen.bands
            if named & {band.band.plug, *(wood for ring in band.rings for wood in ring.wood_shares)}
        )
        yield Caution("dust_sensitises", "note", where, message)


RULES: tuple[Rule, ...] = (together, dust_that_sensitises)
