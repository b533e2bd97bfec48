"""The calendar to scale: days across, a row for the bench and for whatever is held; from plain figures alone."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from estimating.picture.svg import PAPER, document, element, number, text_of

State = Literal["waiting", "running", "done"]

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_LETTER = 0.56
"""Mean width of a letter by its height, on the wide side: whether words fit is reckoned with it."""

_SAME = 1e-6
"""Days: two moments nearer than a tenth of a second are one."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What goes on from `start` to `end`, in days since the first midnight; `passive`: set, press, cure, dry or rest.

    `job` is the short mark of the commission it is for, `words` what it is.
    """

    start: float
    end: float
    job: str
    words: str
    passive: bool = False
    state: State = "waiting"


@dataclass(frozen=True, slots=True)
class Row:
    """A person's work, or a thing that is held, with all its bars."""

    name: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Flag:
    """A moment that is marked in every row: a piece done, or promised (dashed)."""

    at: float
    words: str
    promised: bool = False


@dataclass(frozen=True)
class CalendarDrawing:
    """What is drawn. Moments are in days since midnight of `first` as the clock on the wall shows them.

    `hours` are the bench hours, `off` the reasons why a day has none, by the number of the day counted from 0.
    """

    first: date
    days: int
    rows: Sequence[Row]
    hours: Sequence[tuple[float, float]] = ()
    off: Mapping[int, str] = field(default_factory=dict)
    flags: Sequence[Flag] = ()
    now: float | None = None


@dataclass(frozen=True, slots=True)
class _Way:
    """How it lies: days in one strip, width of a day, room for the rows' names, height of text; no length in mm."""

    fold: int
    day: float
    left: float
    text: float

    @property
    def lane(self) -> float:
        return 1.5 * self.text

    def fits(self, words: str, width: float) -> bool:
        return len(words) * _LETTER * self.text <= width - 0.3 * self.text


_WIDE = _Way(fold=7, day=128.0, left=112.0, text=12.5)
_NARROW = _Way(fold=3, day=118.0, left=0.0, text=13.0)


def draw_calendar(
    drawing: CalendarDrawing,
    *,
    title: str,
    description: str,
    narrow: bool = False,
    prefix: str = "cal",
) -> str:
    """The calendar as SVG: weeks one below the other, or three days at a time where it is `narrow`.

    Shape: one scale throughout; bench hours are the light ground, everything else a shade darker. A strip shows the
        rows in which something goes on; bars that overlap in a row lie one below the other. Strips in which nothing
        begins or ends are told in one line. Bars carry data-row, data-job and data-state; ink is currentColor, and
        no wood colour stands on it. What nobody has to attend to is hatched. `prefix` begins every id.
    Errors: ValueError for no days, and for a bar that ends before it begins. Words are escaped.
    """
    if drawing.days < 1:
        raise ValueError("a calendar needs at least one day")
    if any(bar.end < bar.start for row in drawing.rows for bar in row.bars):
        raise ValueError("a bar must not end before it begins")
    way = _NARROW if narrow else _WIDE
    parts, height = _Picture(drawing, way, prefix).drawn()
    width = way.left + way.fold * way.day
    return document(
        _hatching(prefix),
        *parts,
        box=(-1.0, -1.0, width + 2.0, height + 2.0),
        title=title,
        description=description,
        prefix=prefix,
    )


def lanes(bars: Sequence[Bar]) -> list[list[Bar]]:
    """The bars in as few lanes as can be, none overlapping another in its lane; in order of their start."""
    found: list[list[Bar]] = []
    for bar in sorted(bars, key=lambda bar: (bar.start, bar.end)):
        free = next((lane for lane in found if lane[-1].end <= bar.start + _SAME), None)
        if free is None:
            found.append([bar])
        else:
            free.append(bar)
    return found


def _hatching(prefix: str) -> str:
    """Slanting hairlines, which print in black and white."""
    line = element("path", d="M0,5 L5,0", stroke="currentColor", stroke_width=0.6, fill="none")
    pattern = element("pattern", line, id=f"{prefix}-hatch", width=5, height=5, patternUnits="userSpaceOnUse")
    return element("defs", pattern)


@dataclass(frozen=True, slots=True)
class _Strip:
    """So many days side by side, with what shows in them."""

    start: int
    end: int
    rows: tuple[Row, ...]
    flags: tuple[Flag, ...]
    now: float | None

    @property
    def is_quiet(self) -> bool:
        """Whether nothing begins, ends or is marked in it; now alone, with nothing beside it, says nothing."""
        spans = [bar for row in self.rows for bar in row.bars]
        through = all(bar.start <= self.start + _SAME and bar.end >= self.end - _SAME for bar in spans)
        return through and not self.flags and (self.now is None or not spans)


