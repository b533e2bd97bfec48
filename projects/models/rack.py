"""The rack: boards as they lie there, for whom they are reserved, and what became of them."""

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from projects.models.commissions import Commission
from projects.models.fields import LARGEST_MM, length_field, money_field, one_of, plain_text, within
from projects.models.kept import Kept
from projects.models.owned import StudioOwned, StudioQuerySet
from projects.models.shop import Wood
from projects.models.studio import Member

MOST_BOARDS = 1000
MOST_DEFECTS = 50

# A measure that is a thousandth over is the same measure, written in another unit.
_SLACK = 0.001


class Surface(models.TextChoices):
    """How a board's faces are: as sawn, or planed true."""

    ROUGH = "rough", "rough"
    SURFACED = "surfaced", "surfaced"


class Nominal(models.TextChoices):
    """Thicknesses as hardwood is sold by, in quarters of an inch."""

    Q4 = "4/4", "4/4"
    Q5 = "5/4", "5/4"
    Q6 = "6/4", "6/4"
    Q8 = "8/4", "8/4"
    Q10 = "10/4", "10/4"
    Q12 = "12/4", "12/4"
    Q16 = "16/4", "16/4"


class BoughtBy(models.TextChoices):
    """What a yard asks its price for."""

    PIECE = "piece", "board"
    BOARD_FOOT = "board_foot", "board foot"
    CUBIC_METRE = "cubic_metre", "cubic metre"
    RUNNING_METRE = "running_metre", "running metre"
    RUNNING_FOOT = "running_foot", "running foot"


class Happening(models.TextChoices):
    """What can happen to boards on the rack."""

    PUT = "put", "put on the rack"
    CHANGED = "changed", "changed"
    RESERVED = "reserved", "reserved"
    RELEASED = "released", "released"
    CUT = "cut", "cut"
    OFFCUT = "offcut", "came back as an offcut"
    TAKEN_OFF = "taken_off", "taken off the rack"


def validate_defects(defects: Any) -> None:
    """Refuse what is no list of defects: [from, to] along the board, or [from, to, near, far] for an area, mm."""
    if not isinstance(defects, list):
        raise ValidationError("Write defects as a list.")
    if len(defects) > MOST_DEFECTS:
        raise ValidationError(f"A board may have up to {MOST_DEFECTS} defects.")
    for number, defect in enumerate(defects, start=1):
        if not isinstance(defect, list) or len(defect) not in (2, 4):
            raise ValidationError(
                f"Defect {number} must be [from, to], or [from, to, near, far] for an area."
            )
        if not all(_is_measure(end) for end in defect):
            raise ValidationError(f"Defect {number} must be of plain numbers in mm, from 0 to {LARGEST_MM}.")
        if not all(first < last for first, last in (defect[:2], defect[2:] or (0, 1))):
            raise ValidationError(f"Defect {number} must end after it begins.")
    if defects != sorted(defects):
        raise ValidationError("List the defects in order, from the end that is measured from.")


def _is_measure(value: Any) -> bool:
    # True and False are whole numbers to Python, but no measures; NaN is within no limits.
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= LARGEST_MM


class BoardQuerySet(StudioQuerySet):
    """Boards, of which those that are used up are kept for their history alone."""

    def on_rack(self) -> "BoardQuerySet":
        """Those that lie there."""
        return self.filter(count__gt=0)


