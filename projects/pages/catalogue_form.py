"""What is said of a catalogue itself: its title, a text before its pieces, prices, and how large its pictures are."""

from typing import Any

from django import forms

LONGEST_INTRODUCTION = 1500

A_PAGE = [("2", "two pieces a page"), ("3", "three pieces a page")]


class CatalogueForm(forms.Form):
    """Empty is as usual."""

    title = forms.CharField(max_length=120, required=False)
    introduction = forms.CharField(
        label="Introduction",
        max_length=LONGEST_INTRODUCTION,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Stands below the title. An empty line begins a new paragraph.",
    )
    a_page = forms.ChoiceField(label="Pictures", choices=A_PAGE, required=False)
    prices = forms.BooleanField(label="With prices", required=False)

    def __init__(self, data: Any = None, *, usual_title: str = "", **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.usual_title = usual_title
        self.fields["title"].help_text = f"Empty: {usual_title}." if usual_title else ""

    def clean_a_page(self) -> str:
        """Two where nothing is said."""
        return self.cleaned_data["a_page"] or "2"

    @property
    def settings(self) -> dict[str, Any]:
        """What the paper is printed with."""
        given = self.cleaned_data
        return {
            "title": given["title"] or self.usual_title,
            "introduction": given["introduction"],
            "with_prices": given["prices"],
            "a_page": int(given["a_page"]),
        }
