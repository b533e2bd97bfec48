"""The bench's records: the steps of a commission as planned and as done, and what was tapped, noted and measured."""

import datetime
import secrets
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import LARGEST_MM, length_field, one_of, within
from projects.models.owned import StudioOwned, StudioQuerySet
from projects.models.studio import Member, Studio

LONGEST_MIN = 60 * 24 * 60
"""No step takes longer than sixty days, minutes."""


class StepKind(models.TextChoices):
    """Work by hand, or a time in which the piece is left alone."""

    HANDS_ON = "hands_on", "hands on"
    SET = "set", "setting"
    PRESS = "press", "in the press"
    CURE = "cure", "curing"
    REST = "rest", "resting"
    DRY = "dry", "drying"


class StepState(models.TextChoices):
    """Where a step stands. Lost: what came of it was spoilt. Dropped: the design asks for it no more."""

    WAITING = "waiting", "waiting"
    RUNNING = "running", "running"
    DONE = "done", "done"
    LOST = "lost", "lost"
    DROPPED = "dropped", "dropped"


class TapAct(models.TextChoices):
    """What a maker can tap at the bench."""

    START = "start", "start"
    END = "end", "end"
    MIXED = "mixed", "mixed"
    NOTE = "note", "note"
    PHOTO = "photo", "photo"
    MEASURE = "measure", "measure"
    WRONG = "wrong", "it went wrong"
    LOT = "lot", "lot of adhesive"
    UNDO = "undo", "undo"


class MishapKind(models.TextChoices):
    """What goes wrong at a glue-up."""

    SLIPPED = "slipped", "it slipped"
    STARVED = "starved", "a joint is starved"
    LATE = "late", "the glue set too early"
    WRONG_OFFSET = "wrong_offset", "turned the wrong way"


class Verdict(models.TextChoices):
    """What is to be done about a stack as it was measured."""

    GOOD = "good", "good"
    TRUE = "true", "true it"
    SHIM = "shim", "shim it"
    REMAKE = "remake", "make it again"


class BenchStepQuerySet(StudioQuerySet):
    """Steps of one studio, as a plan or a page asks for them."""

    def live(self) -> "BenchStepQuerySet":
        """Those that still count: neither lost nor dropped."""
        return self.exclude(state__in=(StepState.LOST, StepState.DROPPED))

    def by_time(self) -> "BenchStepQuerySet":
        """In the order they are planned in, those without a time last, each with its commission."""
        when = F("planned_start").asc(nulls_last=True)
        return self.select_related("commission").order_by(when, "position", "run", "pk")


