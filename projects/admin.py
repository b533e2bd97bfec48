"""The admin, for looking into a database: quotes stay frozen here too."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from projects import models


class QuoteAdmin(admin.ModelAdmin):
    """Quotes to be looked at only: issuing one is more than a saved row."""

    list_display = ["__str__", "studio", "commission", "state", "issued_at"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Quotes are drawn up on their page."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Quotes are changed on their page, while drafts."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """A number handed out must stay accounted for."""
        return False


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
        models.Board,
        models.Client,
        models.Commission,
        models.Finish,
        models.HoursEntry,
        models.Member,
        models.PricingDefaults,
        models.ShopSettings,
        models.StandingRate,
        models.Studio,
        models.Wood,
    ]
)
