"""How a catalogue is printed: asked below the log's table, in the page's address."""

from django import forms

MOST_PIECES = 60
"""As many as are printed while somebody waits."""

A_PAGE = [("2", "two pieces a page"), ("3", "three pieces a page")]


class CatalogueForm(forms.Form):
    """Its title, its prices and its pictures' size; empty is as usual."""

    title = forms.CharField(label="title of the catalogue", max_length=120, required=False)
    a_page = forms.ChoiceField(label="pictures", choices=A_PAGE, required=False)
    prices = forms.BooleanField(label="with prices", required=False)

    def __init__(self, data: object = None) -> None:
        super().__init__(data, auto_id="catalogue-%s")  # type: ignore[arg-type]  # a page's address

    def clean_a_page(self) -> str:
        """Two where nothing is said."""
        return self.cleaned_data["a_page"] or "2"