class BenchStep(StudioOwned):
    """One step of a commission: what it is, when it is planned, and what became of it.

    `key` names the step alike each time the design is planned; `run` is 0, and 1, 2 ... where it is done again after a
    mishap. `shares` has {operation: [minutes, quantity, set-ups]}, older rows no set-ups. `uses` has how many
    it holds of what, `after` the keys it waits for, each meaning that key's last run; `planning` whatever else the
    calendar asks of it. Steps of several commissions with one `joint_key` follow one another on a machine that stays
    as it is set, or from one mix. `card` is the glue card as it was shown when it began.
    """

    studio_path = "commission__studio"

    commission = models.ForeignKey(Commission, models.CASCADE, related_name="steps")
    key = models.CharField(max_length=160)
    run = models.PositiveSmallIntegerField(default=0)
    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=8, choices=StepKind)
    position = models.PositiveIntegerField(default=0)
    piece = models.PositiveSmallIntegerField(default=1)
    part = models.CharField(max_length=80, blank=True)
    glue_up = models.PositiveIntegerField(null=True, blank=True)
    rings = models.JSONField(default=list, blank=True)
    layers = models.JSONField(default=list, blank=True)
    shares = models.JSONField(default=dict, blank=True)
    minutes = models.PositiveIntegerField()
    uses = models.JSONField(default=dict, blank=True)
    attended = models.BooleanField(
        default=False, help_text="Somebody has to begin it, though it is left alone."
    )
    after = models.JSONField(default=list, blank=True)
    at_once_after = models.CharField(max_length=160, blank=True)
    planning = models.JSONField(default=dict, blank=True)
    joint_key = models.CharField(max_length=160, blank=True)
    planned_start = models.DateTimeField(null=True, blank=True)
    planned_end = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=7, choices=StepState, default=StepState.WAITING)
    started_at = models.DateTimeField(null=True, blank=True)
    mixed_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    started_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    ended_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    card = models.JSONField(default=dict, blank=True)

    objects: ClassVar[Any] = BenchStepQuerySet.as_manager()

    class Meta:
        ordering = ["commission", "position", "run", "pk"]
        indexes = [
            models.Index(fields=["commission", "state"], name="bench_step_by_state"),
            models.Index(fields=["planned_start"], name="bench_step_by_start"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["commission", "key", "run"],
                name="bench_step_once_a_run",
                violation_error_message="The commission has this step already.",
            ),
            models.UniqueConstraint(
                fields=["started_by"],
                condition=Q(state=StepState.RUNNING, kind=StepKind.HANDS_ON),
                name="bench_step_one_running_a_member",
                violation_error_message="Another step of yours is running. End it first.",
            ),
            one_of("bench_step", "kind", StepKind),
            one_of("bench_step", "state", StepState),
            within("bench_step", "minutes", low=0, high=LONGEST_MIN),
            models.CheckConstraint(
                name="bench_step_running_has_started",
                condition=~Q(state=StepState.RUNNING) | Q(started_at__isnull=False, ended_at__isnull=True),
                violation_error_message="A step that runs has started and not ended.",
            ),
            models.CheckConstraint(
                name="bench_step_done_has_ended",
                condition=~Q(state=StepState.DONE) | Q(started_at__isnull=False, ended_at__isnull=False),
                violation_error_message="A step that is done has started and ended.",
            ),
            models.CheckConstraint(
                name="bench_step_waiting_has_not_started",
                condition=~Q(state=StepState.WAITING) | Q(started_at__isnull=True, ended_at__isnull=True),
                violation_error_message="A step that waits has not started.",
            ),
            models.CheckConstraint(
                name="bench_step_ends_after_start",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("started_at")),
                violation_error_message="A step must not end before it starts.",
            ),
            models.CheckConstraint(
                name="bench_step_planned_in_order",
                condition=Q(planned_end__isnull=True) | Q(planned_end__gte=F("planned_start")),
                violation_error_message="A step must not be planned to end before it starts.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_passive(self) -> bool:
        """Whether the piece is left alone in it, so that it ends by the clock."""
        return self.kind != StepKind.HANDS_ON

    @property
    def ends_at(self) -> datetime.datetime | None:
        """When a step that is begun is over: as it was, or by its minutes from the start; None for one that waits."""
        if self.started_at is None or self.ended_at is not None:
            return self.ended_at
        return self.started_at + datetime.timedelta(minutes=self.minutes)

    def clean(self) -> None:
        """Refuse another studio's member."""
        for field in ("started_by", "ended_by"):
            member = getattr(self, field)
            if member is not None and member.studio_id != self.commission.studio_id:
                raise ValidationError({field: "Choose someone who works in this studio."})


class BenchTap(StudioOwned):
    """One tap at the bench, kept as it came: the same one sent twice is found by its `uuid` and does nothing twice.

    `at` is when it was tapped, by the maker's clock; `accepted` whether it was done, `outcome` what was said to it.
    `changed` is what it changed, as `projects.services.bench_undo` reads it, `undone_by` the tap that took it back.
    """

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="bench_taps")
    member = models.ForeignKey(Member, models.PROTECT, related_name="bench_taps")
    uuid = models.UUIDField()
    act = models.CharField(max_length=7, choices=TapAct)
    step = models.ForeignKey(BenchStep, models.SET_NULL, null=True, blank=True, related_name="taps")
    at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    payload = models.JSONField(default=dict, blank=True)
    accepted = models.BooleanField(default=True)
    outcome = models.TextField(blank=True)
    changed = models.JSONField(default=dict, blank=True)
    undone_by = models.ForeignKey("self", models.SET_NULL, null=True, blank=True, related_name="undid")

    class Meta:
        ordering = ["-received_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "uuid"],
                name="bench_tap_once",
                violation_error_message="This was sent already.",
            ),
            one_of("bench_tap", "act", TapAct),
        ]

    def __str__(self) -> str:
        return f"{self.get_act_display()}, {self.at:%Y-%m-%d %H:%M}"

    def clean(self) -> None:
        """Refuse another studio's member or step."""
        if self.member_id and self.member.studio_id != self.studio_id:
            raise ValidationError({"member": "Choose someone who works in this studio."})
        if self.step is not None and self.step.commission.studio_id != self.studio_id:
            raise ValidationError({"step": "Choose a step of this studio."})


