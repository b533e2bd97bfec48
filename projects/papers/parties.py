"""Who stands on a paper: studio and client as parties, with legal names, numbers, and why no tax is charged."""

from collections.abc import Mapping
from typing import Any

from projects.papers import words


def studio_lines(letterhead: Mapping[str, Any]) -> list[str]:
    """Lines under the studio's name: as whom it is registered, where it is, and how to reach it."""
    tax_number = letterhead.get("tax_number")
    reach = [letterhead.get(name, "") for name in ("email", "phone", "web")]
    reach.append(f"Tax number {tax_number}" if tax_number else "")
    said = [
        _registered(letterhead),
        ", ".join(words.lines(letterhead.get("address", ""))),
        " · ".join(part for part in reach if part),
    ]
    return [line for line in said if line]


def _registered(letterhead: Mapping[str, Any]) -> str:
    legal, number = letterhead.get("legal_name", ""), letterhead.get("company_number", "")
    return ", ".join(part for part in (legal, f"company number {number}" if number else "") if part)


def client_lines(addressee: Mapping[str, Any]) -> list[str]:
    """The client as addressed: name and contact, legal name, address, tax number."""
    named = ", ".join(part for part in (addressee.get("name", ""), addressee.get("contact", "")) if part)
    tax_number = addressee.get("tax_number", "")
    return [
        line
        for line in (
            named,
            addressee.get("legal_name", ""),
            *words.lines(addressee.get("address", "")),
            f"Tax number {tax_number}" if tax_number else "",
        )
        if line
    ]


def untaxed_because(letterhead: Mapping[str, Any], addressee: Mapping[str, Any]) -> str:
    """Why no tax is charged, as a paper says it; empty where tax is charged as usual.

    Source: an invoice names the customer who is liable with the words `Reverse charge`, and the rule by which it is
    exempt or another indication that it is (Directive 2006/112/EC article 226, points 11 and 11a; from memory).
    """
    tax, note = letterhead.get("tax_name") or "tax", letterhead.get("tax_note", "")
    if letterhead.get("tax_status") == "none":
        return note or f"No {tax} is charged: the studio is not registered for it."
    said = {
        "reverse": f"Reverse charge: the client accounts for the {tax}.",
        "export": f"No {tax} is charged: the piece leaves the country (export).",
        "exempt": f"No {tax} is charged: the client is exempt.",
    }.get(addressee.get("tax_status", ""), "")
    return f"{said} {note}".strip() if said else ""
