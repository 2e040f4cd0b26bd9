"""The record: every table of what exists and what was measured, by its trade noun."""

from fleet.models.conditions import ConditionAssessment
from fleet.models.customers import Contact, Customer, Site
from fleet.models.drives import AcceptanceRule, Document, DriveModel, DriveUnit, FigureSource, Installation, Port, UnitEvent
from fleet.models.failures import Failure
from fleet.models.fluids import FluidFill, FluidProduct
from fleet.models.hours import HourMeter, HourReading
from fleet.models.instruments import Calibration, Instrument
from fleet.models.machines import Machine, Ownership
from fleet.models.readings import DriveTest, Reading
from fleet.models.samples import LabValue, OilSample
from fleet.models.wear import MetalGroup, MetalState, WearGauge, WearGroup, WearShift, WearState

__all__ = [
    "AcceptanceRule",
    "Calibration",
    "ConditionAssessment",
    "Contact",
    "Customer",
    "Document",
    "DriveModel",
    "DriveTest",
    "DriveUnit",
    "Failure",
    "FigureSource",
    "FluidFill",
    "FluidProduct",
    "HourMeter",
    "HourReading",
    "Installation",
    "Instrument",
    "LabValue",
    "Machine",
    "MetalGroup",
    "MetalState",
    "OilSample",
    "Ownership",
    "Port",
    "Reading",
    "Site",
    "UnitEvent",
    "WearGauge",
    "WearGroup",
    "WearShift",
    "WearState",
]
