"""The studio's records. Each belongs to one studio: ask through `for_studio` or `for_member`."""

from projects.models.adhesives import Adhesive
from projects.models.agreements import ChangeOrder, SignOff
from projects.models.bands import Band
from projects.models.bench import AsBuilt, BenchStep, BenchTap, Mishap, StepNote
from projects.models.calendar import BenchHours, BenchSettings, CalendarPlan, DayOff, FeedAddress, JobDates
from projects.models.carriage import CarriageRate
from projects.models.commissions import Commission
from projects.models.designs import Design
from projects.models.issued import IssuedPaper, Letter, PaperSeries, Payment
from projects.models.learning import LearningSettings
from projects.models.lots import AdhesiveLot
from projects.models.made_from import MadeFrom
from projects.models.making import HoursChange, HoursEntry
from projects.models.moisture import MoistureReading
from projects.models.paper_defaults import PaperDefaults
from projects.models.parts import Form, Part
from projects.models.photos import RecordPhoto
from projects.models.places import Place, PlacePayment
from projects.models.quote_life import ClientLink, QuoteEvent, QuoteOption
from projects.models.quotes import Quote
from projects.models.rack import Board, BoardEvent, Reservation
from projects.models.records import (
    PieceRecord,
    RecordChange,
    RecordCoat,
    RecordDrawing,
    RecordWood,
    RecordWords,
    SavedSearch,
    TakenLine,
)
from projects.models.saw_settings import SawSetting
from projects.models.sawing import PlannedBoard, SawingPlan
from projects.models.serials import SerialScheme
from projects.models.settings import PricingDefaults, ShopSettings
from projects.models.shop import Finish, StandingRate, Wood
from projects.models.studio import Client, Member, Studio

__all__ = [
    "Adhesive",
    "AdhesiveLot",
    "AsBuilt",
    "Band",
    "BenchHours",
    "BenchSettings",
    "BenchStep",
    "BenchTap",
    "Board",
    "BoardEvent",
    "CalendarPlan",
    "CarriageRate",
    "ChangeOrder",
    "Client",
    "ClientLink",
    "Commission",
    "DayOff",
    "Design",
    "FeedAddress",
    "Finish",
    "Form",
    "HoursChange",
    "HoursEntry",
    "IssuedPaper",
    "JobDates",
    "LearningSettings",
    "Letter",
    "MadeFrom",
    "Member",
    "Mishap",
    "MoistureReading",
    "PaperDefaults",
    "PaperSeries",
    "Part",
    "Payment",
    "PieceRecord",
    "Place",
    "PlacePayment",
    "PlannedBoard",
    "PricingDefaults",
    "Quote",
    "QuoteEvent",
    "QuoteOption",
    "RecordChange",
    "RecordCoat",
    "RecordDrawing",
    "RecordPhoto",
    "RecordWood",
    "RecordWords",
    "Reservation",
    "SavedSearch",
    "SawSetting",
    "SawingPlan",
    "SerialScheme",
    "ShopSettings",
    "SignOff",
    "StandingRate",
    "StepNote",
    "Studio",
    "TakenLine",
    "Wood",
]
