"""The text of letters and their way into the post: templates in, plain text out, nothing that a header could hide."""

from base64 import b64decode
from collections.abc import Mapping
from email.utils import formataddr, parseaddr
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template import Context, loader

from projects.models import Client, Commission, IssuedPaper, Letter, Quote
from projects.models.studio import ClientKind

KINDS = (
    *("quote", "question", "answer", "accepted", "declined"),
    *("sign_off", "signed", "change", "change_answered", "request", "statement"),
)
TO_STUDIO = ("question", "declined", "signed", "change_answered")
"""What is written to the studio. An acceptance goes to both."""

LONGEST_SUBJECT = 200
NOT_THERE = "A paper that should go with it is not there any more."


def one_line(words: str) -> str:
    """Words on a single line, as a header must be, whatever was typed."""
    return " ".join(words.split())


def address(path: str) -> str:
    """A path of this installation as the whole address; what is one already stays."""
    return path if "://" in path else f"{settings.SITE_ADDRESS}/{path.lstrip('/')}"


def letter_text(kind: str, *, commission: Commission, to: str, context: Mapping[str, Any]) -> tuple[str, str]:
    """Subject and body of a letter. The template's first paragraph is the subject; nothing is escaped in plain text.

    `context` may have `link` (the client's private address or the studio's page, whole or from its first slash) and,
    by kind: quote, words, name, option, sign_off, change, paper, statement, amount.
    """
    studio = commission.studio
    given = {
        "commission": commission,
        "studio": studio,
        "client": commission.client,
        "to_studio": kind in TO_STUDIO or (kind == "accepted" and to == studio.email),
        **context,
    }
    if given.get("link"):
        given["link"] = address(given["link"])
    template: Any = loader.get_template(f"mail/{kind}.txt")
    written = template.template.render(Context(given, autoescape=False))
    subject, _, body = written.strip().partition("\n\n")
    paragraphs = [line.rstrip() for line in body.strip().splitlines()]
    return one_line(subject)[:LONGEST_SUBJECT], "\n".join(paragraphs) + "\n"


def post(letter: Letter) -> None:
    """Hand a letter to the mail server. Errors: OSError, among them smtplib's, and ValueError for a header refused."""
    studio = letter.commission.studio
    sender = formataddr((one_line(studio.name), parseaddr(settings.DEFAULT_FROM_EMAIL)[1]))
    message = EmailMessage(
        subject=letter.subject,
        body=letter.body,
        from_email=sender,
        to=[letter.to],
        reply_to=[studio.email] if studio.email and studio.email != letter.to else None,
    )
    for name, paper in (_attached(letter, row) for row in letter.attachments):
        message.attach(name, paper, "application/pdf")
    message.send()


def copy_of(paper: IssuedPaper, *, client: Client) -> bytes:
    """The copy of a paper that is a client's: where there are two, the trade copy is a gallery's alone."""
    buyers = paper.content.get("client_pdf")
    return b64decode(buyers) if buyers and client.kind != ClientKind.GALLERY else bytes(paper.pdf)


def _attached(letter: Letter, row: Mapping[str, Any]) -> tuple[str, bytes]:
    """A paper of the letter's own commission: its file name and its bytes."""
    if row["kind"] == "paper":
        paper = IssuedPaper.objects.filter(commission=letter.commission_id, pk=row["id"]).first()
        if paper is not None:
            return f"{paper.number}.pdf", copy_of(paper, client=letter.commission.client)
    else:
        quote = Quote.objects.filter(commission=letter.commission_id, pk=row["id"], state="issued").first()
        if quote is not None:
            copy = "trade" if row["kind"] == "quote_trade" else "client"
            return f"{quote.number}{quote.revision}-{copy}.pdf", bytes(getattr(quote, f"{copy}_pdf"))
    raise ValueError(NOT_THERE)
