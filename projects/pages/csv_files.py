"""Lists as CSV files: written so that a spreadsheet takes no cell for a formula, and read with each error placed."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

MOST_BYTES = 200_000
MOST_ROWS = 500

# A cell that begins like this is run by spreadsheets, which may be made to do harm.
_RISKY = re.compile(r"'*[=+\-@\t\r\n]")
_DISARMED = re.compile(r"'+[=+\-@\t\r\n]")
_HEAD = re.compile(r"\s*([^()]*?)\s*(?:\(([^()]*)\))?\s*\Z")
# 1,200 is twelve hundred to some and a little over one to others.
_EITHER = re.compile(r"\d{1,3}(?:,\d{3})+")

Line = tuple[int, list[str]]
"""The number of the file's line on which it begins, and its cells."""


@dataclass(frozen=True, slots=True)
class CsvError:
    """What is wrong, and where: the line of the file, and the column's head, empty for the whole line."""

    line: int
    column: str
    words: str


@dataclass(frozen=True, slots=True)
class Column:
    """A column as the file has it: the field, empty for one without a head, and what stands in brackets."""

    name: str
    head: str = ""
    unit: str = ""


def disarmed(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula; `armed` gives back what it was."""
    return f"'{cell}" if _RISKY.match(cell) else cell


def armed(cell: str) -> str:
    """What a cell was before it was disarmed."""
    return cell[1:] if _DISARMED.match(cell) else cell


def written(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells as CSV below their heads, none of them a formula."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows([disarmed(cell) for cell in row] for row in rows)
    return out.getvalue()


def handed_out(text: str, *, name: str) -> HttpResponse:
    """A CSV to be saved under a name."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    # With the mark that tells spreadsheets of UTF-8.
    return HttpResponse("\ufeff" + text, content_type="text/csv; charset=utf-8", headers=headers)


def sent_text(request: HttpRequest) -> str:
    """The text that was typed or, where one was chosen, of the file.

    Errors: ValueError with a sentence for one that is too long, or in no UTF-8.
    """
    if file := request.FILES.get("file"):
        return decoded(file.read(MOST_BYTES + 1))
    text: str = request.POST.get("text", "")
    decoded(text.encode(errors="replace"))
    return text


def decoded(content: bytes) -> str:
    """The text of a file.

    Errors: ValueError with a sentence for one that is too long, or in no UTF-8.
    """
    if len(content) > MOST_BYTES:
        raise ValueError(f"The file is longer than {MOST_BYTES // 1000} kB. Bring it in in parts.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise ValueError(
            "The file is not text in UTF-8. Save it from the spreadsheet as “CSV UTF-8” and choose it again."
        )
    return text


def read_lines(text: str, columns: Mapping[str, str], errors: list[CsvError]) -> list[Line]:
    """The lines with something on them, the heads first; none where `errors` say that the file cannot be read."""
    text = text.removeprefix("\ufeff")
    lines: list[Line] = []
    try:
        for line in _lines(text, _parting(text, columns)):
            lines.append(line)
    except _UnreadableLine as trouble:
        errors.append(CsvError(trouble.line, "", f"The file cannot be read as CSV from here: {trouble}."))
        return []
    if not lines:
        errors.append(CsvError(1, "", "The file is empty. Its first line names the columns."))
    return lines


class _UnreadableLine(ValueError):
    """What is wrong with the row that begins on a line."""

    def __init__(self, line: int, words: str) -> None:
        super().__init__(words)
        self.line = line


def _lines(text: str, parting: str) -> Iterator[Line]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parting, strict=True)
    while True:
        begins = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            unclosed = "unexpected end" in str(error)
            raise _UnreadableLine(
                begins, "a quote is opened and never closed" if unclosed else str(error)
            ) from None
        if any(cell.strip() for cell in cells):
            yield begins, cells


def _parting(text: str, columns: Mapping[str, str]) -> str:
    """What parts the cells: the sign that finds more of the known columns in the first line."""
    first = next((line for line in text.splitlines() if line.strip()), "")

    def known(sign: str) -> int:
        return sum(_head(cell.strip(' "'))[0] in columns for cell in first.split(sign))

    return ";" if known(";") > known(",") else ","


def _head(cell: str) -> tuple[str, str]:
    """A column's name in small letters, and what stands in brackets after it."""
    match = _HEAD.match(cell)
    return (match[1].lower(), (match[2] or "").strip()) if match else (cell.strip().lower(), "")


def read_heads(cells: Sequence[str], columns: Mapping[str, str], errors: list[CsvError]) -> list[Column]:
    """The columns of a file by their heads; `columns` are those there may be, each with its field."""
    found: list[Column] = []
    for cell in cells:
        head, unit = _head(armed(cell))
        name = columns.get(head, "")
        if head and not name:
            errors.append(
                CsvError(1, cell.strip(), f"Not a column here. There may be: {', '.join(columns)}.")
            )
        elif name and name in [known.name for known in found]:
            errors.append(CsvError(1, head, "This column is there twice."))
        found.append(Column(name, head, unit))
    return found


def too_many(lines: Sequence[Line], what: str, errors: list[CsvError]) -> bool:
    """Whether there are more rows than are brought in at once, which `errors` then say; they also say if none is."""
    if len(lines) - 1 > MOST_ROWS:
        words = f"The file has {len(lines) - 1} rows; bring in {MOST_ROWS} at a time."
        errors.append(CsvError(1, "", words))
        return True
    if len(lines) == 1:
        errors.append(CsvError(1, "", f"The file names columns, but has no row of {what}."))
    return False


def refuse_long(line: int, cells: Sequence[str], columns: Sequence[Column], errors: list[CsvError]) -> None:
    """Say so where a line has more cells than there are columns, or one below no head."""
    if any(cell.strip() for cell in cells[len(columns) :]):
        words = (
            f"This line has {len(cells)} cells for {len(columns)} columns. Put text with commas in quotes."
        )
        errors.append(CsvError(line, "", words))
    for number, (cell, column) in enumerate(zip(cells, columns, strict=False), start=1):
        if not column.head and cell.strip():
            errors.append(CsvError(line, "", f"Column {number} has no head. Name it, or leave it empty."))


def with_point(text: str) -> str:
    """A number with a decimal comma as one with a point.

    Errors: ValueError with a sentence for 1,200, which is two numbers to two readers.
    """
    if _EITHER.fullmatch(text):
        raise ValueError(
            f"Is that {text.replace(',', '')}, or {text.replace(',', '.', 1)}? Leave the comma out."
        )
    return text.replace(",", ".") if re.fullmatch(r"\d+,\d+(\s*[a-zA-Z]+)?", text) else text
