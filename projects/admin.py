"""The admin, for looking into a database: quotes stay frozen here too."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from projects import models


class LookedAtOnly(admin.ModelAdmin):
    """Records to be looked at only: writing one is more than a saved row, and is done on their pages."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Quotes are drawn up, and boards put on the rack, on their pages."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """They are changed on their pages."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """A number handed out must stay accounted for, and so must a board."""
        return False


class QuoteAdmin(LookedAtOnly):
    """Quotes."""

    list_display = ["__str__", "studio", "commission", "state", "issued_at"]


@admin.register(models.Board)
class BoardAdmin(LookedAtOnly):
    """Boards on the rack, and those that are used up."""

    list_display = ["__str__", "reserved", "place"]
    list_select_related = ["wood"]


@admin.register(models.Reservation)
class ReservationAdmin(LookedAtOnly):
    """Boards set aside."""

    list_display = ["board", "commission", "count"]
    list_select_related = ["board__wood", "commission"]


@admin.register(models.BoardEvent)
class BoardEventAdmin(LookedAtOnly):
    """What happened to boards."""

    list_display = ["at", "board", "what", "count", "left", "member"]
    list_select_related = ["board__wood", "member__user"]


@admin.register(models.HoursEntry)
class HoursEntryAdmin(LookedAtOnly):
    """Hours: what is changed on their page is kept in their history."""

    list_display = ["operation", "worked_on", "member", "commission", "minutes"]
    list_select_related = ["member__user", "commission"]


@admin.register(models.HoursChange)
class HoursChangeAdmin(LookedAtOnly):
    """What was changed or taken out of the hours log."""

    list_display = ["at", "entry_number", "what", "member", "by"]
    list_select_related = ["member__user", "by__user"]


@admin.register(models.SawingPlan)
class SawingPlanAdmin(LookedAtOnly):
    """Sawing plans."""

    list_display = ["title", "studio", "state", "cost", "bound", "created_at"]


@admin.register(models.PlannedBoard)
class PlannedBoardAdmin(LookedAtOnly):
    """The boards of sawing plans."""

    list_display = ["plan", "number", "board", "reserved", "cut_at"]
    list_select_related = ["plan", "board__wood"]


@admin.register(models.BenchStep)
class BenchStepAdmin(LookedAtOnly):
    """Steps as planned and as done."""

    list_display = ["name", "commission", "run", "state", "planned_start", "started_at", "ended_at"]
    list_select_related = ["commission"]


@admin.register(models.BenchTap)
class BenchTapAdmin(LookedAtOnly):
    """What was tapped at the bench."""

    list_display = ["at", "act", "step", "member", "accepted", "outcome"]
    list_select_related = ["step", "member__user"]


@admin.register(models.AdhesiveLot)
class AdhesiveLotAdmin(LookedAtOnly):
    """Lots of adhesive that glue-ups were mixed from."""

    list_display = ["at", "step", "name", "part", "lot", "use_by"]
    list_select_related = ["step"]


@admin.register(models.StepNote)
class StepNoteAdmin(LookedAtOnly):
    """Notes and photos; a photo comes in by the bench page alone, which makes it safe to keep."""

    list_display = ["at", "step", "member", "text"]
    list_select_related = ["step", "member__user"]
    exclude = ["photo"]


@admin.register(models.CalendarPlan)
class CalendarPlanAdmin(LookedAtOnly):
    """Calendars."""

    list_display = ["studio", "planned_at", "finish", "bound", "proven"]
    list_select_related = ["studio"]


@admin.register(models.FeedAddress)
class FeedAddressAdmin(LookedAtOnly):
    """Feed addresses, of which only hashes are kept."""

    list_display = ["__str__", "studio", "revoked_at", "last_read_at"]
    list_select_related = ["studio", "member__user"]


class BandInline(admin.TabularInline):
    """Bands within their part."""

    model = models.Band
    extra = 0


class FormInline(admin.StackedInline):
    """The form within its part."""

    model = models.Form


class PartInline(admin.StackedInline):
    """Parts within their design."""

    model = models.Part
    extra = 0
    show_change_link = True


@admin.register(models.Part)
class PartAdmin(admin.ModelAdmin):
    """A part with its form and bands."""

    list_display = ["name", "design", "position"]
    list_select_related = ["design"]
    inlines = [FormInline, BandInline]


@admin.register(models.Design)
class DesignAdmin(admin.ModelAdmin):
    """A design with its parts."""

    list_display = ["title", "studio", "is_template", "revision"]
    inlines = [PartInline]


admin.site.register(models.Quote, QuoteAdmin)
admin.site.register(
    [
        models.Adhesive,
        models.AsBuilt,
        models.BenchHours,
        models.BenchSettings,
        models.CarriageRate,
        models.Client,
        models.Commission,
        models.DayOff,
        models.Finish,
        models.JobDates,
        models.LearningSettings,
        models.Member,
        models.Mishap,
        models.MoistureReading,
        models.PaperDefaults,
        models.PricingDefaults,
        models.SawSetting,
        models.ShopSettings,
        models.StandingRate,
        models.Studio,
        models.Wood,
    ]
)


@admin.register(models.QuoteEvent)
class QuoteEventAdmin(LookedAtOnly):
    """What happened to quotes."""

    list_display = ["at", "quote", "what", "name", "member"]
    list_select_related = ["quote", "member__user"]


@admin.register(models.SignOff)
class SignOffAdmin(LookedAtOnly):
    """Drawings and samples put to clients. Their photos come in by the commission's page alone."""

    list_display = ["asked_at", "commission", "kind", "answer", "answered_name"]
    list_select_related = ["commission"]
    exclude = ["photo"]


