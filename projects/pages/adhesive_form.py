"""The form of an adhesive: its label in groups, filled from the usual figures of a kind where one asks for it."""

from typing import Any

from django import forms

from estimating.glue.kinds import UsualAdhesive, usual_adhesives
from projects.models import Adhesive
from projects.pages.record_form import RecordForm
from projects.services.starting import adhesive_values

GROUPS = {
    "What it is": ("name", "kind", "usual"),
    "Mixing": ("ratio_a", "ratio_b", "mass_a", "mass_b", "density", "film", "exotherm_ml"),
    "Times, as on the label": (
        *("pot_life_min", "pot_life_at_c", "open_min", "set_min", "set_most_min", "press_min"),
        *("cure_min", "slower_c"),
    ),
    "Warmth and pressure": ("least_c", "pressure_low", "pressure_high"),
    "Care": ("cleaner", "cautions"),
    "The label, and what it costs": ("price_per_ml", "note", "label_read"),
}
UNITS = {
    "density": "g/ml",
    "exotherm_ml": "ml",
    "pressure_low": "MPa",
    "pressure_high": "MPa",
    **dict.fromkeys(("pot_life_at_c", "slower_c", "least_c"), "°C"),
    **dict.fromkeys(("pot_life_min", "open_min", "set_min", "set_most_min", "press_min", "cure_min"), "min"),
}
HELP = {
    "density": "Mixed.",
    "exotherm_ml": "A larger mix heats itself; 0: not known, or it never does.",
    "pot_life_min": "",
    "pot_life_at_c": "As on the label.",
    "open_min": "How long coated faces may lie open; 0: as long as the pot life.",
    "set_min": "Until it may leave the mandrel.",
    "set_most_min": "Where the label gives a range: its end. 0: none.",
    "press_min": "Under weight or in clamps.",
    "cure_min": "Until it can be turned.",
    "slower_c": "Colder, for all of these times; 0 where no such rule holds.",
    "least_c": "Of bench, wood and adhesive; not used below.",
    "pressure_low": "On the joint; 1 MPa is 145 lb/in².",
    "pressure_high": "More starves the joint.",
}
"""Beside a unit of its own a figure's help does without it."""

OWN = frozenset({"name", "note"})
"""What an adhesive on the shelf keeps when it is filled from a kind; price, use and tick are of no kind."""


class AdhesiveForm(RecordForm):
    """An adhesive, as its label says. `start` in the address fills in the usual figures of a kind; nothing is saved."""

    lengths, money = ("film",), ("price_per_ml",)

    class Meta:
        model = Adhesive
        fields = tuple(name for names in GROUPS.values() for name in names)
        widgets = {"cautions": forms.Textarea(attrs={"rows": 4}), "note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, initial: dict[str, Any] | None = None, **kwargs: Any) -> None:
        given = dict(initial or {})
        self.start: UsualAdhesive | None = usual_adhesives().get(str(given.pop("start", "")))
        if self.start is not None:
            values = adhesive_values(self.start.key)
            on_shelf = kwargs.get("instance") is not None
            given |= {name: value for name, value in values.items() if not (on_shelf and name in OWN)}
            given["label_read"] = False
        super().__init__(*args, initial=given, **kwargs)
        for name, unit in UNITS.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]
            self.fields[name].help_text = HELP[name]

    @property
    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields under their headings."""
        return [(title, [self[name] for name in names]) for title, names in GROUPS.items()]

    @property
    def kinds(self) -> list[tuple[str, str]]:
        """What one may start from: key and name."""
        return [(usual.key, usual.label.name) for usual in usual_adhesives().values()]

    @property
    def doubtful(self) -> list[tuple[str, str]]:
        """Of the figures filled in, which have no source at hand and which have none at all."""
        if self.start is None:
            return []
        said = (
            ("From memory", self.start.from_memory),
            ("Common practice, no source", self.start.common_practice),
        )
        return [(how, ", ".join(self._label(name) for name in names)) for how, names in said if names]

    def _label(self, name: str) -> str:
        return str(self.fields[name].label).lower() if name in self.fields else name