def photo_path(note: "StepNote", filename: str) -> str:
    """Where a photo is kept: under its studio, by a name that nobody can guess, whatever its file was called."""
    return f"bench/{note.step.commission.studio_id}/{secrets.token_hex(16)}.jpg"


class StepNote(StudioOwned):
    """Words or a photo about a step. The photo is private: only a page that asks for the studio hands it out."""

    studio_path = "step__commission__studio"

    step = models.ForeignKey(BenchStep, models.CASCADE, related_name="notes")
    text = models.TextField(blank=True)
    photo = models.FileField(upload_to=photo_path, blank=True, max_length=120)
    at = models.DateTimeField(default=timezone.now)
    member = models.ForeignKey(Member, models.PROTECT, related_name="step_notes")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="step_note_says_something",
                condition=~Q(text="") | ~Q(photo=""),
                violation_error_message="Write something, or take a photo.",
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60] or "photo"

    def clean(self) -> None:
        """Refuse another studio's member."""
        _refuse_stranger(self, self.step.commission)


class Mishap(StudioOwned):
    """What went wrong in a step, and the layers and rings that it cost, by number."""

    studio_path = "step__commission__studio"

    step = models.ForeignKey(BenchStep, models.CASCADE, related_name="mishaps")
    kind = models.CharField(max_length=12, choices=MishapKind)
    note = models.TextField(blank=True)
    layers = models.JSONField(default=list, blank=True)
    rings = models.JSONField(default=list, blank=True)
    at = models.DateTimeField(default=timezone.now)
    member = models.ForeignKey(Member, models.PROTECT, related_name="mishaps")

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [one_of("mishap", "kind", MishapKind)]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.step}"

    def clean(self) -> None:
        """Refuse another studio's member."""
        _refuse_stranger(self, self.step.commission)


class AsBuilt(StudioOwned):
    """A part as measured after a glue-up: height of the stack, run-out at the rim (what a dial shows a turn), mm."""

    studio_path = "commission__studio"

    commission = models.ForeignKey(Commission, models.CASCADE, related_name="as_built")
    piece = models.PositiveSmallIntegerField(default=1)
    part = models.CharField(max_length=80, blank=True)
    glue_up = models.PositiveIntegerField(null=True, blank=True)
    height = length_field("height of the stack", null=True, blank=True)
    run_out = length_field("run-out", low=0, null=True, blank=True)
    verdict = models.CharField(max_length=6, choices=Verdict, blank=True)
    at = models.DateTimeField(default=timezone.now)
    member = models.ForeignKey(Member, models.PROTECT, related_name="as_built")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "as built"
        constraints = [
            within("as_built", "height", low=0.001, high=LARGEST_MM, null=True),
            within("as_built", "run_out", low=0, high=LARGEST_MM, null=True),
            models.CheckConstraint(
                name="as_built_measured",
                condition=Q(height__isnull=False) | Q(run_out__isnull=False),
                violation_error_message="Measure the height or the run-out.",
            ),
            models.CheckConstraint(
                name="as_built_verdict_known",
                condition=Q(verdict__in=["", *Verdict.values]),
                violation_error_message=f"The verdict must be one of: {', '.join(Verdict.values)}.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part or self.commission}, {self.at:%Y-%m-%d}"

    def clean(self) -> None:
        """Refuse another studio's member."""
        _refuse_stranger(self, self.commission)


def _refuse_stranger(record: Any, commission: Commission) -> None:
    if record.member_id and record.member.studio_id != commission.studio_id:
        raise ValidationError({"member": "Choose someone who works in this studio."})
