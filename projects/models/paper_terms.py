"""What stands on papers besides the piece and its price: who the parties are, tax, and what is agreed of delivery."""

from typing import Any

from django.core.validators import MaxValueValidator
from django.db import models

from projects.models.fields import money_field, one_of, within


class StudioTax(models.TextChoices):
    """Whether the studio charges tax."""

    CHARGED = "charged", "charged at the rate of its prices"
    NONE = "none", "not charged: the studio is not registered for it"


class ClientTax(models.TextChoices):
    """What decides the tax of a client."""

    USUAL = "usual", "as usual"
    REVERSE = "reverse", "none: the client accounts for it (reverse charge)"
    EXPORT = "export", "none: the piece leaves the country (export)"
    EXEMPT = "exempt", "none: the client is exempt"


class Ships(models.TextChoices):
    """Who sends the piece on its way."""

    STUDIO = "studio", "the studio sends it"
    GALLERY = "gallery", "the gallery sends for it"
    CLIENT = "client", "the client fetches it"


class Edition(models.TextChoices):
    """Whether there will be others like it."""

    UNSAID = "", "not said"
    UNIQUE = "unique", "unique: not made again"
    SERIES = "series", "one of a series"


class DepositVia(models.TextChoices):
    """Whom the deposit comes through, where a gallery stands between."""

    DIRECT = "direct", "paid to the studio"
    GALLERY_WHOLE = "gallery_whole", "paid to the gallery, which passes it on whole"
    GALLERY_LESS = "gallery_less", "paid to the gallery, which passes it on less its share"


class StudioPapers(models.Model):
    """The studio as a party to its papers. Part of Studio; nothing set prints nothing."""

    legal_name = models.CharField(
        max_length=160, blank=True, help_text="As registered, where it is not the studio's name."
    )
    company_number = models.CharField(
        max_length=60, blank=True, help_text="And the register, where asked for."
    )
    tax_status = models.CharField("tax", max_length=7, choices=StudioTax, default=StudioTax.CHARGED)
    tax_note = models.CharField(
        max_length=200, blank=True, help_text="Printed where no tax is charged, such as the rule it goes by."
    )
    sends_invoices = models.BooleanField(
        "requests for money are tax invoices",
        default=False,
        help_text="They need your tax number then. Otherwise they say that they are none.",
    )
    bank_details = models.TextField(blank=True, help_text="Printed on every request, one line a row.")
    payment_days = models.PositiveSmallIntegerField(
        "days to pay", default=14, validators=[MaxValueValidator(365)], help_text="From a request's date."
    )

    class Meta:
        abstract = True


def studio_paper_rules() -> list[models.BaseConstraint]:
    """The database's own hold on the studio's part."""
    return [one_of("studio", "tax_status", StudioTax), within("studio", "payment_days", low=0, high=365)]


class ClientPapers(models.Model):
    """A client as a party to papers. Part of Client."""

    legal_name = models.CharField(max_length=160, blank=True, help_text="Where it is not the name above.")
    tax_number = models.CharField(max_length=40, blank=True)
    tax_status = models.CharField(
        "tax",
        max_length=7,
        choices=ClientTax,
        default=ClientTax.USUAL,
        help_text="What is due, and when none is, depends on the law of both places: ask an adviser.",
    )
    payment_days = models.PositiveSmallIntegerField(
        "days to pay",
        null=True,
        blank=True,
        validators=[MaxValueValidator(365)],
        help_text="Empty: as the studio asks.",
    )

    class Meta:
        abstract = True


def client_paper_rules() -> list[models.BaseConstraint]:
    """The database's own hold on a client's part."""
    return [
        one_of("client", "tax_status", ClientTax),
        within("client", "payment_days", low=0, high=365, null=True),
    ]


class CommissionPapers(models.Model):
    """What is agreed of one commission's delivery and rights. Part of Commission; what is unsaid is not printed."""

    ready_from = models.DateField("ready from", null=True, blank=True, help_text="The window's first day.")
    ready_to = models.DateField("ready by", null=True, blank=True, help_text="And its last.")
    ships = models.CharField("who sends it", max_length=7, choices=Ships, default=Ships.STUDIO)
    insured_value = money_field(
        "insured for", null=True, blank=True, help_text="Empty: what is paid to you for it, before tax."
    )
    edition = models.CharField(max_length=6, choices=Edition, blank=True, default=Edition.UNSAID)
    edition_number = models.PositiveSmallIntegerField("number in the series", null=True, blank=True)
    edition_size = models.PositiveSmallIntegerField("pieces in the series", null=True, blank=True)
    deposit_via = models.CharField(
        "how the deposit is paid", max_length=13, choices=DepositVia, default=DepositVia.DIRECT
    )

    class Meta:
        abstract = True

    def wrong_on_papers(self) -> dict[str, Any]:
        """What is said against itself, by field."""
        wrong: dict[str, Any] = {}
        if self.ready_to is not None and self.ready_from is not None and self.ready_to < self.ready_from:
            wrong["ready_to"] = "This lies before the first day of the window."
        number, size = self.edition_number, self.edition_size
        if number is not None and size is not None and number > size:
            wrong["edition_number"] = "There are not so many in the series."
        if self.edition == Edition.SERIES and not (number and size):
            wrong["edition_size"] = "Say which of how many it is."
        return wrong


def commission_paper_rules() -> list[models.BaseConstraint]:
    """The database's own hold on a commission's part."""
    return [
        one_of("commission", "ships", Ships),
        one_of("commission", "edition", Edition),
        one_of("commission", "deposit_via", DepositVia),
        within("commission", "insured_value", low=0, null=True),
    ]
