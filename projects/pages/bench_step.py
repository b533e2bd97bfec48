"""The bench page in words: its answer, its lists, and each step with its forms, card and timers."""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.http import QueryDict
from django.utils.safestring import SafeString, mark_safe

from projects.agreed import drawing_states
from projects.models import (
    AsBuilt,
    BenchStep,
    BenchTap,
    CalendarPlan,
    Commission,
    Member,
    StepNote,
    Studio,
)
from projects.models.bench import MishapKind, StepState, TapAct
from projects.pages.bench_lots import LotsShown, lots_shown
from projects.pages.bench_rows import Rows, rows_shown
from projects.services.bench_cards import cards_kept, is_glue_up
from projects.services.calendar import calendar_changes

FORMS = ("start", "mixed", "end", "note", "photo", "measure", "wrong", "undo")
UNDO_WITHIN = datetime.timedelta(hours=12)

CARE: Mapping[str, tuple[str, ...]] = {
    "saw": ("mill boards", "rip strips", "set miter", "crosscut segments", "taper staves", "saw layer"),
    "lathe": ("mount ", "turn ", "sand through the grits", "finish foot"),
    "sanding": ("flatten ring face", "sand slice", "true half rings"),
    "finish": ("apply finish coat",),
}
"""Which cautions a step shows, by how the operations it is of begin."""


@dataclass(frozen=True, slots=True)
class Refused:
    """A plain form that was refused: of which step, why, and what was typed."""

    step: int
    reason: str
    post: QueryDict

    def typed(self) -> dict[str, dict[str, Any]]:
        """What was typed, by act and field."""
        lost = [f"{name} {number}" for name in ("layers", "rings") for number in self.post.getlist(name)]
        return {self.post.get("act", ""): {**self.post.dict(), "lost": lost}}


@dataclass
class StepShown:
    """One step as the page shows it; other steps by the ids of their rows.

    `by_hand` where somebody begins it. `waits_for` what must be done before it, as far as it is on the page;
    `blocked` where something else must be. `unsigned` is what is to be said of the job's drawing. `typed` is what a
    refused form had in it, by act; `wrong` is why.
    """

    step: BenchStep
    when: str
    whose: str
    minutes: str
    started: str
    ended: str
    by_hand: bool
    mine: bool
    waits_for: list[int]
    blocked: bool
    care: list[str]
    notes: list[StepNote]
    measured: list[tuple[AsBuilt, str]]
    number: int = 0
    before: int | None = None
    then: int | None = None
    uuids: dict[str, uuid.UUID] = field(default_factory=lambda: {form: uuid.uuid4() for form in FORMS})
    typed: dict[str, Any] = field(default_factory=dict)
    wrong: str = ""
    unsigned: str = ""
    lots: LotsShown | None = None
    card: Mapping[str, Any] | None = None

    @property
    def lacks_card(self) -> bool:
        """Whether it is a glue-up that the design no longer has."""
        return self.card is None and is_glue_up(self.step)

    @property
    def drawing(self) -> SafeString:
        """The card's drawing, in which every word is escaped; its parts named so that two can stand on one page."""
        drawn = str(self.card.get("drawing", "")) if self.card else ""
        return mark_safe(drawn.replace("dw-glue", f"dw-glue-{self.step.pk}"))

    @property
    def courses(self) -> list[dict[str, Any]]:
        """The layers in the order they go on: which way each is turned, and the circles to coat its faces between."""
        if self.card is None:
            return []
        joints = self.card.get("joints", [])
        under = ["", *(joint["line_above"] for joint in joints)]
        top = [*(joint["line_below"] for joint in joints), ""]
        rows = zip(self.card.get("courses", []), under, top, strict=False)
        return [
            {**one, "turn": _turn(one, place), "under": low, "top": high}
            for place, (one, low, high) in enumerate(rows)
        ]

    @property
    def parts(self) -> list[dict[str, Any]]:
        """Layers and rings that can be lost in it, each with the field that says so."""
        card = self.card or {}
        of_layer = {one["layer"]: one for one in card.get("courses", [])}
        woods = {one["ring"]: one["woods"] for one in card.get("rings", [])}
        found = []
        for layer in self.step.layers:
            course = of_layer.get(layer)
            of = f": ring {course['ring']}, {_segments(course['segments'])}" if course else ""
            found.append(_part("layers", layer, f"layer {layer}{of}"))
        for ring in self.step.rings:
            found.append(_part("rings", ring, f"ring {ring}{f': {woods[ring]}' if ring in woods else ''}"))
        return found

    @property
    def measurable(self) -> bool:
        """Whether a stack stands after it that can be measured."""
        return self.step.glue_up is not None and len(self.step.layers) > 1

    @property
    def losable(self) -> bool:
        """Whether layers or rings can be lost in it."""
        return bool(self.step.glue_up is not None and (self.step.layers or self.step.rings))


@dataclass(frozen=True, slots=True)
class Undo:
    """The member's last tap, which can be taken back."""

    tap: uuid.UUID
    act: str
    step: int
    words: str
    at: str
    uuid: uuid.UUID


