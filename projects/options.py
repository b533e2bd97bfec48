"""A commission's piece as it is and otherwise: other woods, sizes, finishes and numbers, each estimated anew."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from projects import models
from projects.estimates import finish_as_sheet, sheet_data, workshop_of

if TYPE_CHECKING:
    from estimating.options import Tried


@dataclass(frozen=True, slots=True)
class Choice:
    """What is other: a wood's key by another's, the size as a factor, a finish off the shelf, how many."""

    wood: str = ""
    by: str = ""
    size: float = 1.0
    finish: models.Finish | None = None
    quantity: int | None = None

    @property
    def is_none(self) -> bool:
        """Whether nothing is other."""
        return self == Choice()


def options_of(
    design: models.Design, *, commission: models.Commission, choices: Sequence[Choice]
) -> "tuple[Tried, ...]":
    """The piece as it is, and each choice; one that cannot be made says why.

    Errors: estimating.errors.InvalidInput for what is no option; InvalidSheet where the design cannot be read.
    """
    # Imported here since the arithmetic brings numpy and the solver, which most pages never need.
    from estimating.options import Option, try_options
    from estimating.sheet import read_sheet

    workshop = workshop_of(design.studio)
    data = sheet_data(design, commission=commission, more_woods=[one.by for one in choices if one.by])
    options = [
        Option(
            wood=one.wood,
            by=one.by,
            size=one.size,
            finish=finish_as_sheet(one.finish) if one.finish else None,
            quantity=one.quantity,
        )
        for one in (Choice(), *choices)
    ]
    return try_options(read_sheet(data, workshop=workshop), workshop, options)
