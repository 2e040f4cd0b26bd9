"""What one visit holds, read and understood, before it is written: every way in (page, file, interface) hands these over."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from fleet.models import DriveUnit, FluidProduct, Instrument, Reading
from shop.models import Finding, ServiceTask


@dataclass(frozen=True)
class HoursEntry:
    """What the hour meter showed; `is_kept` where the person was asked and says that it stands there so."""

    meter_h: Decimal
    typed: str
    is_kept: bool = False
    origin: str = "typed"
    doubt: str = ""  # kept, but not believed until somebody confirms it


@dataclass(frozen=True)
class RoundConditions:
    """What held for all readings of the round, unless a reading says otherwise."""

    oil_temp_c: float | None = None
    engine_speed_rpm: float | None = None
    ambient_c: float | None = None
    temperature_point: str = ""
    drains: str = ""
    moment: str = "alone"
    fluid: FluidProduct | None = None
    procedure_version: str = ""


@dataclass(frozen=True)
class ReadingEntry:
    """One reading: as typed, and in the house unit."""

    unit: DriveUnit
    quantity: str
    typed: str
    typed_unit: str
    value: float
    house_unit: str
    direction: str = ""
    repeats: tuple[float, ...] = ()
    stability: str = Reading.Stability.STEADY
    instrument: Instrument | None = None
    port: str = ""
    oil_temp_c: float | None = None
    engine_speed_rpm: float | None = None
    loop_pressure_bar: float | None = None
    case_pressure_bar: float | None = None
    note: str = ""


@dataclass(frozen=True)
class FillEntry:
    """Oil that went in and came out."""

    kind: str
    product: FluidProduct | None
    fill_l: Decimal
    drained_l: Decimal = Decimal(0)
    is_measured: bool = True
    batch: str = ""
    note: str = ""


@dataclass(frozen=True)
class TaskEntry:
    """A task done, or not done and why."""

    task: ServiceTask
    unit: DriveUnit | None = None
    was_done: bool = True
    why_not: str = ""
    finding: str = ""
    item_date: date | None = None
    part_number: str = ""


@dataclass(frozen=True)
class FindingEntry:
    """Something seen that may need work."""

    words: str
    urgency: str = Finding.Urgency.CAN_WAIT
    unit: DriveUnit | None = None
    calls_task: ServiceTask | None = None
    sign: str = ""
    oil_was_warm: bool = True


@dataclass(frozen=True)
class VisitEntry:
    """Everything of one visit beside who, where and when."""

    hours: HoursEntry
    conditions: RoundConditions = field(default_factory=RoundConditions)
    readings: tuple[ReadingEntry, ...] = ()
    fills: tuple[FillEntry, ...] = ()
    tasks: tuple[TaskEntry, ...] = ()
    findings: tuple[FindingEntry, ...] = ()
    note: str = ""
