"""Steps at the lathe: bowls inside before they are closed, then each part outside, inside, sanded and footed."""

from estimating.glue.assembly import GlueUp, bowls
from estimating.shape.build import Shape
from estimating.steps.book import Draft
from estimating.steps.making import HOUR, Making

_MOUNT = "mount on lathe (waste block, faceplate, chuck)"


def add_turning(making: Making) -> None:
    """Every part of every piece; what joins finished parts then waits for both of them."""
    for piece in making.pieces:
        feet = {
            shape.part.name: _add_part(making, piece, number, shape)
            for number, shape in enumerate(making.job.shapes, start=1)
        }
        _fit_lids(making, piece, feet)
        for glue_up in making.stackings:
            if making.shape_of(glue_up) is None:
                glued = making.book.drafts[making.glued[piece, glue_up.number]]
                glued.after += [feet[shape.part.name] for shape in _joined(making, glue_up)]


def _joined(making: Making, glue_up: GlueUp) -> list[Shape]:
    return [shape for shape in making.job.shapes if set(shape.layers) & set(glue_up.layers)]


def _add_part(making: Making, piece: int, number: int, shape: Shape) -> str:
    """Outside, inside, sanding and foot of a part; the key of the last."""
    base, end = f"p{piece}.part{number}", f"{making.of_part(shape)}{making.on_piece(piece)}"
    own = [one for one in making.stackings if making.shape_of(one) is shape]
    whole = [making.done[piece, one.number] for one in own if not _goes_on(one, own)]
    whole = whole or list(dict.fromkeys(making.ready[piece, ring.number] for ring in shape.rings))
    hollow, closed = shape.form.inner is not None, bool(shape.closings)
    if hollow and closed:
        _add_bowls(making, piece, base, shape, own)
    mounts = 1 if hollow else 2

    def step(what: str, name: str, work: dict[str, tuple[float, float]], after: list[str]) -> str:
        return making.book.add(
            Draft(
                f"{base}.{what}", f"{name}{end}", piece=piece, part=shape.part.name,
                layers=tuple(shape.layers), work=work, after=after,
            )
        )  # fmt: skip

    outside = {_MOUNT: (0.0, float(mounts)), "turn outside": (1.0, shape.form.outer_surface)}
    last = step("outside", "Turn the outside", outside, whole)
    if hollow and not closed:
        inside = {_MOUNT: (0.0, 1.0), "turn inside": (1.0, shape.form.inner_surface)}
        last = step("inside", "Turn the inside", inside, [last])
    surface = shape.form.outer_surface + shape.form.inner_surface
    settled = _add_settling(making, piece, base, shape, own)
    last = step(
        "sand", "Sand through the grits", {"sand through the grits": (1.0, surface)}, [last, *settled]
    )
    foot = {_MOUNT: (0.0, 1.0), "finish foot, sign and number": (0.0, 1.0)}
    return step("foot", "Finish the foot, sign and number", foot, [last])


def _goes_on(glue_up: GlueUp, own: list[GlueUp]) -> bool:
    """Whether another glue-up of the part follows on this one."""
    return any(glue_up.number in other.after for other in own)


def _add_bowls(making: Making, piece: int, base: str, shape: Shape, own: list[GlueUp]) -> None:
    """Each bowl of a closed form turned inside while it is open; the joins that close it wait for that."""
    parts = bowls(shape)
    height = shape.stack.height
    for number, bowl in enumerate(parts, start=1):
        inside = [one for one in own if set(one.layers) <= set(bowl) and one.kind in ("stack", "join")]
        ready = [making.done[piece, one.number] for one in inside if not _goes_on(one, inside)]
        ready = ready or list(dict.fromkeys(making.ready[piece, shape.ring(layer).number] for layer in bowl))
        tall = sum(float(shape.stack.thickness[shape.index(layer)]) for layer in bowl)
        draft = Draft(
            f"{base}.inside{number}",
            f"Turn and sand the inside of layers {bowl[0]} to {bowl[-1]}{making.on_piece(piece)}",
            piece=piece,
            part=shape.part.name,
            layers=tuple(bowl),
            after=ready,
        )
        draft.work = {
            _MOUNT: (0, 1),
            "turn inside": (int(number == 1), shape.form.inner_surface * tall / height),
        }
        key = making.book.add(draft)
        for one in own:
            closes = one.kind == "join" and one.layers[0] in shape.closings
            if closes and set(one.layers) & set(bowl):
                making.book.drafts[making.glued[piece, one.number]].after.append(key)


def _add_settling(making: Making, piece: int, base: str, shape: Shape, own: list[GlueUp]) -> list[str]:
    """The rest between the last glue and the sanding, counted from the hour it was glued."""
    wait = making.job.sheet.shop.sand_wait_h * HOUR
    last = [one for one in own if not _goes_on(one, own)]
    if not last:
        rings = {ring.number for ring in shape.rings}
        last = [one for one in making.job.glue_ups if one.kind == "ring" and rings & set(one.rings)]
    if not wait or not last:
        return []
    name = f"Let the joints{making.of_part(shape)} settle{making.on_piece(piece)}"
    rest = Draft(f"{base}.settle", name, "rest", wait, piece=piece, part=shape.part.name)
    rest.after = [making.glued[piece, one.number] for one in last]
    return [making.book.add(rest)]


def _fit_lids(making: Making, piece: int, feet: dict[str, str]) -> None:
    """A loose lid is fitted to a rim that has been turned: its foot comes after the other's."""
    for number, shape in enumerate(making.job.shapes, start=1):
        sits = shape.part.sits
        if sits is not None and sits.how == "in":
            making.book.drafts[f"p{piece}.part{number}.foot"].after.append(feet[sits.other])
