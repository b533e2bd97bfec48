"""The records as JSON. Lengths in mm and money are decimals as text; every write goes through a service."""

from typing import Any

from rest_framework import serializers

from projects.access import member_of, studio_of
from projects.api.links import OwnRelatedField, OwnWoodField
from projects.models import Adhesive, Band, Board, Client, Commission, Design, Finish, Form, Part, Quote, Wood
from projects.services import commissions, designs, quotes, rack, shop, studios


class ServiceSerializer(serializers.ModelSerializer):
    """A record whose writes are the `<noun>_create` and `<noun>_update` of a services module."""

    services: Any
    noun: str

    def create(self, validated_data: dict[str, Any]) -> Any:
        """Write a new one for the caller's studio."""
        write = getattr(self.services, f"{self.noun}_create")
        return write(studio=studio_of(self.context["request"].user), **validated_data)

    def update(self, instance: Any, validated_data: dict[str, Any]) -> Any:
        """Write the changes."""
        return getattr(self.services, f"{self.noun}_update")(**{self.noun: instance}, **validated_data)


class WoodSerializer(ServiceSerializer):
    """A wood: density in kg/m3 at 12 % moisture, shrinkages in %."""

    services, noun = shop, "wood"

    class Meta:
        model = Wood
        fields = (
            *(
                "id",
                "key",
                "name",
                "botanical",
                "origin",
                "density",
                "colour",
                "price_per_m3",
                "shrink_radial_pct",
            ),
            *("shrink_tangential_pct", "health_note", "source", "from_memory", "active"),
            *("health_detail", "oily", "dust_stains", "fades", "protected_note", "traits_source"),
        )


class BoardSerializer(ServiceSerializer):
    """Like boards on the rack, mm; the price is of one, and follows from that of a unit where one is given.

    Defects are [from, to] along the board, or [from, to, near, far] for an area. A nominal thickness stands in for a
    thickness that is left out. `reserved` of the count are set aside for commissions.
    """

    services, noun = rack, "board"
    wood = OwnWoodField()

    class Meta:
        model = Board
        fields = (
            *(
                "id",
                "wood",
                "length",
                "width",
                "thickness",
                "surface",
                "nominal",
                "count",
                "reserved",
                "price",
            ),
            *("bought_by", "price_per_unit", "defects", "place", "note", "from_board"),
        )
        read_only_fields = ("reserved", "from_board")
        # Defects are checked by the service, which puts them in order first.
        extra_kwargs = {"thickness": {"required": False}, "defects": {"validators": []}}

    def create(self, validated_data: dict[str, Any]) -> Any:
        """Put them on the rack, in the caller's name."""
        return super().create(validated_data | {"member": member_of(self.context["request"].user)})

    def update(self, instance: Any, validated_data: dict[str, Any]) -> Any:
        """Write the changes, in the caller's name."""
        return super().update(instance, validated_data | {"member": member_of(self.context["request"].user)})


class AdhesiveSerializer(ServiceSerializer):
    """An adhesive: parts by volume and by mass, g/ml, film in mm, minutes, °C, pressure in MPa, ml in one cup."""

    services, noun = shop, "adhesive"

    class Meta:
        model = Adhesive
        fields = (
            *("id", "name", "kind", "ratio_a", "ratio_b", "mass_a", "mass_b", "density", "film"),
            *(
                "pot_life_min",
                "pot_life_at_c",
                "open_min",
                "set_min",
                "set_most_min",
                "press_min",
                "cure_min",
                "slower_c",
            ),
            *("least_c", "pressure_low", "pressure_high", "exotherm_ml", "cleaner", "price_per_ml"),
            *("label_read", "cautions", "note", "usual"),
        )


class FinishSerializer(ServiceSerializer):
    """A finish: ml a square decimetre and coat, hours between coats, days to hard."""

    services, noun = shop, "finish"

    class Meta:
        model = Finish
        fields = (
            *("id", "name", "coats", "ml_per_dm2", "hours_between_coats", "days_to_hard", "price_per_ml"),
            *("caution", "note", "usual"),
        )


class ClientSerializer(ServiceSerializer):
    """A gallery or another client; their room in °C and % relative humidity, both or neither."""

    services, noun = studios, "client"

    class Meta:
        model = Client
        fields = (
            *("id", "kind", "name", "contact", "address", "email", "phone", "gallery_share"),
            *("room_temperature_c", "room_humidity", "note"),
        )


class FormSerializer(serializers.ModelSerializer):
    """The outer curve and the inside: points [height, radius] in mm from the bottom up, "corner" third at a corner."""

    class Meta:
        model = Form
        fields = ("outer", "curve", "inside", "wall", "floor", "inner")


