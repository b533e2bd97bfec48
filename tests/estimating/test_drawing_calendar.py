"""The calendar's picture, taken apart again: bars in proportion, lanes that are needed, words that are told."""

import re
import xml.etree.ElementTree as ET
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.calendar import Bar, CalendarDrawing, Flag, Row, draw_calendar, lanes
from tests.estimating.drawn import SVG

MONDAY = date(2027, 3, 1)
# A strip of seven days is as wide on the page as these; read off a drawing, not from the module.
HOURS = [(day + at / 24, day + (at + 4) / 24) for day in range(5) for at in (8, 13)]


def drawn(drawing: CalendarDrawing, *, narrow: bool = False) -> ET.Element:
    return ET.fromstring(draw_calendar(drawing, title="Calendar", description="By day", narrow=narrow))


def bars(root: ET.Element, *, job: str = "") -> list[dict[str, str]]:
    found = [rect.attrib for rect in root.iter(f"{SVG}rect") if rect.get("class") == "dw-bar"]
    return [bar for bar in found if not job or bar["data-job"] == job]


def words(root: ET.Element) -> list[str]:
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def day_width(root: ET.Element) -> float:
    """From one midnight's hairline to the next."""
    lines = [path.get("d", "") for path in root.iter(f"{SVG}path") if path.get("stroke-opacity") == "0.5"]
    xs = [float(match[1]) for line in lines if (match := re.match(r"M(-?[\d.]+),", line))]
    return xs[1] - xs[0]


def month(*rows: Row, days: int = 21, **more: object) -> CalendarDrawing:
    return CalendarDrawing(MONDAY, days, rows, HOURS, **more)  # type: ignore[arg-type]


starts = st.integers(0, 20 * 96)
spans = st.tuples(starts, st.integers(0, 96)).map(lambda of: (of[0] / 96, (of[0] + of[1]) / 96))


@given(st.lists(spans, min_size=1, max_size=30), st.booleans())
def test_bars_of_all_strips_together_are_as_wide_as_the_time_they_stand_for(
    times: list[tuple[float, float]], narrow: bool
) -> None:
    row = Row("bench", tuple(Bar(start, end, "A", "glue") for start, end in times))
    root = drawn(month(row, days=28), narrow=narrow)
    wide = sum(float(bar["width"]) for bar in bars(root))
    days = sum(end - start for start, end in times)
    # Each end is rounded to 0.01, and a bar is parted once a strip at most.
    assert wide == pytest.approx(days * day_width(root), abs=0.01 * (len(bars(root)) + 1))


def test_a_bar_over_sunday_midnight_goes_on_in_the_next_week() -> None:
    root = drawn(month(Row("curing", (Bar(6.5, 7.25, "A", "cure", True), Bar(8, 9, "A", "cure", True)))))
    day = day_width(root)
    first, second, third = bars(root)
    assert [float(bar["width"]) for bar in (first, second, third)] == pytest.approx(
        [day / 2, day / 4, day], abs=0.02
    )
    assert float(second["x"]) < float(first["x"])
    assert float(second["y"]) > float(first["y"])


@given(st.lists(spans, max_size=30))
def test_there_are_as_many_lanes_as_go_on_at_once_and_no_more(times: list[tuple[float, float]]) -> None:
    found = lanes([Bar(start, end, "A", "") for start, end in times])
    for lane in found:
        assert all(one.end <= later.start for one, later in pairwise(lane))
    # By counting at every start, a way of its own.
    at_once = max((sum(s < e and s <= at < e for s, e in times) for at, _ in times), default=0)
    assert len(found) >= at_once
    if all(start < end for start, end in times):
        assert len(found) == at_once


def test_bench_hours_are_light_ground_on_the_same_scale() -> None:
    root = drawn(month(Row("bench", (Bar(0.5, 0.6, "A", "glue"),)), days=7))
    ground = [rect for rect in root.iter(f"{SVG}rect") if rect.get("class") == "dw-hours"]
    assert len(ground) == 10
    assert float(ground[0].attrib["width"]) == pytest.approx(day_width(root) / 6, abs=0.02)
    edge = float(ground[1].attrib["x"]) - float(ground[0].attrib["x"])
    assert edge == pytest.approx(day_width(root) * 5 / 24, abs=0.02)


