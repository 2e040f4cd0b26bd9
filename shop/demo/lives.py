"""The true life of each unit: how its gaps have grown, and what it really reads. Only the demo knows this."""

from dataclasses import dataclass, field, replace
from datetime import date

from calcs import charge
from calcs.baselines import Conditions, DriveSpec, Oil
from calcs.healthy import READINGS, HealthyDrive
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.times import dice
from shop.demo.units import REBUILT, component_h_on

LEAST_CHARGE_BAR = 1.5


@dataclass(frozen=True)
class Life:
    """Wear of one unit: gaps grow in a straight line with hours, leakage with their cube."""

    base: float  # leakage of this very unit when new, over the model's
    pump_growth_per_kh: float = 0.0
    motor_growth_per_kh: float = 0.0
    charge_lost_per_kh: float = 0.0  # share of the charge pump's efficiency, from `charge_from_h` on
    charge_from_h: float = 0.0
    reliefs: tuple[float, float] = (1.0, 1.0)  # forward and reverse setting, over the model's
    born_h: float = 0.0  # component hours of the last rebuild
    motor_step: tuple[date, float] | None = None

    def pump_index(self, component_h: float) -> float:
        return self.base * (1 + self.pump_growth_per_kh * max(0.0, component_h - self.born_h) / 1000) ** 3

    def motor_index(self, component_h: float, day: date) -> float:
        grown = self.base * (1 + self.motor_growth_per_kh * max(0.0, component_h - self.born_h) / 1000) ** 3
        return grown * (self.motor_step[1] if self.motor_step and day >= self.motor_step[0] else 1.0)


@dataclass
class WornDrive(HealthyDrive):
    """The drive as it is: the laws of the healthy one with grown gaps, a tired charge pump and reliefs as they are set."""

    spec: DriveSpec
    oil: Oil | None
    conditions: Conditions
    pump_index: float = 1.0
    motor_index: float = 1.0
    reliefs: tuple[float, float] = (1.0, 1.0)
    charge_left: float = 1.0
    fed_share: float = field(default=1.0, init=False)  # what the loop gets of what it wants

    def __post_init__(self) -> None:
        super().__init__(self.spec, self.oil, self.conditions)

    def pump_coefficient(self) -> float:
        return super().pump_coefficient() * self.pump_index

    def motor_coefficient(self) -> float:
        return super().motor_coefficient() * self.motor_index

    def relief_setting(self) -> float:
        return super().relief_setting() * self.reliefs[self.conditions.direction == "reverse"]

    def need(self, name: str):
        return super().need(name) * (self.charge_left if name == "charge_volumetric_efficiency" else 1)

    def overflow(self, charge_speed_rpm, dynamic_mpas, pressure_bar, flushing_lpm=0.0):
        pump, motors = self.loaded_leaks(pressure_bar, dynamic_mpas)
        wanted = charge.charge_need(pump, motors, flushing_lpm, self.spec.servo_flow_lpm or 0.0)
        given = self.delivery(charge_speed_rpm, dynamic_mpas)
        self.fed_share = min(1.0, given / wanted)
        return max(0.0, given - wanted)

    def charge_gauge(self, setting_bar, overflow_lpm, setting_overflow_lpm):
        return max(LEAST_CHARGE_BAR, super().charge_gauge(setting_bar, overflow_lpm, setting_overflow_lpm) * self.fed_share)

    def charge_beside(self):
        calm = replace(self.conditions, direction="", loop_pressure_bar=None)
        return WornDrive(self.spec, self.oil, calm, self.pump_index, self.motor_index, self.reliefs, self.charge_left).charge_neutral()

    def reads(self, code: str) -> float:
        return float(READINGS[code](self))


GROWTH = {  # story: pump and motor gaps, share in 1000 h
    "wearing_out": (0.15, 0.05),
    "wearing_slowly": (0.045, 0.04),
    "unknown_history": (0.03, 0.03),
}


def life_of(book: Book, tag: str) -> Life:
    """Return the true life of a unit; nearly all hardly wear."""
    throw = dice("life", tag)
    base = float(throw.normal(1, 0.025))
    growth = float(throw.uniform(0.0, 0.0015)) if throw.random() < 0.3 else 0.0
    code = next((code for code in GROWTH if stories.unit_of(code) == tag), None)
    pump, motor = GROWTH.get(code, (growth, growth))
    if code == "unknown_history":
        base = 2.0
    life = Life(base, pump, motor, reliefs=tuple(map(float, throw.normal(1, 0.005, 2).clip(0.99, 1.01))))
    return _with_story(book, tag, life)


def _with_story(book: Book, tag: str, life: Life) -> Life:
    if tag in REBUILT:
        return replace(life, born_h=float(component_h_on(book, tag, book.span.ago(REBUILT[tag]))))
    if tag == stories.unit_of("bad_repair"):
        return replace(life, motor_step=(book.span.ago(stories.BAD_REPAIR_AGO), 1.9))
    if tag == stories.unit_of("charge_pump"):
        return replace(life, charge_lost_per_kh=0.22, charge_from_h=float(component_h_on(book, tag, book.span.start)))
    return life


def drive_spec(model, machine) -> DriveSpec:
    """Return the model of a unit, in the machine it is fitted in, for the laws."""
    names = set(DriveSpec.__dataclass_fields__)
    figures = {f.name: getattr(model, f.name) for f in model._meta.concrete_fields if f.name in names}
    return DriveSpec(name=model.code, final_ratio=machine.final_ratio, rolling_radius_m=machine.rolling_radius_m, **figures)


def worn_drive(life: Life, spec: DriveSpec, oil: Oil | None, conditions: Conditions, component_h: float, day: date) -> WornDrive:
    left = max(0.3, 1 - life.charge_lost_per_kh * max(0.0, component_h - life.charge_from_h) / 1000)
    return WornDrive(spec, oil, conditions, life.pump_index(component_h), life.motor_index(component_h, day), life.reliefs, left)
