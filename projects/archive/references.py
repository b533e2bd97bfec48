"""Ids that stand inside JSON: where they are, and how each is given its number in the archive, or its id again.

Every JSON field of the models is either in `MAPPED` or in `WITHOUT_IDS`; a test asks for a new one to be put in either.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import models as db

from projects import models

Model = type[db.Model]
Renumber = Callable[[Model, Any], int]
"""The other number of a row: from id to number where it is written, back where it is read. Below 0 for a row gone."""

_IS_ID = re.compile(r"-?\d{1,18}")
_MADE: Mapping[str, Model] = {
    "hours": models.HoursEntry,
    "as_built": models.AsBuilt,
    "mishaps": models.Mishap,
    "notes": models.StepNote,
    "lots": models.AdhesiveLot,
    "again": models.BenchStep,
}
_MARKED: Mapping[str, Model] = {"job": models.Commission, "due": models.Commission, "board": models.Board}
ATTACHED: Mapping[str, Model] = {
    "quote_client": models.Quote,
    "quote_trade": models.Quote,
    "paper": models.IssuedPaper,
}
"""What may go with a letter, by its kind."""


def _changed(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """What a tap changed: {"steps": {id: {"before", "after"}}, "hours": [id], ...}."""
    made = {
        what: [to(_MADE[what], pk) for pk in part] if what in _MADE else part for what, part in value.items()
    }
    if steps := value.get("steps"):
        made["steps"] = {
            str(to(models.BenchStep, pk)): {when: _step(fields, to) for when, fields in change.items()}
            for pk, change in steps.items()
        }
    return made


def _referring(model: Model) -> Mapping[str, Model]:
    return {
        field.name: field.related_model
        for field in model._meta.concrete_fields
        if field.is_relation and isinstance(field.related_model, type)
    }


_STEP, _RECORD = _referring(models.BenchStep), _referring(models.PieceRecord)


def _step(fields: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """Some fields of a step, its people by their ids."""
    return {
        name: _may_be(value, _STEP[name], to) if name in _STEP else value for name, value in fields.items()
    }


def _record(fields: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """Some fields of a record as they were, other rows by their ids."""
    return {
        name: to(_RECORD[name], value) if name in _RECORD and type(value) is int else value
        for name, value in fields.items()
    }


def _marks(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """Marks by what they are of: `job 3`, `due 3`, `board 12`; others have no id."""
    mapped = {}
    for name, mark in value.items():
        kind, _, whose = name.partition(" ")
        mapped[f"{kind} {to(_MARKED[kind], whose)}" if kind in _MARKED else name] = mark
    return mapped


def _plan(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """A frozen sawing plan: its commissions, and the boards of the rack that it saws, by `ref`."""
    if not value:
        return value
    plan, cutting = value["plan"], value["plan"]["cutting"]
    boards = _boards(cutting["boards"], to)
    whose = [to(models.Commission, pk) for pk in value["commissions"]]
    return value | {"commissions": whose, "plan": plan | {"cutting": cutting | {"boards": boards}}}


def _boards(value: list[dict[str, Any]], to: Renumber) -> list[dict[str, Any]]:
    """Boards, those of the rack with its name for them, which is their id as text."""
    return [
        board
        | ({"ref": str(to(models.Board, board["ref"]))} if _IS_ID.fullmatch(board.get("ref") or "") else {})
        for board in value
    ]


def _sheet(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """A frozen piece sheet, with the boards that lay on the rack."""
    return value | {"boards": _boards(value["boards"], to)} if value.get("boards") else value


def _estimate(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """A frozen estimate, with the boards that it saws: an acceptance sets them aside."""
    cutting = value.get("cutting") or {}
    if not cutting.get("boards"):
        return value
    return value | {"cutting": cutting | {"boards": _boards(cutting["boards"], to)}}


def _before(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """An hours entry as it was, with its commission."""
    if "commission" not in value:
        return value
    return value | {"commission": _may_be(value["commission"], models.Commission, to)}


def _choice(value: dict[str, Any], to: Renumber) -> dict[str, Any]:
    """What is other in an option of a quote, with its finish."""
    return value | {"finish": _may_be(value["finish"], models.Finish, to)} if "finish" in value else value


def _attachments(value: list[dict[str, Any]], to: Renumber) -> list[dict[str, Any]]:
    """What goes with a letter: [{"kind", "id"}]."""
    return [one | {"id": to(ATTACHED[one["kind"]], one["id"])} for one in value]


def _may_be(value: Any, model: Model, to: Renumber) -> int | None:
    return None if value is None else to(model, value)


@dataclass(frozen=True)
class Inside:
    """How the ids inside a JSON field are given other numbers, and the models they are of."""

    mapped: Callable[[Any, Renumber], Any]
    models: tuple[Model, ...]


MAPPED: Mapping[tuple[Model, str], Inside] = {
    (models.BenchTap, "changed"): Inside(_changed, (*_MADE.values(), *_STEP.values())),
    (models.CalendarPlan, "marks"): Inside(_marks, tuple(_MARKED.values())),
    (models.HoursChange, "before"): Inside(_before, (models.Commission,)),
    (models.Letter, "attachments"): Inside(_attachments, tuple(ATTACHED.values())),
    (models.QuoteOption, "choice"): Inside(_choice, (models.Finish,)),
    **{
        (model, name): Inside(mapped, (models.Board,))
        for model in (models.Quote, models.QuoteOption, models.ChangeOrder)
        for name, mapped in (("sheet", _sheet), ("estimate", _estimate))
    },
    (models.SignOff, "sheet"): Inside(_sheet, (models.Board,)),
    (models.RecordChange, "before"): Inside(_record, tuple(set(_RECORD.values()))),
    (models.SawingPlan, "marks"): Inside(_marks, tuple(_MARKED.values())),
    (models.SawingPlan, "plan"): Inside(_plan, (models.Commission, models.Board)),
}
"""JSON fields with ids in them."""

_FROZEN = "A copy in words and figures, kept as it was handed out."
_FIGURES = "Numbers of layers and rings, keys of woods and steps, and measures."

WITHOUT_IDS: Mapping[tuple[Model, str], str] = {
    **{(models.Quote, name): _FROZEN for name in ("letterhead", "addressee", "species", "finish")},
    **{(models.QuoteOption, name): _FROZEN for name in ("says", "species", "finish")},
    (models.IssuedPaper, "content"): _FROZEN,
    (models.Design, "laminates"): _FIGURES,
    (models.Part, "close_at"): _FIGURES,
    **{(models.Form, name): _FIGURES for name in ("outer", "inner")},
    **{(models.Band, name): _FIGURES for name in ("woods", "offsets", "chart")},
    **{
        (models.BenchStep, name): _FIGURES
        for name in ("rings", "layers", "shares", "uses", "after", "planning")
    },
    (models.BenchStep, "card"): "The glue card as it was shown, and a mark of the design.",
    (models.BenchTap, "payload"): "What was typed, and the UUID of another tap, which stays as it is.",
    **{(models.Mishap, name): _FIGURES for name in ("layers", "rings")},
    (models.Board, "defects"): _FIGURES,
    (models.PieceRecord, "known"): "Plain rows, copied when the piece was finished.",
    (models.SerialScheme, "counts"): "How far the serial numbers of a year have come.",
    (models.SawingPlan, "steps"): "What each effort came to: costs, bounds and seconds.",
    (models.ShopSettings, "usual_board_thicknesses"): _FIGURES,
}
"""JSON fields that are carried as they are, and why they may be."""