def bench_shown(member: Member, *, now: datetime.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """The page's context."""
    zone = member.studio.bench.zone
    rows = rows_shown(member.studio, now=now, zone=zone)
    cards_kept(studio=member.studio, steps=rows.steps)
    sections = _sections(rows, member=member, now=now, zone=zone)
    states = drawing_states(
        Commission.objects.for_studio(member.studio)
        .filter(pk__in=rows.chains)
        .select_related("design__studio", "studio")
    )
    unsigned = {state.commission.pk: state.words for state in states}
    for one in sections:
        one.unsigned = unsigned.get(one.step.commission_id, "")
        if refused is not None and one.step.pk == refused.step:
            one.typed, one.wrong = refused.typed(), refused.reason
    typed = {one.step.pk: one.typed["lot"] for one in sections if "lot" in one.typed}
    lots = lots_shown(member, rows.steps, today=now.astimezone(zone).date(), typed=typed)
    for one in sections:
        one.lots = lots.get(one.step.pk)
    return {
        "zone": zone.key,
        "now": now.isoformat(),
        "mark": rows.mark,
        "sections": sections,
        "timers": list(_timers(sections, now=now, zone=zone)),
        "count": max((one.number for one in sections), default=0),
        "lists": _lists(sections, rows),
        "answer": _answer(sections, rows),
        "refused": refused,
        "changes": _changes(member.studio),
        "states": states,
        "undo": _undo(member, now=now, zone=zone),
        "mishaps": MishapKind.choices,
    }


def _sections(rows: Rows, *, member: Member, now: datetime.datetime, zone: ZoneInfo) -> list[StepShown]:
    notes: defaultdict[int, list[StepNote]] = defaultdict(list)
    written = StepNote.objects.for_studio(member.studio).filter(step__in=[step.pk for step in rows.steps])
    for note in written.select_related("member__user"):
        notes[note.step_id].append(note)
    built = _measured(member.studio, rows)
    here = {step.pk for step in rows.steps}
    made = []
    for step in rows.steps:
        before = rows.before(step)
        made.append(
            StepShown(
                step=step,
                when=_at(step.ended_at or step.started_at or step.planned_start, now, zone),
                whose=whose(step),
                minutes=minutes_words(step.minutes),
                started=_at(step.started_at, now, zone),
                ended=_at(step.ended_at, now, zone),
                by_hand=step.attended or not step.is_passive,
                mine=step.started_by_id == member.pk and not step.is_passive,
                waits_for=[one.pk for one in before if one.pk in here],
                blocked=any(one.pk not in here and one.state != StepState.DONE for one in before),
                care=care_of(step),
                notes=notes[step.pk],
                card=card_of(step),
                measured=built.get((step.commission_id, max(1, step.piece), step.glue_up), []),
            )
        )
    _number([one for one in made if one.by_hand])
    return made


def _measured(studio: Studio, rows: Rows) -> Mapping[Any, list[tuple[AsBuilt, str]]]:
    """What was measured, by job, piece and glue-up, each with what was said to it."""
    taps = BenchTap.objects.for_studio(studio).filter(act=TapAct.MEASURE, accepted=True, undone_by=None)
    taps = taps.filter(step__commission__in=rows.chains)
    said = {(member, at): outcome for member, at, outcome in taps.values_list("member", "at", "outcome")}
    found: defaultdict[Any, list[tuple[AsBuilt, str]]] = defaultdict(list)
    measured = AsBuilt.objects.for_studio(studio).filter(commission__in=rows.chains)
    for row in measured.select_related("member__user"):
        words = said.get((row.member_id, row.at), "").removeprefix("Measured.").strip()
        found[row.commission_id, row.piece, row.glue_up].append((row, words))
    return found


def _timers(
    sections: Sequence[StepShown], *, now: datetime.datetime, zone: ZoneInfo
) -> Iterator[tuple[StepShown, str]]:
    """What runs by the clock and until when, for a page without its script."""
    for one in sections:
        step = one.step
        if step.state != StepState.RUNNING:
            continue
        if step.is_passive:
            yield one, f"until {_at(step.ends_at, now, zone)}"
        elif step.mixed_at is not None and one.card is not None:
            pot, working = (
                step.mixed_at + datetime.timedelta(minutes=one.card[name])
                for name in ("pot_life_min", "working_min")
            )
            yield (
                one,
                f"close the joints until {_at(working, now, zone)}; pot life until {_at(pot, now, zone)}",
            )


def _number(by_hand: Sequence[StepShown]) -> None:
    for place, one in enumerate(by_hand):
        one.number = place + 1
        one.before = by_hand[place - 1].step.pk if place else None
        one.then = by_hand[place + 1].step.pk if place + 1 < len(by_hand) else None


def _lists(sections: Sequence[StepShown], rows: Rows) -> list[tuple[str, list[StepShown]]]:
    hands = [one for one in sections if one.by_hand]
    waiting = [one for one in hands if one.step.state == StepState.WAITING]
    return [
        ("In hand", [one for one in hands if one.step.state == StepState.RUNNING]),
        ("Today", [one for one in waiting if one.step.pk not in rows.ahead]),
        ("Coming next", [one for one in waiting if one.step.pk in rows.ahead]),
        ("Left alone", [one for one in sections if not one.by_hand and one.step.state == StepState.RUNNING]),
        ("Done", [one for one in hands if one.step.state in (StepState.DONE, StepState.LOST)]),
    ]


def _answer(sections: Sequence[StepShown], rows: Rows) -> str:
    waiting = [one for one in sections if one.by_hand and one.step.state == StepState.WAITING]
    running = [one for one in sections if one.mine and one.step.state == StepState.RUNNING]
    today = [one for one in waiting if one.step.pk not in rows.ahead]
    first = f"You are at: {running[0].step.name}." if running else ""
    count = (
        f"{len(today)} step{'' if len(today) == 1 else 's'} left today."
        if today
        else "Nothing left for today."
    )
    then = (
        f"Next: {waiting[0].step.name}{f', {waiting[0].when}' if waiting[0].when else ''}." if waiting else ""
    )
    return " ".join(part for part in (first, count, then) if part)


def _changes(studio: Studio) -> list[str]:
    """What has changed since the steps were planned, in words; nothing where none are."""
    plan = CalendarPlan.objects.for_studio(studio).select_related("studio").first()
    return calendar_changes(plan) if plan is not None and plan.planned_at is not None else []


def _undo(member: Member, *, now: datetime.datetime, zone: ZoneInfo) -> Undo | None:
    taps = BenchTap.objects.for_studio(member.studio).filter(member=member, accepted=True, undone_by=None)
    last = (
        taps.exclude(act=TapAct.UNDO)
        .filter(step__isnull=False, received_at__gte=now - UNDO_WITHIN)
        .select_related("step")
        .first()
    )
    if last is None or last.step is None:
        return None
    words = f"{last.get_act_display()}: {last.step.name}"
    return Undo(last.uuid, last.act, last.step.pk, words, _at(last.at, now, zone), uuid.uuid4())


def care_of(step: BenchStep) -> list[str]:
    """The names of the cautions that a step shows."""
    found = [name for name, begins in CARE.items() if any(one.startswith(begins) for one in step.shares)]
    if is_glue_up(step):
        found.insert(0, "glue")
    if step.kind in ("set", "press", "cure") or any(one.startswith("take down") for one in step.shares):
        found.append("waits")
    return found


def _segments(count: str) -> str:
    return count if count == "disc" else f"{count} segments"


def _part(field: str, number: int, words: str) -> dict[str, Any]:
    return {"field": field, "number": number, "words": words, "typed": f"{field} {number}"}


def _turn(course: Mapping[str, Any], place: int) -> str:
    """How far a layer is turned on the one below it, and which way round."""
    degrees = course["turn_deg"]
    if not place or not degrees:
        return "in line" if place else "the first"
    return f"{abs(degrees):.2f}° {'anticlockwise' if degrees > 0 else 'clockwise'}"


def card_of(step: BenchStep) -> Mapping[str, Any] | None:
    """The card kept with a step, its times in words; None for a step that has none."""
    if "working_min" not in step.card:
        return None
    times = {f"{name}_words": minutes_words(round(step.card[f"{name}_min"])) for name in ("set", "cure")}
    if (most := round(step.card.get("set_most_min", 0))) > round(step.card["set_min"]):
        times["set_words"] += f" to {minutes_words(most)}"
    press = round(step.card["press_min"])
    return {
        **step.card,
        **times,
        "press_words": minutes_words(press) if press else "",
        "by_mass": any(mix["part_a_g"] is not None for mix in step.card["mixes"]),
    }


def whose(step: BenchStep) -> str:
    """The job, and which of its pieces and parts."""
    words = [step.commission.title]
    if (step.commission.quantity or 1) > 1:
        words.append(f"piece {step.piece}" if step.piece else "all pieces")
    if step.part and step.part != "body":
        words.append(step.part)
    return ", ".join(words)


def minutes_words(minutes: int) -> str:
    """`25 min`, `2 h`, `1 h 30 min`, `7 days`."""
    days, left = divmod(minutes, 24 * 60)
    hours, rest = divmod(left, 60)
    if days:
        hours = round(left / 60)
        return " ".join([f"{days} day{'' if days == 1 else 's'}", *([f"{hours} h"] if hours else [])])
    return " ".join([*([f"{hours} h"] if hours else []), *([f"{rest} min"] if rest or not hours else [])])


def _at(moment: datetime.datetime | None, now: datetime.datetime, zone: ZoneInfo) -> str:
    """A moment on the bench's clock, with its day where that is not today; nothing for None."""
    if moment is None:
        return ""
    there = moment.astimezone(zone)
    same = there.date() == now.astimezone(zone).date()
    return f"{there:%H:%M}" if same else f"{there:%a} {there.day} {there:%b}, {there:%H:%M}"
