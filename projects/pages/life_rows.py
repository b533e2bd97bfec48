"""What a commission's page shows of its quote's life: what waits for whom, the address, what happened in order."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from django.urls import reverse
from django.utils import timezone

from projects.agreed import AT_AN_END, DrawingState, drawing_state
from projects.models import ChangeOrder, ClientLink, Commission, Quote, QuoteEvent, SignOff
from projects.models.agreements import Answer, SignOffKind
from projects.models.quote_life import QuoteAct
from projects.models.quotes import QuoteState
from projects.quote_state import OPEN, PRINTED, Standing, current_standings
from projects.services.quote_link import link_of, link_path

Whom = Literal["you", "client"]

_SAID = {
    QuoteAct.SENT: "sent to {name}",
    QuoteAct.SEEN: "seen for the first time",
    QuoteAct.ASKED: "a question",
    QuoteAct.ANSWERED: "answered",
    QuoteAct.ACCEPTED: "accepted by {name}",
    QuoteAct.DECLINED: "declined",
    QuoteAct.WITHDRAWN: "withdrawn",
}
_ANSWERS = {
    Answer.AGREED: "agreed to by {name}",
    Answer.REFUSED: "refused",
    Answer.WITHDRAWN: "withdrawn",
}
_BIG = ("sheet", "drawing", "text")


@dataclass(frozen=True, slots=True)
class Waits:
    """One thing that waits, for whom, since when, and the page where it is done."""

    whom: Whom
    words: str
    url: str = ""
    since: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class Happened:
    """One thing that happened: when, what in a line, by whom, what was said, and its own page."""

    at: datetime.datetime
    what: str
    by: str = ""
    words: str = ""
    url: str = ""


@dataclass(slots=True)
class Life:
    """A commission's life as its rows tell it, loaded once."""

    job: Commission
    today: datetime.date
    quote: Quote | None
    standing: Standing | None
    events: list[QuoteEvent]
    sign_offs: list[SignOff]
    changes: list[ChangeOrder]
    link: ClientLink | None
    drawing: DrawingState
    waits: list[Waits] = field(default_factory=list)

    @property
    def address(self) -> str:
        """The path of the client's page; empty where none opens."""
        return link_path(self.link)

    @property
    def questions(self) -> list[QuoteEvent]:
        """What was asked since the last answer."""
        return open_questions(self.events)

    @property
    def currency(self) -> str:
        """The currency of its quote."""
        return str((self.quote.letterhead if self.quote else {}).get("currency") or self.job.studio.currency)

    @property
    def is_open(self) -> bool:
        """Whether the quote may still be accepted or declined."""
        return self.standing in OPEN

    @property
    def is_accepted(self) -> bool:
        """Whether it stands accepted."""
        return self.standing == Standing.ACCEPTED

    @property
    def may_withdraw(self) -> bool:
        """Whether there is something to withdraw."""
        return self.standing in (*OPEN, Standing.LAPSED, Standing.ACCEPTED)

    @property
    def may_ask(self) -> bool:
        """Whether things are still put to the client."""
        return self.job.stage not in AT_AN_END

    @property
    def acceptance(self) -> QuoteEvent | None:
        """The last acceptance, where it stands."""
        accepted = [event for event in self.events if event.what == QuoteAct.ACCEPTED]
        return accepted[-1] if accepted and self.is_accepted else None


def life_of(job: Commission, *, today: datetime.date) -> Life:
    """All that a commission's page says of its life."""
    quote, standing = current_standings([job], today=today).get(job.pk, (None, None))
    events = list(QuoteEvent.objects.filter(quote__commission=job).select_related("member__user", "option"))
    people = ("answered_by__user", "asked_by__user")
    life = Life(
        job=job,
        today=today,
        quote=quote,
        standing=standing,
        events=[event for event in events if quote is not None and event.quote_id == quote.pk],
        sign_offs=list(job.sign_offs.defer(*_BIG).select_related(*people)),
        changes=list(job.change_orders.defer(*_BIG, "estimate").select_related(*people)),
        link=link_of(job, today=today),
        drawing=drawing_state(job),
    )
    life.waits = list(_waits(life))
    return life


def open_questions(events: Iterable[QuoteEvent]) -> list[QuoteEvent]:
    """What was asked since the last answer, of one quote's events in order."""
    waiting: list[QuoteEvent] = []
    for event in events:
        if event.what == QuoteAct.ANSWERED:
            waiting = []
        elif event.what == QuoteAct.ASKED:
            waiting.append(event)
    return waiting


