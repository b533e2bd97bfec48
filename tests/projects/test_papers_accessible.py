"""Papers as files: PDF/UA-1 as it is declared, titles, language, fonts embedded, tables and pictures tagged."""

import io
from typing import Any

import pikepdf
import pytest

from projects.models import IssuedPaper, Studio
from projects.papers.printing import elements
from projects.services import papers
from tests.projects.agreed_orders import DAY, accepted_order

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kind", ["confirmation", "balance", "delivery", "credit"])
def test_a_paper_declares_itself_accessible_and_is_tagged(studio: Studio, kind: str) -> None:
    # PDF/UA-1 (ISO 14289-1) clauses 5, 7.1, 7.2, 7.3 and 7.5: identification, title, language, figures, table headers.
    commission = accepted_order(studio, client={"name": "Žofie Řeháková"})
    values: dict[str, Any] = {}
    if kind == "credit":
        corrects = IssuedPaper.objects.create(**a_request(commission))
        values = {"corrects": corrects, "reason": "As agreed."}
    paper = papers.paper_issue(commission=commission, kind=kind, today=DAY, **values)
    with pikepdf.open(io.BytesIO(bytes(paper.pdf))) as pdf:
        title = f"{paper.content['head']} {paper.number}: Tall vase for the stair"
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == title
        assert pdf.Root.Lang == "en"
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert str(pdf.docinfo["/Author"]) == studio.name
        tree = pdf.Root.StructTreeRoot.K
        headers = list(elements(tree, "/TH"))
        assert headers
        assert all(header.A.O == "/Table" and header.A.Scope in ("/Row", "/Column") for header in headers)
        figures = list(elements(tree, "/Figure"))
        assert len(figures) == (kind in ("confirmation", "delivery"))
        assert all("Tall vase for the stair" in str(figure.Alt) for figure in figures)
        assert len(list(elements(tree, "/H1"))) == 1
        for page in pdf.pages:
            for font in page.Resources.Font.values():
                holder = font.DescendantFonts[0] if "/DescendantFonts" in font else font
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(holder.FontDescriptor.keys())


def a_request(commission: Any) -> dict[str, Any]:
    """A request as it would be saved, without printing it."""
    draft = papers.paper_draft(commission=commission, kind="deposit", today=DAY)
    row = papers.paper_row(draft, commission=commission, number="D-2027-001", today=DAY)
    names = ("studio", "commission", "quote", "kind", "number", "stage", "issued_on", "due_on", "base", "tax")
    return {name: getattr(row, name) for name in (*names, "amount", "content")}
