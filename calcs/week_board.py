"""The board of one week: hours left of each pair of hands and bays left on each day, as jobs are put in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from calcs.jobs import Job
from calcs.shop_weeks import DAYS_PER_WEEK as DAYS
from calcs.shop_weeks import Bay, ShopWeeks, Technician, days_of
from calcs.thousands import grouped

SHORTEST_PIECE_H = 0.5  # a job is not cut into pieces shorter than this
ROUNDING = 1e-6


@dataclass(frozen=True)
class Piece:
    """Part of a job on one day by one technician; `travel_h` is the way there, on a technician's first piece at the place."""

    job: str
    place: str
    day: date
    technician: str
    hours: float
    travel_h: float = 0.0
    bay: str = ""


@dataclass(frozen=True)
class _Offer:
    """Hands that can do a job in the week: hours by day and name, the driving, the bay, hours lacking for the rest of the trip, skills."""

    hours: dict[tuple[int, str], float]
    drive: dict[str, float]
    bay: str
    short_h: float
    skills: int

    @property
    def rank(self) -> tuple:
        """What offers are sorted by: little driving, time for the rest of the trip, hands of few skills, then an early end."""
        return sum(self.drive.values()), self.short_h, self.skills, max(day for day, _ in self.hours), len(self.drive)


class Board:
    """One week of the shop. Jobs are put in one after another; what finds no hands or no bay stands in `left_out` with the reason."""

    def __init__(self, shop: ShopWeeks, week: int):
        kept = 1 - (shop.reserve[week] if shop.reserve else 0.0)
        self.days = days_of(shop.mondays[week])
        self.hands: dict[str, Technician] = {t.name: t for t in shop.technicians}
        self.left = {t.name: self._hours_by_day(t, t.week_h[week] * kept) for t in shop.technicians}
        self.bays: list[tuple[Bay, set[int]]] = [
            (bay, {day for day in range(DAYS) if self.days[day] in bay.taken})
            for bay in sorted(shop.bays, key=lambda bay: (bay.door_height_m, bay.name))
        ]
        self.there: set[tuple[str, str]] = set()
        self.pieces: list[Piece] = []
        self.left_out: dict[str, str] = {}

    @property
    def travel_h(self) -> float:
        return sum(piece.travel_h for piece in self.pieces)

    def _hours_by_day(self, technician: Technician, week_h: float) -> list[float]:
        """Return the hours of a week spread over the days on which somebody is here."""
        here = [day not in technician.away for day in self.days]
        return [week_h / sum(here) if is_here else 0.0 for is_here in here]

    def put_trip(self, jobs: Sequence[Job], visit_h: float) -> None:
        """Put the jobs of a trip in, with hands that have time for the rest of it where there are any."""
        for number, job in enumerate(jobs):
            self.put(job, visit_h, rest_h=sum(other.hours for other in jobs[number + 1 :]))

    def put(self, job: Job, visit_h: float, rest_h: float = 0.0) -> None:
        """Put a job in with one pair of hands that drive least and finish first; with several where one is not enough."""
        days, able = self._days_for(job), self._hands_for(job)
        for hands in self._crews(able):
            offers = [self._offer(job, names, visit_h, rest_h, window) for window in self._windows(job, days) for names in hands]
            offers = [offer for offer in offers if offer]
            if offers:
                self._take(job, min(offers, key=lambda offer: offer.rank))
                return
        self.left_out[job.name] = self._why(job, visit_h, able, days)

    def _days_for(self, job: Job) -> list[int]:
        """Return the days that no season block closes and for which the parts are there."""
        days = [d for d, day in enumerate(self.days) if not any(b.start <= day <= b.end for b in job.blocks)]
        return [d for d in days if job.parts_on is None or self.days[d] >= job.parts_on]

    def _windows(self, job: Job, days: Sequence[int]) -> Iterator[list[int]]:
        """Give the runs of days within which a job may be done: the whole week, or as long as it stands in a bay, or longer."""
        if not job.bay_days:
            yield list(days)
            return
        for length in range(min(ceil(job.bay_days), DAYS), DAYS + 1):
            for start in range(DAYS + 1 - length):
                span = set(range(start, start + length))
                if any(bay.door_height_m >= (job.door_height_m or 0.0) and not taken & span for bay, taken in self.bays):
                    yield [day for day in days if day in span]

    def _crews(self, able: Sequence[str]) -> Iterator[list[tuple[str, ...]]]:
        """Give the crews to be tried: every single pair of hands first, then the first two of them, three, and so on."""
        yield [(name,) for name in able]
        for number in range(2, len(able) + 1):
            yield [tuple(able[:number])]

    def _hands_for(self, job: Job) -> list[str]:
        """Return technicians with the skill: those already at the place first, then those with fewest skills, then those with most time."""
        able = [name for name, technician in self.hands.items() if job.skill in technician.skills]
        return sorted(able, key=lambda n: ((n, job.place) not in self.there, len(self.hands[n].skills), -round(sum(self.left[n]), 3), n))

    def _offer(self, job: Job, names: Sequence[str], visit_h: float, rest_h: float, days: Sequence[int]) -> _Offer | None:
        """Return how these hands would do the job, or None where they cannot this week."""
        free_h = sum(self.left[name][day] for name in names for day in days)
        if free_h < job.hours - ROUNDING:
            return None
        to_do, hours, drive = job.hours, {}, {}
        for day, name in ((day, name) for day in days for name in names):
            way_h = 0.0 if name in drive or (name, job.place) in self.there else visit_h
            piece_h = min(self.left[name][day] - way_h, to_do)
            if to_do > ROUNDING and piece_h >= min(SHORTEST_PIECE_H, to_do) - ROUNDING:
                hours[day, name], to_do = piece_h, to_do - piece_h
                drive.setdefault(name, way_h)
        if to_do > ROUNDING:
            return None
        bay = self._bay_for(job, {day for day, _ in hours})
        if bay is None:
            return None
        left_h = free_h - job.hours - sum(drive.values())
        return _Offer(hours, drive, bay, max(0.0, round(rest_h - left_h, 3)), sum(len(self.hands[name].skills) for name in drive))

    def _bay_for(self, job: Job, days: set[int]) -> str | None:
        """Return the lowest bay that is tall enough and free on the days; empty where no bay is needed, None where none is free."""
        if not job.bay_days or not days:
            return ""
        wanted = self._bay_span(job, days)
        for bay, taken in self.bays:
            if bay.door_height_m >= (job.door_height_m or 0.0) and not taken & wanted:
                return bay.name
        return None

    def _bay_span(self, job: Job, days: set[int]) -> set[int]:
        """Return the days a machine stands in the bay: those it is worked on and those between, at least as many as it needs the bay for."""
        first, length = min(days), max(max(days) - min(days) + 1, ceil(job.bay_days))
        first = max(0, min(first, DAYS - length))
        return set(range(first, min(first + length, DAYS)))

    def _take(self, job: Job, offer: _Offer) -> None:
        drive = dict(offer.drive)
        for (day, name), hours in sorted(offer.hours.items()):
            way_h = drive.pop(name, 0.0)
            self.left[name][day] -= hours + way_h
            self.there.add((name, job.place))
            self.pieces.append(Piece(job.name, job.place, self.days[day], name, round(hours, 6), way_h, offer.bay))
        for bay, taken in self.bays:
            if offer.bay and bay.name == offer.bay:
                taken |= self._bay_span(job, {day for day, _ in offer.hours})

    def _why(self, job: Job, visit_h: float, able: Sequence[str], days: Sequence[int]) -> str:
        if not able:
            return f"nobody has the skill {job.skill}"
        if not days:
            return "no day of the week is free of its season block and has its parts"
        left_h = sum(self.left[name][day] for name in able for day in days)
        if left_h + ROUNDING < job.hours + visit_h:
            return f"needs {grouped(job.hours + visit_h)} h, all hands with the skill have {grouped(left_h)} h left"
        if job.bay_days:
            return "no bay with its door is free while its hands are"
        return f"needs {grouped(job.hours)} h, hands have only scraps left"