def test_weeks_begin_on_monday_and_days_carry_their_dates() -> None:
    row = Row("bench", (Bar(0.4, 0.6, "A", "glue"), Bar(6, 6.1, "A", "glue")))
    said = words(drawn(CalendarDrawing(date(2027, 2, 25), 8, (row,))))
    heads = [word for word in said if re.fullmatch(r"[A-Z][a-z]{2} \d+( [A-Z][a-z]{2})?", word)]
    # 25 February 2027 is a Thursday: ISO week 8.
    assert heads[:7] == ["Mon 22 Feb", "Tue 23", "Wed 24", "Thu 25 Feb", "Fri 26", "Sat 27", "Sun 28"]
    assert heads[7] == "Mon 1 Mar"


def test_what_lasts_for_weeks_is_told_in_one_line_and_the_line_names_it() -> None:
    harden = Row("hardening", (Bar(3.0, 25.0, "A", "finish", True),))
    root = drawn(month(harden, days=28))
    assert "Mon 8 Mar to Sun 21 Mar: hardening" in words(root)
    assert len(bars(root)) == 2
    promised = drawn(month(harden, days=28, flags=[Flag(10.0, "A promised", promised=True)]))
    assert "Mon 15 Mar to Sun 21 Mar: hardening" in words(promised)
    assert "A promised" in words(promised)


def test_now_and_flags_stand_where_they_belong_and_a_promise_is_dashed() -> None:
    root = drawn(
        month(
            Row("bench", (Bar(0.4, 2.5, "A", "glue"),)),
            days=7,
            now=1.0,
            flags=[Flag(2.5, "A done"), Flag(4.5, "A promised", promised=True)],
        )
    )
    dashed = [path for path in root.iter(f"{SVG}path") if path.get("stroke-dasharray")]
    assert len(dashed) == 1
    now = [path for path in root.iter(f"{SVG}path") if path.get("stroke-width") == "2.2"]
    x = [float(re.match(r"M(-?[\d.]+)", path.attrib["d"])[1]) for path in (*now, *dashed)]  # type: ignore[index]
    assert x[1] - x[0] == pytest.approx(3.5 * day_width(root), abs=0.02)
    assert {"now", "A done", "A promised"} <= set(words(root))


def test_every_bar_says_what_it_is_and_words_stand_on_it_where_they_fit() -> None:
    row = Row("bench", (Bar(0.4, 0.42, "A", "glue ring 3"), Bar(1.0, 3.0, "B", "cure", True, "done")))
    root = drawn(month(row, days=7))
    titles = [title.text for title in root.iter(f"{SVG}title")]
    assert {"A: glue ring 3", "B: cure"} <= set(titles)
    assert "B cure" in words(root)
    assert "A glue ring 3" not in words(root)
    (done,) = bars(root, job="B")
    assert done["data-state"] == "done"
    assert "url(#cal-hatch)" in done["fill"]


def test_narrow_bars_of_one_job_side_by_side_share_one_mark() -> None:
    row = Row("bench", tuple(Bar(0.4 + at / 48, 0.4 + (at + 1) / 48, "A", "sand") for at in range(6)))
    said = words(drawn(month(row, days=7)))
    assert said.count("A") == 1


def test_no_colour_but_ink_and_paper_and_markup_stays_words() -> None:
    row = Row("<b>bench</b>", (Bar(0.4, 2.4, "<A>", "a & b"),))
    svg = draw_calendar(
        month(row, days=7, off={1: "fair <i>"}, flags=[Flag(0.5, "</svg>")]),
        title="Calendar <script>",
        description="\x00 & so on",
    )
    assert "<b>" not in svg
    assert "<script>" not in svg
    root = ET.fromstring(svg)
    assert "fair <i>" in "".join(words(root))
    colours = {value for node in root.iter() for key in ("fill", "stroke") if (value := node.get(key))}
    assert colours <= {"currentColor", "none", "#fffdf8", "url(#cal-hatch)"}


def test_an_empty_calendar_is_still_a_drawing_and_impossible_ones_are_refused() -> None:
    assert words(drawn(month(days=7, now=0.5))) == ["Mon 1 Mar to Sun 7 Mar: nothing planned"]
    assert words(drawn(month(days=1), narrow=True)) == ["Mon 1 Mar: nothing planned"]
    with pytest.raises(ValueError, match="at least one day"):
        drawn(month(days=0))
    with pytest.raises(ValueError, match="must not end before it begins"):
        drawn(month(Row("bench", (Bar(2, 1, "A", ""),))))
