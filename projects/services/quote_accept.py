"""A quote accepted: signed with the text that was shown, its boards set aside, its days asked for."""

import datetime
import hashlib
from collections import Counter
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import (
    Board,
    CalendarPlan,
    ClientLink,
    Commission,
    Member,
    Quote,
    QuoteEvent,
    QuoteOption,
    Reservation,
    Studio,
)
from projects.models.commissions import Stage
from projects.models.quote_life import QuoteAct
from projects.services import calendar_search
from projects.services.calendar import calendar_changes
from projects.services.quote_life import Held, happened, held, refuse_decided, tell_client, tell_studio
from projects.services.quote_link import link_agreed, link_of
from projects.services.quote_options import is_as_frozen, option_apply
from projects.services.rack_reserve import reserve
from projects.services.rack_rows import held as boards_held
from projects.services.rack_rows import where
from projects.services.saving import checked

BEFORE = (Stage.ENQUIRY, Stage.DESIGNING, Stage.QUOTED)
CHANGED = "The design has been changed since this quote was issued: compare it before you make it."


def quote_accept(
    *,
    quote: Quote,
    name: str,
    option: QuoteOption | None = None,
    link: ClientLink | None = None,
    member: Member | None = None,
    words: str = "",
    now: datetime.datetime | None = None,
) -> QuoteEvent:
    """The client accepts a quote as drawn, or one of its options, by a typed name; or `member` takes that down.

    What was shown is kept with the name, the time and its SHA-256. The commission is agreed; an option taken becomes
    its design; boards that its estimate planned to saw are reserved. What could not be done stands in the event's
    words, for the studio. Of two acts at once the first wins.
    Errors: ValidationError at `name` or `option`, or where the quote is decided, has lapsed or was replaced.
    """
    signed = " ".join(name.split())
    if not signed:
        raise ValidationError({"name": "Type your name: it stands for your signature."})
    with held(quote, now=now) as one:
        refuse_decided(one)
        if option is not None and option.quote_id != one.quote.pk:
            raise ValidationError({"option": "Choose an option of this quote."})
        text = _text(one.quote, option)
        notes = [words.strip(), *_carried_out(one, option, member=member)]
        event = happened(
            one,
            QuoteAct.ACCEPTED,
            name=signed,
            option=option,
            link=link,
            member=member,
            words="\n".join(note for note in notes if note)[:4000],
            text=text,
            sha256=hashlib.sha256(text.encode()).hexdigest(),
        )
        _told(one, event)
        transaction.on_commit(lambda: calendar_asked(one.commission.studio), robust=True)
        return event


def _text(quote: Quote, option: QuoteOption | None) -> str:
    from projects.papers.agreed import agreed_text  # brings the printer, which nothing else here needs

    return agreed_text(quote, option)


def _carried_out(one: Held, option: QuoteOption | None, *, member: Member | None) -> list[str]:
    """Do what an acceptance brings; what could not be done, in words."""
    notes = []
    if option is not None:
        try:
            with transaction.atomic():
                option_apply(commission=one.commission, option=option)
        except ValidationError as refusal:
            notes.append(f"{option.title} was accepted, but is not drawn yet. {' '.join(refusal.messages)}")
    elif not is_as_frozen(one.commission, one.quote.sheet):
        notes.append(CHANGED)
    commission = Commission.objects.get(pk=one.commission.pk)
    if commission.stage in BEFORE:
        commission.stage = Stage.AGREED
        checked(commission)
    estimate = (option or one.quote).estimate
    return [*notes, *_set_aside(commission, estimate, member=member)]


def _set_aside(commission: Commission, estimate: Mapping[str, Any], *, member: Member | None) -> list[str]:
    """Reserve the boards of the rack that an estimate planned, as far as they are free; what is short, in words."""
    wanted = planned_boards(estimate)
    there = Board.objects.for_studio(commission.studio_id).filter(pk__in=wanted)
    rows = boards_held(there)
    has = dict(Reservation.objects.filter(commission=commission).values_list("board_id", "count"))
    short, taken = [], {}
    for row in rows:
        missing = wanted[row.pk] - has.get(row.pk, 0)
        if take := min(missing, row.free):
            taken[row] = take
        if missing > row.free:
            short.append(f"{where(row)}: {row.free or 'none'} free of {missing} planned.")
    if gone := len(set(wanted) - {row.pk for row in rows}):
        short.append(f"{gone} of the boards planned {'is' if gone == 1 else 'are'} not on the rack any more.")
    if taken := {row: count for row, count in taken.items() if count > 0}:
        reserve(boards=taken, commission=commission, member=member)
    return short


def planned_boards(estimate: Mapping[str, Any]) -> Counter[int]:
    """How many of which boards of the rack a frozen estimate planned to saw, by their keys."""
    boards = (estimate.get("cutting") or {}).get("boards") or []
    return Counter(int(board["ref"]) for board in boards if board.get("ref") and not board.get("buy"))


def _told(one: Held, event: QuoteEvent) -> None:
    if link := event.link or link_of(one.commission):
        link_agreed(link=link, today=timezone.localdate(one.at))
    chosen = event.option.title if event.option else ""
    tell_studio(one, "accepted", name=event.name, option=chosen, words=event.words)
    tell_client(one, "accepted", name=event.name, option=chosen)


def calendar_asked(studio: Studio) -> None:
    """Ask for the calendar anew, in a process of its own, unless it is as things stand; one that runs is no error."""
    found = CalendarPlan.objects.for_studio(studio).first()
    try:
        if found is not None and found.planned_at is not None and not calendar_changes(found):
            return
        plan = calendar_search.calendar_begin(studio=studio)
    except ValidationError:
        return
    calendar_search.search_start(plan, anew=True)