class _Picture:
    """The strips of one calendar, drawn from the top down."""

    def __init__(self, drawing: CalendarDrawing, way: _Way, prefix: str) -> None:
        self.drawing, self.way, self.prefix = drawing, way, prefix

    def drawn(self) -> tuple[list[str], float]:
        """All parts, and how high they are together."""
        parts: list[str] = []
        y, quiet = 0.0, list[_Strip]()
        for strip in self._strips():
            if strip.is_quiet:
                quiet.append(strip)
                continue
            parts += self._told(quiet, y)
            y += self._told_height(quiet)
            quiet = []
            drawn, height = self._strip(strip, y)
            parts += drawn
            y += height + 0.9 * self.way.text
        parts += self._told(quiet, y)
        return parts, y + self._told_height(quiet)

    def _strips(self) -> Iterator[_Strip]:
        """Weeks begin on a Monday; three days at a time begin with the first day."""
        drawing, fold = self.drawing, self.way.fold
        first = -drawing.first.weekday() if fold == 7 else 0
        for start in range(first, drawing.days, fold):
            end = start + fold
            rows = tuple(
                Row(row.name, bars)
                for row in drawing.rows
                if (bars := tuple(bar for bar in row.bars if _shows(bar.start, bar.end, start, end)))
            )
            flags = tuple(flag for flag in drawing.flags if start <= flag.at < end)
            now = drawing.now if drawing.now is not None and start <= drawing.now < end else None
            yield _Strip(start, end, rows, flags, now)

    def _told_height(self, quiet: Sequence[_Strip]) -> float:
        return 2.2 * self.way.text if quiet else 0.0

    def _told(self, quiet: Sequence[_Strip], y: float) -> list[str]:
        """One line for strips in which nothing begins or ends."""
        if not quiet:
            return []
        names = dict.fromkeys(row.name for strip in quiet for row in strip.rows)
        first, last = self._day(max(quiet[0].start, 0)), self._day(min(quiet[-1].end, self.drawing.days) - 1)
        when = first if first == last else f"{first} to {last}"
        words = f"{when}: {', '.join(names) or 'nothing planned'}"
        return [self._write(words, 0.0, y + 1.3 * self.way.text, opacity=0.75)]

    def _strip(self, strip: _Strip, y: float) -> tuple[list[str], float]:
        way = self.way
        head = y + 1.5 * way.text + (1.2 * way.text if self._reasons(strip) else 0.0)
        rows, bottom = self._rows(strip, head)
        flags, below = self._flags(strip, head, bottom)
        parts = [*self._ground(strip, head, bottom), *self._heads(strip, y, bottom), *rows, *flags]
        return parts, below - y

    def _x(self, strip: _Strip, at: float) -> float:
        return self.way.left + (min(max(at, strip.start), strip.end) - strip.start) * self.way.day

    def _ground(self, strip: _Strip, top: float, bottom: float) -> Iterator[str]:
        """Nights and days off a shade darker than bench hours."""
        height = bottom - top
        yield element(
            "rect", x=self.way.left, y=top, width=self.way.fold * self.way.day, height=height,
            fill="currentColor", fill_opacity=0.07,
        )  # fmt: skip
        for start, end in self.drawing.hours:
            if _shows(start, end, strip.start, strip.end):
                x = self._x(strip, start)
                yield element(
                    "rect", x=x, y=top, width=self._x(strip, end) - x, height=height, fill=PAPER, class_="dw-hours"
                )  # fmt: skip

    def _reasons(self, strip: _Strip) -> bool:
        return any(self.drawing.off.get(day) for day in range(strip.start, strip.end))

    def _heads(self, strip: _Strip, y: float, bottom: float) -> Iterator[str]:
        """The days' names, why a day is off, and a hairline at each midnight."""
        way = self.way
        for day in range(strip.start, strip.end + 1):
            x = self._x(strip, day)
            yield self._line(x, y, bottom, width=0.5, opacity=0.5)
            if day == strip.end:
                continue
            is_first = day in (strip.start, 0)
            yield self._write(self._day(day, month=is_first), x + 4, y + 1.05 * way.text, strong=True)
            if reason := self.drawing.off.get(day, ""):
                room = int((way.day - 8) / (_LETTER * way.text))
                short = reason if len(reason) <= room else f"{reason[: room - 1]}…"
                yield self._write(short, x + 4, y + 2.25 * way.text, opacity=0.75, tip=reason)

    def _day(self, day: int, *, month: bool = True) -> str:
        on = self.drawing.first + timedelta(days=day)
        short = f"{_DAYS[on.weekday()]} {on.day}"
        return f"{short} {_MONTHS[on.month - 1]}" if month or on.day == 1 else short

    def _rows(self, strip: _Strip, y: float) -> tuple[list[str], float]:
        way, parts = self.way, list[str]()
        for row in strip.rows:
            y += 0.25 * way.text
            if way.left:
                parts.append(self._write(row.name, 0.0, y + 0.68 * way.lane))
            else:
                parts.append(self._write(row.name, 3.0, y + 0.9 * way.text, opacity=0.8))
                y += 1.2 * way.text
            for lane in lanes(row.bars):
                parts += self._lane(strip, row.name, lane, y)
                y += way.lane
            y += 0.25 * way.text
        if not strip.rows:
            y += way.lane
        return parts, y

    def _lane(self, strip: _Strip, row: str, lane: Sequence[Bar], y: float) -> Iterator[str]:
        for bar in lane:
            yield self._bar(strip, row, bar, y)
        for run in _runs(lane):
            yield from self._words(strip, run, y)

    def _bar(self, strip: _Strip, row: str, bar: Bar, y: float) -> str:
        x, end = self._x(strip, bar.start), self._x(strip, bar.end)
        fill, opacity = "currentColor", {"waiting": 0.13, "running": 0.13, "done": 0.32}[bar.state]
        if bar.passive:
            fill, opacity = (
                f"url(#{self.prefix}-hatch)",
                {"waiting": 0.5, "running": 0.8, "done": 0.8}[bar.state],
            )
        said = f"{bar.job}: {bar.words}" if bar.job else bar.words
        return element(
            "rect", element("title", text_of(said)), x=x, y=y + 1.0, width=end - x, height=self.way.lane - 2.0,
            fill=fill, fill_opacity=opacity, stroke="currentColor",
            stroke_width=1.8 if bar.state == "running" else 0.6, class_="dw-bar",
            data_row=row, data_job=bar.job, data_state=bar.state,
        )  # fmt: skip

    def _words(self, strip: _Strip, run: Sequence[Bar], y: float) -> Iterator[str]:
        """What fits: each bar's words, or the job's mark once for a run of narrow bars of one job."""
        narrow: list[Bar] = []
        for bar in run:
            x, end = self._x(strip, bar.start), self._x(strip, bar.end)
            words = f"{bar.job} {bar.words}".strip()
            if self.way.fits(words, end - x):
                yield self._label(words, (x + end) / 2, y)
            else:
                narrow.append(bar)
        for part in _runs(narrow):
            x, end = self._x(strip, part[0].start), self._x(strip, part[-1].end)
            if part[0].job and self.way.fits(part[0].job, end - x):
                yield self._label(part[0].job, (x + end) / 2, y)

    def _label(self, words: str, middle: float, y: float) -> str:
        """Words on a bar; a rim of paper keeps them clear of hatching and edges."""
        return self._write(words, middle, y + 0.68 * self.way.lane, anchor="middle", strong=True, rim=True)

    def _flags(self, strip: _Strip, top: float, bottom: float) -> tuple[list[str], float]:
        """Vertical lines, each with its words in a line of its own below the rows."""
        way, parts, y = self.way, list[str](), bottom
        if strip.now is not None:
            parts.append(self._line(self._x(strip, strip.now), top, bottom + 0.3 * way.text, width=2.2))
            parts.append(self._beside("now", strip, strip.now, y + 1.15 * way.text))
            y += 1.25 * way.text
        # The last one stands highest, so that its line does not run through the words of those before.
        for flag in sorted(strip.flags, key=lambda flag: -flag.at):
            dashes = "4 3" if flag.promised else None
            parts.append(
                self._line(self._x(strip, flag.at), top, y + 1.2 * way.text, width=1.2, dashes=dashes)
            )
            parts.append(self._beside(flag.words, strip, flag.at, y + 1.15 * way.text))
            y += 1.25 * way.text
        return parts, y

    def _beside(self, words: str, strip: _Strip, at: float, y: float) -> str:
        """Words to the right of a line, or to the left where there is no room."""
        x, wide = self._x(strip, at), len(words) * _LETTER * self.way.text
        right_edge = self.way.left + self.way.fold * self.way.day
        if x + 4 + wide <= right_edge:
            return self._write(words, x + 4, y)
        return self._write(words, x - 4, y, anchor="end")

    def _line(
        self, x: float, top: float, bottom: float, *, width: float, opacity: float = 1.0, dashes: str | None = None
    ) -> str:  # fmt: skip
        return element(
            "path", d=f"M{number(x)},{number(top)}V{number(bottom)}", stroke="currentColor", fill="none",
            stroke_width=width, stroke_opacity=opacity if opacity < 1 else None, stroke_dasharray=dashes,
        )  # fmt: skip

    def _write(
        self, words: str, x: float, y: float, *, anchor: str | None = None, strong: bool = False,
        opacity: float | None = None, tip: str = "", rim: bool = False,
    ) -> str:  # fmt: skip
        title = element("title", text_of(tip)) if tip else ""
        return element(
            "text", title + text_of(words), x=x, y=y, font_size=self.way.text, fill="currentColor",
            text_anchor=anchor, font_weight="600" if strong else None, fill_opacity=opacity, aria_hidden="true",
            stroke=PAPER if rim else None, stroke_width=2.6 if rim else None, paint_order="stroke" if rim else None,
        )  # fmt: skip


def _shows(start: float, end: float, first: float, last: float) -> bool:
    return start < last - _SAME and (end > first + _SAME or start == end >= first)


def _runs(bars: Sequence[Bar]) -> Iterator[list[Bar]]:
    """Bars of one job that follow one another without a pause."""
    run: list[Bar] = []
    for bar in bars:
        alike = run and run[-1].job == bar.job and run[-1].passive == bar.passive
        if alike and bar.start - run[-1].end < _SAME:
            run.append(bar)
            continue
        if run:
            yield run
        run = [bar]
    if run:
        yield run
