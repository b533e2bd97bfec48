"""Sawing plans over the API: to be read, with their boards and the frozen plan."""

from typing import Any

from rest_framework import serializers, viewsets

from projects.api.views import OwnViewSet
from projects.models import PlannedBoard, SawingPlan

FIELDS = (
    *("id", "title", "state", "commissions", "effort", "cost", "bound", "proven", "progress"),
    *("created_at", "finished_at"),
)


class PlannedBoardSerializer(serializers.ModelSerializer):
    """A board of a plan: which of the rack, null to buy; for which commission; whether it is held, when it was cut."""

    class Meta:
        model = PlannedBoard
        fields = ("number", "board", "for_commission", "reserved", "cut_at")


class SawingPlanSerializer(serializers.ModelSerializer):
    """A plan's figures: what its wood costs, and the least that any plan could."""

    class Meta:
        model = SawingPlan
        fields: tuple[str, ...] = FIELDS


class WholeSawingPlanSerializer(SawingPlanSerializer):
    """A plan with its boards, what each effort came to, and the plan as it was frozen; mm, money as text."""

    boards = PlannedBoardSerializer(many=True)

    class Meta(SawingPlanSerializer.Meta):
        fields = (*FIELDS, "steps", "boards", "plan")


class SawingPlanViewSet(OwnViewSet, viewsets.ReadOnlyModelViewSet):
    """The studio's sawing plans, the newest first."""

    owned = SawingPlan

    def get_queryset(self) -> Any:
        """With their commissions; what is frozen only for one by itself."""
        rows = super().get_queryset().prefetch_related("commissions")
        return (
            rows.prefetch_related("boards")
            if self.action == "retrieve"
            else rows.defer("plan", "marks", "steps")
        )

    def get_serializer_class(self) -> Any:
        """The whole plan by itself; its figures in lists."""
        return WholeSawingPlanSerializer if self.action == "retrieve" else SawingPlanSerializer