class BandSerializer(serializers.ModelSerializer):
    """A run of like layers; thickness, ring height and bore in mm, offsets in segments.

    A chart, {"legend": {"m": "maple"}, "rows": ["mm"]}, one row a layer from the bottom up, stands in place of woods.
    """

    class Meta:
        model = Band
        fields = (
            *("name", "layers", "thickness", "segments", "woods", "offsets", "gap", "made", "ring_height"),
            *("bored", "bore", "plug", "match", "chart"),
        )


class PartSerializer(serializers.ModelSerializer):
    """A part: its form and bands, allowances and holding in mm, and the part (from 1) it stands on or in."""

    form = FormSerializer()
    bands = BandSerializer(many=True)

    class Meta:
        model = Part
        fields = (
            *("name", "allowance_outside", "allowance_inside", "allowance_top", "allowance_bottom"),
            *("held", "held_depth", "held_parting", "close_at", "build_from"),
            *("sits", "sits_at", "flange", "clearance"),
            *("form", "bands"),
        )


class DesignSerializer(serializers.ModelSerializer):
    """A whole design, its parts from the bottom up. To save one, send back the `revision` it was read with."""

    parts = PartSerializer(many=True)
    adhesive = OwnRelatedField(to=Adhesive, required=False, allow_null=True)
    finish = OwnRelatedField(to=Finish, required=False, allow_null=True)
    revision = serializers.IntegerField(min_value=1, max_value=2**31 - 1, required=False)

    class Meta:
        model = Design
        fields = (
            *("id", "title", "quantity", "adhesive", "finish", "note", "is_template", "revision"),
            *("updated_at", "laminates", "parts"),
        )
        read_only_fields = ("updated_at",)

    def create(self, validated_data: dict[str, Any]) -> Design:
        """Write a new design with its parts."""
        validated_data.pop("revision", None)
        return designs.design_create(studio=studio_of(self.context["request"].user), **validated_data)

    def update(self, instance: Design, validated_data: dict[str, Any]) -> Design:
        """Save the whole design, if it is still at the revision sent."""
        if "revision" not in validated_data:
            raise serializers.ValidationError(
                {"revision": "Send the revision that the design was read with."}
            )
        revision = validated_data.pop("revision")
        return designs.design_save(design=instance, expected_revision=revision, **validated_data)


class CommissionSerializer(ServiceSerializer):
    """A commission; its stage is changed by `move`. A room of its own, in °C and %, stands for the client's."""

    services, noun = commissions, "commission"
    client = OwnRelatedField(to=Client)
    design = OwnRelatedField(to=Design, required=False, allow_null=True)

    class Meta:
        model = Commission
        fields = (
            *("id", "client", "title", "stage", "asked_on", "promised_on", "design", "quantity"),
            *("offered_retail", "labour_rate", "margin", "wanted_hourly", "gallery_share", "tax"),
            *("tax_inclusive", "deposit_share", "room_temperature_c", "room_humidity", "notes", "updated_at"),
        )
        read_only_fields = ("stage", "updated_at")


class StageSerializer(serializers.Serializer):
    """The stage to move to."""

    stage = serializers.CharField(max_length=20)


QUOTE_FIELDS = (
    *("id", "commission", "state", "reference", "number", "revision", "title", "issued_at"),
    *("valid_until", "lead_time", "message", "terms", "care", "trade_sha256", "client_sha256"),
)
FROZEN_FIELDS = (
    *("state", "number", "revision", "title", "issued_at", "trade_sha256", "client_sha256"),
    *("sheet", "estimate", "letterhead", "addressee", "species"),
)


class QuoteSerializer(serializers.ModelSerializer):
    """A quote in a list, or a draft to be written. Once issued it does not change."""

    commission = OwnRelatedField(to=Commission)
    reference = serializers.CharField(read_only=True)

    class Meta:
        model = Quote
        fields: tuple[str, ...] = QUOTE_FIELDS
        read_only_fields = FROZEN_FIELDS

    def create(self, validated_data: dict[str, Any]) -> Quote:
        """Draw up the commission's draft."""
        return quotes.quote_draft(**validated_data)


class IssuedQuoteSerializer(QuoteSerializer):
    """A quote with everything that was frozen with it."""

    class Meta(QuoteSerializer.Meta):
        fields = (*QUOTE_FIELDS, "sheet", "estimate", "letterhead", "addressee", "species")


class RefusalSerializer(serializers.Serializer):
    """What is wrong, each with its place."""

    errors = serializers.ListField(child=serializers.CharField())  # type: ignore[assignment]  # the API's own word
