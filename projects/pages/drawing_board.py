"""The drawing board: each edit is read, estimated and drawn again; saving is a step of its own."""

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from estimating.errors import InvalidSheet
from projects.estimates import estimate_design
from projects.family import family_of
from projects.models import Commission, Design, Wood
from projects.models.bands import Bored, Made, Match
from projects.models.designs import LaminateKind
from projects.models.parts import BuildFrom, Curve, Held, InsideKind, Sits
from projects.pages import labels, shaping, starting
from projects.pages.access import StudioRequest
from projects.pages.counts import counts
from projects.pages.draft import Draft, Piece, rows_of, saved, typed
from projects.pages.edits import add_part, edit
from projects.pages.pictures import chosen_ring, piece_drawing, whole_drawing
from projects.pages.profile import PROFILE_KINDS
from projects.pages.reading import read
from projects.pages.refusals import refused_save, refused_sheet
from projects.services.designs import design_save

if TYPE_CHECKING:
    from estimating.estimate import Estimate

# Shorter than the model's own words: they stand in a narrow field.
MADE_WORDS = (
    (Made.CUT, "cut one by one"),
    (Made.SLICED, "sliced from thick rings"),
    (Made.SOLID, "solid discs"),
    (Made.VENEER, "veneer"),
    (Made.STAVES, "upright staves"),
)
BORED_WORDS = ((Bored.NOT, "no"), (Bored.NEEDED, "as the tips need"), (Bored.SET, "to a diameter"))
HELD_WORDS = (
    (Held.NOT, "as it comes"),
    (Held.TENON, "a tenon"),
    (Held.RECESS, "a recess"),
    (Held.WASTE_BLOCK, "a waste block"),
)
SITS_WORDS = ((Sits.NOT, "by itself"), (Sits.ON, "glued on"), (Sits.IN, "loose in the rim of"))


SIZE_WALLS = (("keep", "keep the wall"), ("scale", "scale the wall"))
SIZE_LAYERS = (
    ("thickness", "as many as it takes"),
    ("count", "as thick as it takes"),
    ("leave", "left as they are"),
)
TOOL = re.compile(r"\Aparts-([0-9]{1,3})-(lay|resize|profile)\Z")


@dataclass
class Board:
    """One answer of the drawing board: the draft, what it comes to, and what became of a save."""

    design: Design
    job: Commission | None
    draft: Draft
    estimate: "Estimate | None" = None
    piece: Piece | None = None
    is_saved: bool = True
    just_saved: bool = False
    newer: Design | None = None
    extra: dict[str, Any] = field(default_factory=dict)