@admin.register(models.ChangeOrder)
class ChangeOrderAdmin(LookedAtOnly):
    """Priced changes."""

    list_display = ["__str__", "commission", "amount", "answer"]
    list_select_related = ["commission"]


@admin.register(models.IssuedPaper)
class IssuedPaperAdmin(LookedAtOnly):
    """Papers handed out."""

    list_display = ["__str__", "commission", "issued_on", "amount", "due_on"]
    list_select_related = ["commission"]


@admin.register(models.Payment)
class PaymentAdmin(LookedAtOnly):
    """Payments taken down."""

    list_display = ["paid_on", "commission", "way", "amount", "struck_at"]
    list_select_related = ["commission"]


@admin.register(models.ClientLink)
class ClientLinkAdmin(LookedAtOnly):
    """Private links; what they are made from is not shown."""

    list_display = ["__str__", "commission", "expires_on", "revoked_at", "last_seen_at"]
    list_select_related = ["commission"]
    exclude = ["nonce", "token_hash"]


@admin.register(models.QuoteOption)
class QuoteOptionAdmin(LookedAtOnly):
    """Options on quotes."""

    list_display = ["title", "quote", "position"]
    list_select_related = ["quote"]


@admin.register(models.PaperSeries)
class PaperSeriesAdmin(LookedAtOnly):
    """How far the numbers of papers have come."""

    list_display = ["studio", "kind", "year", "count"]
    list_select_related = ["studio"]


@admin.register(models.Letter)
class LetterAdmin(LookedAtOnly):
    """Mail that was written."""

    list_display = ["written_at", "to", "subject", "state"]


# What belongs to a record of the log is looked at as it is.
admin.site.register(
    [
        models.MadeFrom,
        *(
            models.Place,
            models.PlacePayment,
            models.RecordChange,
            models.RecordCoat,
            models.RecordDrawing,
            models.RecordPhoto,
            models.RecordWood,
        ),
        *(models.RecordWords, models.SavedSearch, models.SerialScheme, models.TakenLine),
    ],
    LookedAtOnly,
)


@admin.register(models.PieceRecord)
class PieceRecordAdmin(LookedAtOnly):
    """Finished pieces, those taken out of the log too."""

    list_display = ["serial", "title", "studio", "year", "place", "taken_out_at"]
    list_select_related = ["studio"]

    def get_queryset(self, request: HttpRequest) -> Any:
        """All of them."""
        return models.PieceRecord.everything.all()
