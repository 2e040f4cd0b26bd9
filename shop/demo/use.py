"""How many hours each machine has run by any day."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from calcs.usage import KIND_MONTH_H, MONTH_DAYS
from shop.demo.stories import machine_of
from shop.demo.times import Span, tenth

CALCS_NAME = {"forage": "forage harvester"}
YOUNG = {machine_of("wearing_out"), machine_of("wearing_slowly")}
YOUNG_DAYS = 200
BUSY = {machine_of("wearing_out"): 1.25, machine_of("charge_pump"): 1.15, machine_of("overdue_filter"): 1.2}


def begun_on(number: str, span: Span, throw: np.random.Generator) -> date:
    """Return the day a machine began to work: a spring one to five years before the book, or for some not long before it."""
    spring = date(span.start.year - int(throw.integers(1, 6)), int(throw.integers(2, 5)), int(throw.integers(1, 28)))
    return span.start - timedelta(days=YOUNG_DAYS) if number in YOUNG else spring


@dataclass(frozen=True)
class Use:
    """Life hours at the end of each day of the span, counted from its first day."""

    begun: date
    first_day: date
    by_day: np.ndarray

    @classmethod
    def of(cls, machine, begun: date, span: Span, throw: np.random.Generator) -> "Use":
        month_h = np.array(KIND_MONTH_H[CALCS_NAME.get(machine.kind, machine.kind)]) / MONTH_DAYS
        days = [span.start + timedelta(days=n) for n in range((span.as_of - span.start).days + 1)]
        own = BUSY.get(machine.number, float(throw.uniform(0.75, 1.2)))
        by_year = dict(zip(range(span.start.year, span.as_of.year + 1), throw.normal(1, 0.1, 5).clip(0.75, 1.25), strict=False))
        rate = np.array([month_h[day.month - 1] * own * by_year[day.year] for day in days])
        rate = (rate * throw.uniform(0.5, 1.5, rate.size)).clip(0, 20)
        before = (span.start - begun).days / 365.25 * float(month_h @ MONTH_DAYS) * own
        return cls(begun, span.start, before + np.cumsum(rate))

    def life_h(self, day: date) -> Decimal:
        """Return life hours on a day; before the span on a straight line from nothing."""
        place = (day - self.first_day).days
        if place >= 0:
            return tenth(self.by_day[min(place, self.by_day.size - 1)])
        share = (day - self.begun).days / max(1, (self.first_day - self.begun).days)
        return tenth(max(0.0, share * (self.by_day[0] - 0.1)))
