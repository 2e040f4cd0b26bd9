"""The work: what is to be done, what was done, for whom, and who changed what."""

from shop.models.advice import Advice
from shop.models.bookings import Bay, Booking, PlanRun, SeasonBlock, ShopFigure, Skill, Technician, TimeAway
from shop.models.changes import Act, ChangeEntry, CurrentAct
from shop.models.doors import CalendarKey, Counter, FormToken, Person
from shop.models.imports import ImportFile
from shop.models.papers import Paper
from shop.models.parts import HeldPart, KitItem, Part, StockMove
from shop.models.procedures import OpenTest, OpenTestMark, Procedure
from shop.models.service import Deferral, Extension, IntervalRule, ServiceTask, SeverityFactor, TaskDone
from shop.models.visits import Finding, Visit
from shop.models.workorders import Approval, LabourEntry, OrderLine, OrderMove, WorkOrder

__all__ = [
    "Act",
    "Advice",
    "Approval",
    "Bay",
    "Booking",
    "CalendarKey",
    "ChangeEntry",
    "Counter",
    "CurrentAct",
    "Deferral",
    "Extension",
    "Finding",
    "FormToken",
    "ImportFile",
    "IntervalRule",
    "HeldPart",
    "KitItem",
    "LabourEntry",
    "OrderLine",
    "OrderMove",
    "Paper",
    "Part",
    "Person",
    "PlanRun",
    "Procedure",
    "SeasonBlock",
    "ServiceTask",
    "OpenTestMark",
    "SeverityFactor",
    "ShopFigure",
    "Skill",
    "StockMove",
    "TaskDone",
    "Technician",
    "OpenTest",
    "TimeAway",
    "Visit",
    "WorkOrder",
]
