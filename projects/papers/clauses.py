"""What is settled of delivery, damage, joints and rights, in words: from a studio's usual and one commission's own."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from projects.papers import words
from projects.papers.terms import Clause

_SENT = {
    "studio": "The studio sends it, packed and insured.",
    "gallery": "The gallery sends for it at the studio.",
    "client": "The client fetches it at the studio.",
}
_TITLE = {"paid": "when it is paid in full", "delivered": "when it is delivered"}
_RISK = {"delivered": "when it is delivered", "handed_over": "when it is handed to the carrier"}


def settled_clauses(usual: Mapping[str, Any], delivery: Mapping[str, Any]) -> list[Clause]:
    """Every clause that something is said of. `usual` has the fields of PaperDefaults, `delivery` of CommissionPapers
    and `payment_days`.

    Dates as in JSON, YYYY-MM-DD. Nothing is made up: without `usual` there is only what `delivery` says.
    """
    found = [
        Clause("Payment.", _payment(delivery)),
        Clause("Delivery.", " ".join(_delivery(usual, delivery))),
        Clause("Damage.", _damage(usual)),
        Clause("Returns.", _returns(usual)),
        Clause("Joints.", _joints(usual)),
        Clause("Repairs.", _sentence(usual.get("repairs", ""))),
        Clause("The piece.", " ".join(_piece(usual, delivery))),
        Clause("Copyright.", _sentence(usual.get("copyright_words", ""))),
    ]
    return [clause for clause in found if clause.body]


def protected_clauses(species: Iterable[Mapping[str, Any]]) -> list[Clause]:
    """What lists of protected species say of the woods, one clause for those alike; none where they say nothing."""
    said: dict[str, list[str]] = {}
    for wood in species:
        if note := wood.get("protected_note"):
            named = wood["name"] + (f" ({wood['botanical']})" if wood.get("botanical") else "")
            said.setdefault(_sentence(note), []).append(named)
    return [Clause("Protected.", f"{', '.join(names)}: {note}") for note, names in said.items()]


def window(delivery: Mapping[str, Any]) -> str:
    """When it is ready: `between 3 March and 20 March 2027`; empty where no day is agreed."""
    first, last = (_day(delivery.get(name)) for name in ("ready_from", "ready_to"))
    if first and last:
        if first == last:
            return f"on {words.day(first)}"
        whole = words.day(first) if first.year != last.year else f"{first.day} {first:%B}"
        return f"between {whole} and {words.day(last)}"
    if first:
        return f"from {words.day(first)}"
    return f"by {words.day(last)}" if last else ""


def edition(delivery: Mapping[str, Any]) -> str:
    """Whether there are others like it, as a sentence; empty where that is not said."""
    if delivery.get("edition") == "unique":
        return "It is unique and will not be made again as it stands here."
    if delivery.get("edition") == "series":
        return f"It is number {delivery['edition_number']} of a series of {delivery['edition_size']}."
    return ""


def _day(written: str | None) -> datetime.date | None:
    return datetime.date.fromisoformat(written) if written else None


def _sentence(said: str) -> str:
    """As it was typed, with a full stop."""
    said = " ".join(said.split())
    return said if not said or said[-1] in ".!?" else f"{said}."


def _payment(delivery: Mapping[str, Any]) -> str:
    if (days := delivery.get("payment_days")) is None:
        return ""
    within = f"within {_days(int(days))} of its date" if days else "on its date"
    return f"Each request for money is due {within}."


def _delivery(usual: Mapping[str, Any], delivery: Mapping[str, Any]) -> Iterator[str]:
    if when := window(delivery):
        yield f"It is ready {when}."
    if delivery.get("ships"):
        yield _SENT[delivery["ships"]]
    if usual:
        yield f"It becomes the buyer’s {_TITLE[usual['title_passes']]}; its risk passes {_RISK[usual['risk_passes']]}."


def _damage(usual: Mapping[str, Any]) -> str:
    if not usual:
        return ""
    days = int(usual["report_days"])
    found = (
        f"What is found later is reported within {_days(days)}, with photographs."
        if days
        else "What is found later is reported at once, with photographs."
    )
    return f"Please look the piece over when it arrives and write any damage on the carrier’s paper. {found}"


def _returns(usual: Mapping[str, Any]) -> str:
    if not usual:
        return ""
    days = int(usual["return_days"])
    said = (
        f"The piece may be returned as it came within {_days(days)} of its arrival; its price is paid back then."
        if days
        else "A piece made to order is not taken back."
    )
    return f"{said} Rights that the law gives a buyer stay as they are."


def _joints(usual: Mapping[str, Any]) -> str:
    months = int(usual.get("warranty_months") or 0)
    if not months:
        return ""
    low, high = usual["warranty_humidity_low"], usual["warranty_humidity_high"]
    term = f"{words.spelled(months)} {'month' if months == 1 else 'months'}"
    return (
        f"The glued joints are warranted for {term} in a room kept between {low} and {high}{words.NBSP}% humidity, "
        "away from heat and direct sun. Wood moves with the air; drier or damper rooms can open any joint."
    )


def _piece(usual: Mapping[str, Any], delivery: Mapping[str, Any]) -> Iterator[str]:
    if said := edition(delivery):
        yield said
    if signed := _sentence(usual.get("signature", "")):
        yield f"{signed[:1].upper()}{signed[1:]}"


def _days(count: int) -> str:
    return f"{words.spelled(count)} {'day' if count == 1 else 'days'}"
