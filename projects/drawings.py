"""An estimate drawn to scale or modelled, in the studio's units and its woods' colours."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from projects.models import Design, Studio

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.picture.subject import Subject
    from estimating.piece import CurveKind
    from estimating.quantities import InchStyle, Unit
    from estimating.shape.rings import Ring


def colours_of(estimate: "Estimate") -> Mapping[str, str]:
    """#rrggbb by wood key."""
    return {key: wood.colour for key, wood in estimate.workshop.woods.items()}


def drawn(estimate: "Estimate", *, studio: Studio, part: int | None = None) -> Mapping[str, Any]:
    """What every drawing of estimating.picture.drawing asks for: the piece assembled, or one part, and units."""
    return {
        "subjects": subjects(estimate, part=part),
        "unit": studio.length_unit,
        "inches": studio.inch_style,
    }


def subjects(estimate: "Estimate", *, part: int | None = None) -> "Sequence[Subject]":
    """All the parts where they stand in the piece, or one part by itself, in its woods' colours."""
    # Imported here since drawing brings numpy in.
    from estimating.picture.subject import subject_of, subjects_of

    colours, laminates = colours_of(estimate), estimate.sheet.laminates
    shop, shapes = estimate.sheet.shop, estimate.shapes
    if part is None:
        return subjects_of(shapes, colours=colours, laminates=laminates, shop=shop)
    return (subject_of(shapes[part], colours=colours, laminates=laminates, shop=shop),)


def thumbnail(design: Design) -> str:
    """The outside of a design's first part as a small silhouette, SVG; nothing is estimated for it."""
    from estimating.picture.silhouette import silhouette
    from estimating.piece import FormSheet
    from estimating.shape.scaling import outside

    form = next(iter(design.parts.all())).form
    points = tuple((float(point[0]), float(point[1])) for point in form.outer)
    corners = tuple(number for number, point in enumerate(form.outer) if len(point) > 2)
    sheet = FormSheet(outer=points, curve=cast("CurveKind", form.curve), corners=corners)
    return silhouette(outside(sheet))


def quote_drawing(estimate: "Estimate", *, studio: Studio, prefix: str = "dw") -> str:
    """The drawing of a quote, as SVG: left half as turned, right half in section, without the maker's blanks."""
    # Imported here since drawing brings the arithmetic in.
    from estimating.picture.drawing import draw_piece

    title = estimate.sheet.title
    # Figures a little larger than on a page: the drawing takes half the width of the paper.
    return draw_piece(
        **drawn(estimate, studio=studio),
        title=title,
        with_blanks=False,
        with_bands=False,
        text=3.2,
        prefix=prefix,
    )


def sawing_drawing(estimate: "Estimate", ring: "Ring", *, studio: Studio) -> str:
    """A thick ring on its holder with its slices in the order of sawing, as SVG."""
    from estimating.picture.sawing_order import draw_sawing_order

    return draw_sawing_order(
        ring,
        thickness=estimate.band_of(ring).thickness,
        shop=estimate.sheet.shop,
        colours=colours_of(estimate),
        unit=cast("Unit", studio.length_unit),
        inches=cast("InchStyle", studio.inch_style),
        prefix=f"dw-sawing-{ring.number}",
    )


def front_svg(estimate: "Estimate", *, studio: Studio) -> str:
    """The whole piece from the front, as SVG."""
    from estimating.picture.drawing import draw_elevation

    return draw_elevation(**drawn(estimate, studio=studio), title=estimate.sheet.title, prefix="dw-front")


def solid_glb(estimate: "Estimate", *, glued: bool = False) -> bytes:
    """The piece in the round as binary glTF: turned, or as glued up before turning."""
    from estimating.picture.segments import glued_courses, turned_courses
    from estimating.picture.solids import Model, write_glb

    courses = glued_courses if glued else turned_courses
    models = (Model(courses(shape), part=shape.part.name, base=shape.base) for shape in estimate.shapes)
    return write_glb(
        models,
        colours=colours_of(estimate),
        title=estimate.sheet.title,
        laminates=estimate.sheet.laminates,
    )


def solid_stl(estimate: "Estimate", *, glued: bool = False) -> bytes:
    """The turned piece as closed solids in binary STL, or every segment as glued up before turning."""
    from estimating.picture.segments import glued_segments, solids
    from estimating.picture.solids import write_stl

    bodies = glued_segments if glued else solids
    return write_stl((body, shape.base) for shape in estimate.shapes for body in bodies(shape))


def section_svg(estimate: "Estimate") -> str:
    """The section of the whole piece through its axis as SVG, full size, in mm."""
    from estimating.picture.drawing import draw_section

    return draw_section(subjects=subjects(estimate), title=estimate.sheet.title, full_size=True)


def section_dxf(estimate: "Estimate") -> str:
    """The section through the axis as a DXF drawing, in mm."""
    from estimating.picture.plot import write_dxf

    return write_dxf(estimate.shapes, bases=[shape.base for shape in estimate.shapes])
