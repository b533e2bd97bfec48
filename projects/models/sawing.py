"""Sawing plans: what is sawn from which board for one or several commissions, kept as it was found."""

import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import money_field, one_of, within
from projects.models.owned import StudioOwned
from projects.models.rack import Board
from projects.models.studio import Member, Studio

EFFORTS = (0, 1, 2, 4, 8)
"""How hard a plan is sought, one after the other: the first answer, then each time as much work again."""

SILENT = datetime.timedelta(seconds=45)
"""A search that has given no sign for so long has ended without saying so."""


class PlanState(models.TextChoices):
    """Where a sawing plan stands."""

    SEARCHING = "searching", "searching"
    READY = "ready", "ready"
    RESERVED = "reserved", "boards reserved"
    CUT = "cut", "cut"
    STALE = "stale", "out of date"
    FAILED = "failed", "failed"


class SawingPlan(StudioOwned):
    """One plan for the commissions together.

    `plan` is the frozen plan as `projects.sawing.freeze` writes it, `marks` what it was made from, a short mark for
    each job, board, price and for the settings, so that a change of any is found and named. `steps` tells what each
    effort came to. A running search is known by its `runner` and signs `beat_at` while it lives.
    """

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="sawing_plans")
    commissions = models.ManyToManyField(Commission, related_name="sawing_plans")
    title = models.CharField(max_length=200)
    state = models.CharField(max_length=9, choices=PlanState, default=PlanState.SEARCHING)
    member = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    effort = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(EFFORTS[-1])])
    cost = money_field("cost of the wood", null=True, blank=True)
    bound = money_field("least possible", null=True, blank=True)
    proven = models.BooleanField(default=False)
    plan = models.JSONField(default=dict, blank=True)
    marks = models.JSONField(default=dict, blank=True)
    steps = models.JSONField(default=list, blank=True)
    progress = models.CharField(max_length=200, blank=True)
    trouble = models.TextField(blank=True)
    runner = models.CharField(max_length=32, blank=True)
    stop_asked = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True, blank=True)
    beat_at = models.DateTimeField("last sign of the search", null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        indexes = [models.Index(fields=["studio", "state"], name="sawing_plan_by_state")]
        constraints = [
            one_of("sawing_plan", "state", PlanState),
            within("sawing_plan", "effort", low=0, high=EFFORTS[-1]),
            within("sawing_plan", "cost", low=0, null=True),
            within("sawing_plan", "bound", low=0, null=True),
            models.CheckConstraint(
                name="sawing_plan_bound_below_cost",
                condition=Q(bound__isnull=True) | Q(bound__lte=F("cost")),
                violation_error_message="The least possible must not be more than the plan costs.",
            ),
            models.CheckConstraint(
                name="sawing_plan_has_figures",
                condition=Q(state=PlanState.FAILED) | Q(cost__isnull=False, bound__isnull=False),
                violation_error_message="A plan has a cost and a bound, unless none was found.",
            ),
            models.CheckConstraint(
                name="sawing_plan_search_is_known",
                condition=~Q(state=PlanState.SEARCHING)
                | (~Q(runner="") & Q(started_at__isnull=False, beat_at__isnull=False)),
                violation_error_message="A search that runs is known by its runner and its times.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_running(self) -> bool:
        """Whether a search is at work on it and has lately said so."""
        return self.state == PlanState.SEARCHING and not self.is_silent

    @property
    def is_silent(self) -> bool:
        """Whether its search has ended without saying so: the server was stopped, or it crashed."""
        searching = self.state == PlanState.SEARCHING
        return searching and (self.beat_at is None or timezone.now() - self.beat_at > SILENT)

    @property
    def can_go_on(self) -> bool:
        """Whether there is more to be sought, and nobody seeks it."""
        seekable = self.state in (PlanState.READY, PlanState.FAILED) or self.is_silent
        return seekable and not self.proven and self.effort < EFFORTS[-1]


class PlannedBoard(StudioOwned):
    """One board of a plan, by its number there: which board of the rack it is, for whom it is held, when it was cut.

    A board to buy has no `board` until it is logged as cut; then it is the one that was put on the rack for that.
    """

    studio_path = "plan__studio"

    plan = models.ForeignKey(SawingPlan, models.CASCADE, related_name="boards")
    number = models.PositiveSmallIntegerField()
    board = models.ForeignKey(Board, models.PROTECT, null=True, blank=True, related_name="planned")
    for_commission = models.ForeignKey(
        Commission,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Most of it serves this.",
    )
    # Set while this plan holds the board; a board that the commission had reserved before is not marked.
    reserved = models.BooleanField(default=False)
    cut_at = models.DateTimeField(null=True, blank=True)
    cut_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "number"],
                name="planned_board_number_once",
                violation_error_message="The plan has a board of this number already.",
            ),
            models.CheckConstraint(
                name="planned_board_held_is_there",
                condition=Q(reserved=False) | Q(board__isnull=False, cut_at__isnull=True),
                violation_error_message="Only a board of the rack that is not cut yet can be held.",
            ),
            models.CheckConstraint(
                name="planned_board_cut_was_there",
                condition=Q(cut_at__isnull=True) | Q(board__isnull=False),
                violation_error_message="A board that was cut is one of the rack.",
            ),
        ]

    def __str__(self) -> str:
        return f"board {self.number} of {self.plan}"

    def clean(self) -> None:
        """Refuse another studio's board or commission."""
        studio = self.plan.studio_id
        wrong: dict[str, Any] = {}
        if self.board is not None and self.board.wood.studio_id != studio:
            wrong["board"] = "Choose a board of this studio."
        if self.for_commission is not None and self.for_commission.studio_id != studio:
            wrong["for_commission"] = "Choose a commission of this studio."
        if wrong:
            raise ValidationError(wrong)
