"""Steps from segments to rings that are flat, and to layers sawn from thick ones: laid out, glued, trued, sliced."""

from collections.abc import Iterable, Sequence

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.shape.rings import Ring
from estimating.steps.book import About, Draft, run_of
from estimating.steps.glue import add_glue_up
from estimating.steps.making import Making, in_words
from estimating.steps.saw import SQUARE

_FLATTEN = "flatten ring face"


def add_panels(making: Making) -> None:
    """The panels of laminated segments, for all pieces together; glued, cured, and then sliced."""
    for glue_up in making.job.glue_ups:
        if glue_up.kind != "panel":
            continue
        (ring,) = glue_up.rings
        last = add_glue_up(
            making,
            0,
            glue_up,
            name=f"Glue up the panels of ring {ring}",
            after=[SQUARE],
            in_one=False,
        )
        sliced = f"panel.r{ring}.slice"
        making.book.drafts[sliced].after.append(last)
        for piece in making.pieces:
            making.done[piece, glue_up.number] = sliced


def add_rings(making: Making) -> None:
    """Every ring of every piece up to the step after which its layers can be stacked."""
    groups = _first_glued(making)
    for piece in making.pieces:
        laid_out: dict[int, str] = {}
        for rings in groups:
            key = _add_layout(making, piece, rings)
            laid_out |= {ring.number: key for ring in rings}
            making.ready |= {(piece, ring.number): key for ring in rings}
        for glue_up in making.job.glue_ups:
            if glue_up.kind in OF_RINGS:
                _add_ring_glue_up(making, piece, glue_up, laid_out)
        for rings in _last_glued(making):
            _add_flattening(making, piece, rings)
        for ring in making.job.thick_rings:
            _add_slicing(making, piece, ring)


def _batches(making: Making, numbers: Iterable[tuple[int, ...]]) -> list[list[Ring]]:
    """Rings by number in batches, and what is in none of them by the stack that it goes into."""
    by_number = {ring.number: ring for ring in making.job.rings}
    batches = [[by_number[number] for number in batch] for batch in numbers if batch]
    placed = {ring.number for batch in batches for ring in batch}
    left = [ring for ring in making.job.rings if ring.number not in placed]
    of_stack: dict[int, list[Ring]] = {}
    for ring in left:
        stacks = (one.number for one in making.stackings if set(one.layers) & set(ring.layers))
        of_stack.setdefault(next(stacks, 0), []).append(ring)
    return batches + list(of_stack.values())


def _first_glued(making: Making) -> list[list[Ring]]:
    """Rings by the session in which they are first glued."""
    seen: set[int] = set()
    numbers = []
    for glue_up in making.job.glue_ups:
        if glue_up.kind in OF_RINGS:
            numbers.append(tuple(ring for ring in glue_up.rings if ring not in seen))
            seen |= set(glue_up.rings)
    return _batches(making, numbers)


def _last_glued(making: Making) -> list[list[Ring]]:
    """Rings by the session that closes them."""
    return _batches(making, [one.rings for one in making.job.glue_ups if one.kind == "ring"])


def _add_layout(making: Making, piece: int, rings: Sequence[Ring]) -> str:
    numbers = tuple(ring.number for ring in rings)
    draft = Draft(
        f"p{piece}.layout.{run_of('r', numbers)}",
        f"Sort and lay out {in_words(numbers, 'ring', 'rings')}{making.on_piece(piece)}",
        piece=piece,
        rings=numbers,
        after=list(dict.fromkeys(key for ring in numbers for key in making.cut[ring])),
    )
    draft.work = {
        "clean, sort and lay out segments": (len(rings), sum(ring.segments for ring in rings)),
    }
    return making.book.add(draft)


def _add_ring_glue_up(making: Making, piece: int, glue_up: GlueUp, laid_out: dict[int, str]) -> None:
    """Halves, or the closing of rings: the second of the two trues the halves first."""
    halved = [ring for ring in glue_up.rings if glue_up.kind == "ring" and ring in making.work.halved]
    first = [ring for ring in glue_up.rings if ring not in halved]
    words = in_words(glue_up.rings, "ring", "rings")
    name = f"Glue the halves of {words}" if glue_up.kind == "half_ring" else f"Glue {words}"
    if halved:
        name = f"True the halves and close {words}"
    before = [making.done[piece, number] for number in glue_up.after]
    last = add_glue_up(
        making, piece, glue_up, name=name, after=[*(laid_out[ring] for ring in first), *before]
    )
    making.done[piece, glue_up.number] = last
    making.ready |= {(piece, ring): last for ring in glue_up.rings}


def _add_flattening(making: Making, piece: int, rings: Sequence[Ring]) -> None:
    """Both faces of a ring that is a layer, of a thick ring the one that is not sawn away; veneer comes flat."""
    thick = 1 if making.job.sheet.shop.slice_hold > 0 else 2
    faces = {ring.number: thick if ring.made == "sliced" else 2 for ring in rings if ring.made != "veneer"}
    if not faces:
        return
    draft = Draft(
        f"p{piece}.flatten.{run_of('r', faces)}",
        f"Flatten {in_words(tuple(faces), 'ring', 'rings')}{making.on_piece(piece)}",
        piece=piece,
        rings=tuple(faces),
        after=list(dict.fromkeys(making.ready[piece, ring] for ring in faces)),
    )
    draft.work = {_FLATTEN: (_first_of_band(making, piece, tuple(faces)), sum(faces.values()))}
    key = making.book.add(draft)
    making.ready |= {(piece, ring): key for ring in faces}


def _first_of_band(making: Making, piece: int, rings: Sequence[int]) -> int:
    """How many bands have their first ring among these: a machine is set up for each band once, for all pieces."""
    return len(making.band_starts & set(rings)) if piece == 1 else 0


def _add_slicing(making: Making, piece: int, ring: Ring) -> None:
    """A thick ring mounted and sawn to layers, its slices sanded on both faces and bored."""
    count, number = len(ring.layers), ring.number
    about: About = {"piece": piece, "rings": (number,), "layers": ring.layers}
    end = making.on_piece(piece)
    sawn = Draft(
        f"p{piece}.slice.r{number}", f"Slice ring {number}{end}", after=[making.ready[piece, number]], **about
    )
    sawn.work = {
        "mount and true thick ring for slicing": (0, 1),
        "saw layer from thick ring": (1, count),
    }
    key = making.book.add(sawn)
    name = f"Sand and bore the slices of ring {number}{end}"
    sanded = Draft(f"p{piece}.sand_slices.r{number}", name, after=[key], **about)
    first = piece == 1 and number == making.job.thick_rings[0].number
    sanded.work = {
        "sand slice, both faces": (_first_of_band(making, piece, (number,)), count),
        "bore layers or set jig": (int(first), count),
    }
    making.ready[piece, number] = making.book.add(sanded)
