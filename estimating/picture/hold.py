"""How a piece is held at its foot and where a hollow form is closed, as the section shows them."""

from collections.abc import Iterator

from estimating.picture.dimensions import Pen, write
from estimating.picture.section import closing_lines
from estimating.picture.subject import Subject
from estimating.picture.svg import element, number, outline

SHARE = 0.6
"""How wide a hold is drawn, as a share of the foot: its width is the chuck's, which the piece does not know."""

_WORDS = {"tenon": "tenon", "recess": "recess", "waste_block": "waste block"}


def closing_labels(subject: Subject, pen: Pen) -> Iterator[str]:
    """A few words inside the form at every line where its bowls are joined."""
    for y, inner, _ in closing_lines(subject, 1):
        x = inner - pen.size
        yield write(pen, "closed here", x=x, y=y + 0.35 * pen.text, anchor="end", share=0.86)


def hold_bottom(subject: Subject, pen: Pen) -> float:
    """How far down (y, mm) the hold and its words reach; the foot itself without one."""
    foot, holding = subject.zero - subject.form.bottom, subject.holding
    if holding is None:
        return foot
    return max(span for span in _span(subject)) + 1.6 * pen.text


def hold(subject: Subject, pen: Pen) -> str:
    """The hold dashed at the foot, with how deep it is; empty without one."""
    holding = subject.holding
    if holding is None:
        return ""
    radius = SHARE * float(subject.form.outer.at_breaks[0])
    upper, lower = _span(subject)
    drawn = element(
        "path",
        d=outline((-radius, -radius, radius, radius), (upper, lower, lower, upper)),
        fill="none",
        stroke="currentColor",
        stroke_width=1.3 * pen.line,
        stroke_dasharray=f"{number(1.2 * pen.size)} {number(0.8 * pen.size)}",
    )
    words = f"{_WORDS[holding.by]} {pen.length(holding.depth)}"
    y = max(upper, lower) + 1.2 * pen.text
    said = write(pen, words, x=0.0, y=y, anchor="middle", share=0.86)
    return element("g", drawn, said, class_="dw-hold", data_hold=holding.by)


def _span(subject: Subject) -> tuple[float, float]:
    """From and to, y: a recess goes up into the foot; what is parted off lies between the foot and the others."""
    foot, holding = subject.zero - subject.form.bottom, subject.holding
    assert holding is not None
    if holding.by == "recess":
        return foot - holding.depth, foot
    return foot + holding.parting, foot + holding.parting + holding.depth