def _waits(life: Life) -> Iterator[Waits]:
    """For the maker first."""
    job, page = life.job, reverse("job", args=[life.job.pk])
    if life.questions:
        count = len(life.questions)
        words = "a question to answer" if count == 1 else f"{count} questions to answer"
        yield Waits("you", words, f"{page}#questions", life.questions[0].at)
    if life.may_ask and life.drawing.differs and not life.drawing.is_priced and not life.drawing.is_sent:
        yield Waits("you", "the design differs from what was agreed", f"{page}#drawing")
    if life.standing == Standing.LAPSED and job.stage not in AT_AN_END:
        yield Waits("you", "the quote has lapsed: issue it anew", reverse("job_quote", args=[job.pk]))
    until = life.quote.valid_until if life.quote is not None else None
    if life.quote is not None and until is not None and life.is_open:
        words = f"quote {life.quote.reference}, open until {until.day} {until:%B %Y}"
        yield Waits("client", words, f"{page}#client", life.quote.issued_at)
    for row in life.sign_offs:
        if row.is_waiting:
            yield Waits("client", f"{row.get_kind_display()} to sign", _url("sign_off", row.pk), row.asked_at)
    for change in life.changes:
        if change.is_waiting:
            yield Waits("client", str(change), _url("change", change.pk), change.asked_at)


def happened(life: Life) -> list[Happened]:
    """What happened, the newest first."""
    job = life.job
    quotes = Quote.objects.filter(commission=job, state=QuoteState.ISSUED)
    issued = {quote.pk: quote for quote in quotes.defer(*PRINTED, "sheet", "estimate", "drawing")}
    events = QuoteEvent.objects.filter(quote__in=issued).select_related("member__user")
    rows = [
        *(
            Happened(quote.issued_at, f"quote {quote.reference} issued")
            for quote in issued.values()
            if quote.issued_at is not None
        ),
        *(_of_event(event, issued[event.quote_id]) for event in events),
        *(one for row in life.sign_offs for one in _of_asked(row, _named(row), _url("sign_off", row.pk))),
        *(one for row in life.changes for one in _of_asked(row, str(row), _url("change", row.pk))),
        *(one for link in job.links.select_related("created_by__user") for one in _of_link(link)),
    ]
    return sorted(rows, key=lambda row: row.at, reverse=True)


def _of_event(event: QuoteEvent, quote: Quote) -> Happened:
    said = _SAID[QuoteAct(event.what)].format(name=event.name or "the client")
    return Happened(
        event.at, f"quote {quote.reference}: {said}", _by(event.member, event.link_id), event.words
    )


def _of_asked(row: SignOff | ChangeOrder, name: str, url: str) -> Iterator[Happened]:
    yield Happened(row.asked_at, f"{name}: put to the client", _by(row.asked_by, None), row.words, url)
    if row.answered_at is not None:
        said = _ANSWERS[Answer(row.answer)].format(name=row.answered_name or "the client")
        by = _by(row.answered_by, row.answered_by_link_id)
        yield Happened(row.answered_at, f"{name}: {said}", by, row.answered_words, url)


def _of_link(link: ClientLink) -> Iterator[Happened]:
    yield Happened(link.created_at, "private address made", _by(link.created_by, None))
    if link.revoked_at is not None:
        yield Happened(link.revoked_at, "private address revoked")


def _named(row: SignOff) -> str:
    return str(row.get_kind_display())


def _by(member: Any, link: int | None) -> str:
    return str(member) if member is not None else "the client" if link else ""


def _url(name: str, pk: int) -> str:
    return reverse(name, args=[pk])


def list_waits(jobs: Iterable[Commission], *, today: datetime.date) -> dict[int, tuple[str, list[Waits]]]:
    """For the job list: where each quote stands, and what waits; the same few queries for any number of jobs."""
    rows = list(jobs)
    found: dict[int, tuple[str, list[Waits]]] = {job.pk: ("", []) for job in rows}
    for key, (quote, stands) in current_standings(rows, today=today).items():
        events = sorted(quote.events.all(), key=lambda event: (event.at, event.pk))
        asked = [Waits("you", "a question")] if open_questions(events) else []
        found[key] = (f"{quote.reference} {stands.label}", asked)
    signing = SignOff.objects.filter(commission__in=rows, answer=Answer.WAITING).defer(*_BIG)
    for row in signing:
        found[row.commission_id][1].append(Waits("client", f"{row.get_kind_display()} to sign"))
    changing = ChangeOrder.objects.filter(commission__in=rows, answer=Answer.WAITING).defer(*_BIG, "estimate")
    for change in changing:
        found[change.commission_id][1].append(Waits("client", f"change {change.number}"))
    return found


def life_shown(job: Commission, *, today: datetime.date | None = None) -> dict[str, Any]:
    """The context of `jobs/waits.html` and `jobs/life.html`."""
    from projects.pages.life_forms import AnswerForm, LinkForm, SendForm

    life = life_of(job, today=today or timezone.localdate())
    return {
        "life": life,
        "happened": happened(life),
        "zone": job.studio.bench.zone,
        "answer_form": AnswerForm(),
        "send_form": SendForm(initial={"to": job.client.email}),
        "link_form": LinkForm(initial={"expires_on": life.link.expires_on if life.link else None}),
    }


def once_more(job: Commission) -> str:
    """What is to be said before a commission is made with something unsigned; empty where nothing is."""
    samples = job.sign_offs.filter(answer=Answer.WAITING).exclude(kind=SignOffKind.DRAWING).defer(*_BIG)
    said = [drawing_state(job).words]
    said += [f"The {row.get_kind_display()} waits to be signed." for row in samples]
    return " ".join(words for words in said if words)
