"""Cautions of gluing up: clamps and their load, faces that are trued away, mandrels, and a rim out of reach."""

from collections.abc import Iterator
from dataclasses import replace

from estimating.cautions.seen import Caution, Rule, Seen, layers_do, numbers, part_said
from estimating.glue.assembly import OF_RINGS, opening, plan_assembly, takes_mandrel
from estimating.glue.card import Card
from estimating.shape.layers import stands_over
from estimating.shape.run_out import height_drift

HEAVY_N = 5000.0
"""From this force on a pile of clamps is told as one that hurts when it slips; common practice, no source."""

SHOWS = 0.1
"""A layer that is trued thinner by more than this share is seen to be thinner; common practice, no source."""

_WORTH = 1e-6


def load(seen: Seen) -> Iterator[Caution]:
    """Clamps that press hard, and piles in which no force suits every joint."""
    heaviest = max(seen.cards, key=_force, default=None)
    if heaviest is not None and _force(heaviest) >= HEAVY_N:
        message = (
            f"Glue-up {heaviest.glue_up.number} wants {_force(heaviest) / 1000:.1f} kN on {heaviest.hold.clamps} "
            "clamps: a pile that slips or a clamp that jumps off hurts. Tighten in turn, a little each, with flat "
            "blocks under the heads and no hand between; wear eye protection; let off as slowly."
        )
        yield Caution("clamps_under_load", "note", "adhesive.pressure", message)
    starved = [card.glue_up.number for card in seen.cards if card.hold.starves]
    if starved:
        low, high = seen.sheet.label.pressure
        message = (
            f"In glue-up {numbers(starved)} no one force suits all joints: {low:g} MPa on the largest is more than "
            f"{high:g} MPa on the smallest, which is squeezed dry. Glue the small faces on by themselves."
        )
        yield Caution("starved_joint", "warning", "adhesive.pressure", message)


def _force(card: Card) -> float:
    return card.hold.force[0] if card.hold.force else 0.0


def ring_clamps(seen: Seen) -> Iterator[Caution]:
    """Rings that wait for clamps though the adhesive would last for more of them."""
    now = [card.glue_up for card in seen.cards if card.glue_up.kind in OF_RINGS]
    if not now:
        return
    without_end = replace(seen.shop, ring_clamps=len(seen.cards) + sum(len(one.rings) for one in now))
    by_time = plan_assembly(seen.shapes, shop=without_end, label=seen.sheet.label)
    rings = [one for one in by_time if one.kind in OF_RINGS]
    if len(rings) < len(now):
        wanted = max(len(one.rings) for one in rings)
        message = (
            f"With {seen.shop.ring_clamps} ring clamps the rings are glued in {len(now)} sessions; the adhesive would "
            f"do for {len(rings)}, which takes {wanted} clamps."
        )
        yield Caution("few_ring_clamps", "note", "shop.ring_clamps", message)


def slow_rings(seen: Seen) -> Iterator[Caution]:
    """A ring with more joints than can be coated and closed before the adhesive gives out."""
    late = [card for card in seen.cards if card.rings and not card.spreads_in_time]
    if late:
        worst = max(late, key=lambda card: card.coat_minutes)
        rings = numbers(sorted({ring.ring for card in late for ring in card.rings}))
        message = (
            f"Ring {rings}: {worst.rings[0].joints} joints take {worst.coat_minutes:.0f} minutes to coat and close, "
            f"and the adhesive works for {worst.times.working:.0f}. Use a slower one, a cooler bench, or more hands."
        )
        yield Caution("slow_ring", "warning", "shop.coat_joint_min", message)


def trued_thin(seen: Seen) -> Iterator[Caution]:
    """Outer layers of a glue-up that show thinner once the face is trued for the next one."""
    taken = seen.shop.join_true
    for shape in seen.shapes:
        faces = [layer for card in seen.cards for before in card.before if before.task == "true_faces"
                 for layer in before.of if layer in shape.layers]  # fmt: skip
        thin = sorted({layer for layer in faces if taken > SHOWS * _thickness(seen, layer) + _WORTH})
        if thin:
            message = (
                f"{layers_do(thin, 'is', 'are')} outermost in a glue-up, and truing the face takes {taken:g} mm: more "
                f"than a tenth of {'its' if len(thin) == 1 else 'their'} thickness, which shows beside the others"
                f"{part_said(seen, shape)}. Cut {'it' if len(thin) == 1 else 'them'} {taken:g} mm thicker, or glue up "
                "more layers at once."
            )
            eaten = any(_thickness(seen, layer) <= 2 * taken for layer in thin)
            yield Caution("trued_thin", "warning" if eaten else "note", f"{shape.part.place}bands", message)


def _thickness(seen: Seen, layer: int) -> float:
    shape = next(shape for shape in seen.shapes if layer <= shape.layers[-1])
    return float(shape.stack.thickness[shape.index(layer)])


def mandrel(seen: Seen) -> Iterator[Caution]:
    """Bores that the mandrel does not go through."""
    shop = seen.shop
    stacked = {layer for card in seen.cards if card.glue_up.kind == "stack" for layer in card.glue_up.layers}
    for band in seen.bands if shop.mandrel_diameter > 0 else ():
        if not band.band.bore:
            continue
        narrow = [ring for ring in band.rings if opening(ring) > 0 and not takes_mandrel(ring, shop)]
        layers = sorted(stacked & {layer for ring in narrow for layer in ring.layers})
        if layers:
            widest = shop.mandrel_diameter + shop.mandrel_clearance
            message = (
                f"{layers_do(layers, 'is', 'are')} open {min(map(opening, narrow)):.1f} mm in the middle, and the "
                f"mandrel wants {widest:.1f} mm: the stack stands in a pin jig. Bore wider, or use a thinner mandrel."
            )
            yield Caution("mandrel_too_thick", "note", f"{band.where}.bore", message)


def rim(seen: Seen) -> Iterator[Caution]:
    """A stack that may come out lower than the rim, so that its pattern misses it."""
    for shape in seen.shapes:
        over = stands_over(shape.form, shape.stack, allowance=shape.part.allowance)
        spare = over + shape.part.allowance.top
        drift = float(height_drift(shape, seen.shop)[-1])
        if len(shape.stack) > 1 and drift > spare + _WORTH:
            message = (
                f"{len(shape.stack)} layers may come out up to {drift:.2f} mm lower than drawn, and "
                f"{max(spare, 0):.2f} mm stand above the rim{part_said(seen, shape)}: it may cut into the pattern or "
                f"be left uneven. Measure the stack after every glue-up, and allow {drift:.1f} mm on top."
            )
            yield Caution("rim_in_reach", "note", f"{shape.part.place}allowance.top", message)


RULES: tuple[Rule, ...] = (ring_clamps, slow_rings, mandrel, trued_thin, load, rim)