def answer(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    """The whole page, or the parts of it that an edit changes."""
    if request.method == "GET":
        board = Board(design, job, saved(design, studio=request.studio))
        _work_out(board, request)
        context = _context(board, request) | {"family": family_of(design)}
        return render(request, "designs/board.html", context)
    board = Board(design, job, typed(request.POST), is_saved=False)
    what = request.POST.get("do", "try")
    if what.startswith("save"):
        return _save(board, request, over=what.removeprefix("save").removeprefix("-"))
    not_done = _edit(board.draft, what, request)
    _work_out(board, request)
    for name, messages in not_done.items():
        board.draft.errors.setdefault(name, []).extend(messages)
    return _shown(board, request, whole_editor=what != "try")


def _edit(draft: Draft, what: str, request: StudioRequest) -> dict[str, list[str]]:
    """Do what a button says; what could not be done comes back by field, in words."""
    studio = request.studio
    if what == "new-part":
        return add_part(draft, studio=studio)
    tool = TOOL.match(what)
    if tool is None or int(tool[1]) >= len(draft.parts):
        return edit(draft, what)
    index = draft.shown = int(tool[1])
    match tool[2]:
        case "lay":
            return shaping.lay(draft, index, studio=studio)
        case "resize":
            return shaping.resize(draft, index, studio=studio)
    return shaping.take_profile(draft, index, request.FILES.get(f"parts-{index}-profile"), studio=studio)


def _work_out(board: Board, request: StudioRequest) -> None:
    """Read the draft and estimate it; what is wrong with it ends up in its errors."""
    board.piece = read(board.draft, studio=request.studio)
    if board.piece is None:
        return
    design, parts = board.piece.unsaved(board.design)
    try:
        _, board.estimate = estimate_design(design, commission=board.job, parts=parts)
    except InvalidSheet as refusal:
        refused_sheet(board.draft, board.piece, refusal, studio=request.studio)


def _save(board: Board, request: StudioRequest, *, over: str) -> HttpResponse:
    """Save what was typed, if nobody saved in between or `over` is the revision they left and it is known."""
    _work_out(board, request)
    if board.piece is None:
        return _shown(board, request, whole_editor=False, refused=True)
    expected = int(over) if over.isdecimal() and len(over) < 10 else board.draft.revision
    try:
        board.design = design_save(
            design=board.design,
            expected_revision=expected,
            parts=board.piece.parts,
            **board.piece.values,
        )
    except ValidationError as refusal:
        if getattr(refusal, "code", "") == "stale":
            board.newer = Design.objects.get(pk=board.design.pk)
        refused_save(board.draft, refusal)
        return _shown(board, request, whole_editor=False, refused=True)
    board.draft.revision = board.design.revision
    board.is_saved = board.just_saved = True
    return _shown(board, request, whole_editor=False)


def _shown(
    board: Board, request: StudioRequest, *, whole_editor: bool, refused: bool = False
) -> HttpResponse:
    """Parts for a page that is open, the whole page for a browser without scripts."""
    htmx = bool(getattr(request, "htmx", False))
    if not htmx:
        _show_what_is_wrong(board.draft)
    if board.just_saved and not htmx:
        return redirect(request.path)
    context = _context(board, request) | {"whole_editor": whole_editor, "refused": refused}
    if not htmx:
        return render(request, "designs/board.html", context, status=400 if refused else 200)
    # A refusal is an answer to be shown in its place, which a browser's script does for good answers only.
    response = render(request, "designs/parts.html", context)
    if whole_editor:
        response["HX-Retarget"], response["HX-Reswap"] = "#editor", "outerHTML"
    return response


def _show_what_is_wrong(draft: Draft) -> None:
    """Without scripts nothing else brings a part to light that is wrong while another is looked at."""
    wrong = [int(found[1]) for name in draft.errors if (found := re.match(r"parts-(\d+)", name))]
    if wrong and draft.shown not in wrong and wrong[0] < len(draft.parts):
        draft.shown = wrong[0]


def _context(board: Board, request: StudioRequest) -> dict[str, Any]:
    draft, studio = board.draft, request.studio
    woods = list(Wood.objects.for_studio(studio))
    used = {key for part in draft.parts for band in part.bands for key in (*band.woods, band.plug)}
    context: dict[str, Any] = {
        "section": "jobs" if board.job else "designs",
        "board": board,
        "design": board.design,
        "job": board.job,
        "draft": draft,
        "parts": rows_of(draft),
        "problems": labels.problems(draft),
        "woods": [wood for wood in woods if wood.active or wood.key in used],
        "plugs": [(wood.key, wood.name) for wood in woods if wood.active or wood.key in used],
        "colours": {wood.key: wood.colour for wood in woods},
        "curves": Curve.choices,
        "insides": InsideKind.choices,
        "mades": MADE_WORDS,
        "boreds": BORED_WORDS,
        "matches": Match.choices,
        "helds": HELD_WORDS,
        "ends": BuildFrom.choices,
        "sitses": SITS_WORDS,
        "kinds": LaminateKind.choices,
        "size_walls": SIZE_WALLS,
        "saved_parts": board.design.parts.count(),
        "profile_kinds": tuple(PROFILE_KINDS),
        "size_layers": SIZE_LAYERS,
        "shapes": (("", "nothing: draw it"), *starting.choices()),
        "laminates": list(enumerate(draft.laminates)),
        "adhesives": studio.adhesives.all(),
        "finishes": studio.finishes.all(),
        "now": timezone.localtime(),
    }
    if estimate := board.estimate:
        context["estimate"] = estimate
        context["count"] = counts(estimate)
        context["rings"] = estimate.rings
        context["drawing"] = piece_drawing(
            estimate, studio=studio, part=draft.shown, narrow=request.POST.get("narrow") == "yes"
        )
        context["whole"] = whole_drawing(estimate, studio=studio)
        context["chosen"] = chosen_ring(estimate, studio=studio, number=request.POST.get("ring", ""))
    return context