class Board(StudioOwned):
    """Like boards on the rack, mm as they lie there. The studio is the wood's.

    `count` is how many lie there, reserved ones among them; at 0 they are used up, and the row stays for its
    history. `price` is of one. Bought by a unit of sale, it follows from `price_per_unit`; nothing else sets it.
    """

    studio_path = "wood__studio"

    wood = models.ForeignKey(Wood, models.PROTECT, related_name="boards")
    length = length_field("length")
    width = length_field("width")
    thickness = length_field(
        "thickness", high=1000, error_messages={"null": "Measure it, or say what it was sold as."}
    )
    surface = models.CharField(
        max_length=8, choices=Surface, default=Surface.SURFACED, help_text="Rough boards are planed first."
    )
    nominal = models.CharField(
        "sold as", max_length=5, choices=Nominal, blank=True, help_text="Quarters of an inch, sawn rough."
    )
    count = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(0), MaxValueValidator(MOST_BOARDS)]
    )
    reserved = models.PositiveSmallIntegerField(default=0, editable=False)
    price = money_field("price a board", default=0)
    bought_by = models.CharField(max_length=13, choices=BoughtBy, default=BoughtBy.PIECE)
    price_per_unit = money_field("price a unit", null=True, blank=True)
    defects = models.JSONField(default=list, blank=True, validators=[validate_defects])
    place = models.CharField("where it lies", max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)
    from_board = models.ForeignKey(
        "self", models.SET_NULL, null=True, blank=True, editable=False, related_name="offcuts"
    )

    objects: ClassVar[Any] = BoardQuerySet.as_manager()

    class Meta:
        ordering = ["wood__name", "-length", "pk"]
        constraints = [
            within("board", "length", low=0.001, high=10_000),
            within("board", "width", low=0.001, high=10_000),
            within("board", "thickness", low=0.001, high=1000),
            within("board", "count", low=0, high=MOST_BOARDS),
            within("board", "price", low=0),
            within("board", "price_per_unit", low=0, null=True),
            one_of("board", "surface", Surface),
            one_of("board", "bought_by", BoughtBy),
            models.CheckConstraint(
                name="board_nominal_known",
                condition=Q(nominal__in=["", *Nominal.values]),
                violation_error_message=f"Sold as: one of {', '.join(Nominal.values)}, or nothing.",
            ),
            models.CheckConstraint(
                name="board_reserved_in_range",
                condition=Q(reserved__gte=0, reserved__lte=F("count")),
                violation_error_message="No more boards can be reserved than lie there.",
            ),
            models.CheckConstraint(
                name="board_priced_by_piece_or_unit",
                condition=Q(bought_by=BoughtBy.PIECE, price_per_unit__isnull=True)
                | (~Q(bought_by=BoughtBy.PIECE) & Q(price_per_unit__isnull=False)),
                violation_error_message="A board bought by a unit of sale has a price a unit; another has none.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} of {self.what}"

    @property
    def what(self) -> str:
        """Its wood and size: `walnut, 1800 × 150 × 27 mm`."""
        size = " × ".join(plain_text(side) for side in (self.length, self.width, self.thickness))
        return f"{self.wood}, {size} mm"

    @property
    def free(self) -> int:
        """How many lie there that nobody has reserved."""
        return self.count - self.reserved

    def clean(self) -> None:
        """Refuse a price for nothing, and defects that reach beyond the board."""
        wrong: dict[str, str] = {}
        if self.bought_by != BoughtBy.PIECE and self.price_per_unit is None:
            wrong["price_per_unit"] = "Say what a unit costs."
        if self.bought_by == BoughtBy.PIECE and self.price_per_unit is not None:
            wrong["price_per_unit"] = "Bought by the board, it has a price a board only."
        if words := self._beyond():
            wrong["defects"] = words
        if wrong:
            raise ValidationError(wrong)

    def _beyond(self) -> str:
        """Which defect reaches beyond the board, in words."""
        try:
            validate_defects(self.defects)
            length, width = float(self.length), float(self.width)
        except (ValidationError, TypeError, ValueError):
            return ""  # its own field says so
        for number, defect in enumerate(self.defects, start=1):
            for last, limit, along in zip(defect[1::2], (length, width), ("long", "wide"), strict=False):
                if last > limit + _SLACK:
                    return f"Defect {number} ends at {last:g} mm, but the board is {limit:g} mm {along}."
        return ""


class Reservation(StudioOwned):
    """Boards set aside for a commission. `Board.reserved` is their sum, kept with it in one transaction."""

    studio_path = "commission__studio"

    board = models.ForeignKey(Board, models.PROTECT, related_name="reservations")
    # Kept by the commission: to let it go unnoticed would leave the boards reserved for nobody.
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="reservations")
    count = models.PositiveSmallIntegerField(
        "how many", default=1, validators=[MinValueValidator(1), MaxValueValidator(MOST_BOARDS)]
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["created_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["board", "commission"],
                name="reservation_once_a_board_and_commission",
                violation_error_message="These boards are reserved for this commission already.",
            ),
            within("reservation", "count", low=1, high=MOST_BOARDS),
        ]

    def __str__(self) -> str:
        return f"{self.count} for {self.commission}"

    def clean(self) -> None:
        """Refuse another studio's board."""
        if self.board_id and self.commission_id and self.board.wood.studio_id != self.commission.studio_id:
            raise ValidationError({"board": "Choose a board of this studio."})


class BoardEvent(Kept):
    """One thing that happened to boards: how many it met, and how many lay there afterwards. Only ever added."""

    KEPT = "The history of a board is only added to."

    studio_path = "board__wood__studio"

    board = models.ForeignKey(Board, models.PROTECT, related_name="events")
    at = models.DateTimeField(auto_now_add=True)
    member = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    what = models.CharField(max_length=9, choices=Happening)
    count = models.PositiveSmallIntegerField("how many")
    left = models.PositiveSmallIntegerField("lay there afterwards")
    commission = models.ForeignKey(Commission, models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [one_of("board_event", "what", Happening)]

    def __str__(self) -> str:
        return f"{self.count} {self.get_what_display()}"
