"""Days and hands within a week: the jobs of one week given to technicians and bays, day by day."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from calcs.jobs import Job, why_not
from calcs.shop_weeks import Bay, ShopWeeks, Technician
from calcs.trips import skills_by_rarity, trip_of_jobs, visit_hours

DAYS = 5
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
class WeekOfDays:
    """The pieces of a week in order, and jobs that found no hands or no bay, with the reason."""

    pieces: tuple[Piece, ...]
    left_out: dict[str, str]


@dataclass(frozen=True)
class PlanOfDays:
    """All weeks day by day: pieces in order, the week of jobs that slipped, and jobs no week had hands or a bay for."""

    pieces: tuple[Piece, ...]
    slipped: dict[str, int]
    left_out: dict[str, str]


def days_of_week(jobs: Sequence[Job], week_of: Mapping[str, int], week: int, shop: ShopWeeks, first: Collection[str] = ()) -> WeekOfDays:
    """Return who does which job on which day of a week: jobs of one trip together, the most urgent trips first.

    Parameters
    ----------
    jobs : sequence of Job
        All jobs [-]
    week_of : mapping
        Week of each job as planned [-]
    week : int
        The week asked about [-]
    shop : ShopWeeks
        Technicians, bays, reserve [-]
    first : collection of str
        Jobs that go before all others, pinned ones aside [-]

    Returns
    -------
    week : WeekOfDays
        Pieces, and jobs left out with reason [h]

    Examples
    --------
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("Ada", frozenset({"test"}), (40,)),))
    >>> jobs = [Job("Filter", "Hill Farm", "test", 2, date(2026, 1, 9), visit_h=1.5), Job("Test", "Hill Farm", "test", 6, date(2026, 1, 9))]
    >>> for piece in days_of_week(jobs, {"Filter": 0, "Test": 0}, 0, shop).pieces:
    ...     print(piece.day, piece.job, piece.hours, piece.travel_h)
    2026-01-05 Filter 2 1.5
    2026-01-05 Test 4.5 0.0
    2026-01-06 Test 1.5 0.0

    Source
    ------
    Common practice, no source.
    """
    board = _Board(shop, week)
    trips, way_h, rare = trip_of_jobs(jobs, shop), visit_hours(jobs), skills_by_rarity(shop)
    by_trip: dict[tuple[str, str], list[Job]] = {}
    mine = [job for job in jobs if week_of.get(job.name) == week]
    for job in sorted(mine, key=lambda job: (rare.index(job.skill) if job.skill in rare else -1, not job.bay_days, job.due, job.name)):
        by_trip.setdefault(trips[job.name], []).append(job)
    for trip in sorted(by_trip, key=lambda trip: _order_of_trip(by_trip[trip], first)):
        board.put_trip(by_trip[trip], way_h[by_trip[trip][0].place])
    return WeekOfDays(tuple(sorted(board.pieces, key=lambda piece: (piece.day, piece.technician))), board.left_out)


def days_of_plan(jobs: Sequence[Job], week_of: Mapping[str, int], shop: ShopWeeks) -> PlanOfDays:
    """Return the days of all weeks; a job that finds no hands or bay in its week slips to the next that allows it, and is named.

    Parameters
    ----------
    jobs : sequence of Job
        All jobs [-]
    week_of : mapping
        Week of each job as planned [-]
    shop : ShopWeeks
        Technicians, bays, reserve [-]

    Returns
    -------
    plan : PlanOfDays
        Pieces of all weeks, jobs that slipped with their new week, jobs left out with the last reason [h]

    Examples
    --------
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("Ada", frozenset({"test"}), (40, 40)),))
    >>> jobs = [Job(name, name, "test", 30, date(2026, 1, 9)) for name in ("A", "B")]
    >>> days_of_plan(jobs, {"A": 0, "B": 0}, shop).slipped
    {'B': 1}

    Source
    ------
    Common practice, no source.
    """
    pieces, slipped, waiting = [], {}, {}
    by_name = {job.name: job for job in jobs}
    for week in range(len(shop.mondays)):
        again = {name: week for name in waiting if by_name[name].pinned_week is None and not why_not(by_name[name], shop, week)}
        found = days_of_week(jobs, {name: at for name, at in week_of.items() if at == week} | again, week, shop, first=set(again))
        pieces += found.pieces
        slipped |= {name: week for name in again if name not in found.left_out}
        waiting = {name: why for name, why in waiting.items() if name not in again} | found.left_out
    return PlanOfDays(tuple(pieces), slipped, waiting)


def _order_of_trip(jobs: Sequence[Job], first: Collection[str]) -> tuple:
    """Return what trips are sorted by: pinned, then those that waited, then those that need a bay for days on end, then by due day."""
    pinned = any(job.pinned_week is not None for job in jobs)
    waited = any(job.name in first for job in jobs)
    return not pinned, not waited, not any(job.bay_days for job in jobs), min(job.due for job in jobs), jobs[0].place


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


class _Board:
    """Hours left of each technician and bays left on each day, as jobs are put in."""

    def __init__(self, shop: ShopWeeks, week: int):
        kept = 1 - (shop.reserve[week] if shop.reserve else 0.0)
        self.days = [shop.mondays[week] + timedelta(days=day) for day in range(DAYS)]
        self.hands: dict[str, Technician] = {t.name: t for t in shop.technicians}
        self.left = {t.name: [t.week_h[week] * kept / DAYS] * DAYS for t in shop.technicians}
        self.bays: list[tuple[Bay, set[int]]] = [(bay, set()) for bay in sorted(shop.bays, key=lambda b: (b.door_height_m, b.name))]
        self.there: set[tuple[str, str]] = set()
        self.pieces: list[Piece] = []
        self.left_out: dict[str, str] = {}

    def put_trip(self, jobs: Sequence[Job], visit_h: float) -> None:
        """Put the jobs of a trip in, with hands that have time for the rest of it where there are any."""
        for number, job in enumerate(jobs):
            self.put(job, visit_h, rest_h=sum(other.hours for other in jobs[number + 1 :]))

    def put(self, job: Job, visit_h: float, rest_h: float = 0.0) -> None:
        """Put a job in with one pair of hands that drive least and finish first; with several where one is not enough."""
        days = [d for d, day in enumerate(self.days) if not any(b.start <= day <= b.end for b in job.blocks)]
        days = [d for d in days if job.parts_on is None or self.days[d] >= job.parts_on]
        able = self._hands_for(job)
        offers = [self._offer(job, (name,), visit_h, rest_h, days) for name in able] or [None]
        if not any(offers):
            offers = [self._offer(job, tuple(able[:number]), visit_h, rest_h, days) for number in range(2, len(able) + 1)]
        offers = [offer for offer in offers if offer]
        if offers:
            self._take(job, min(offers, key=lambda offer: offer.rank))
        else:
            self.left_out[job.name] = self._why(job, visit_h, able, days)

    def _hands_for(self, job: Job) -> list[str]:
        """Return technicians with the skill: those already at the place first, then those with fewest skills, then those with most time."""
        able = [name for name, technician in self.hands.items() if job.skill in technician.skills]
        return sorted(able, key=lambda n: ((n, job.place) not in self.there, len(self.hands[n].skills), -round(sum(self.left[n]), 3), n))

    def _offer(self, job: Job, names: Sequence[str], visit_h: float, rest_h: float, days: Sequence[int]) -> _Offer | None:
        """Return how these hands would do the job, or None where they cannot this week."""
        to_do, hours, drive = job.hours, {}, {}
        for day, name in ((day, name) for day in days for name in names):
            way_h = 0.0 if name in drive or (name, job.place) in self.there else visit_h
            piece_h = min(self.left[name][day] - way_h, to_do)
            if to_do > ROUNDING and piece_h >= min(SHORTEST_PIECE_H, to_do) - ROUNDING:
                hours[day, name], to_do = piece_h, to_do - piece_h
                drive.setdefault(name, way_h)
        bay = self._bay_for(job, {day for day, _ in hours})
        left_h = sum(self.left[name][day] for day in days for name in names) - job.hours - sum(drive.values())
        if to_do > ROUNDING or bay is None:
            return None
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
        last = max(max(days), min(days) + ceil(job.bay_days) - 1)
        return set(range(min(days), min(last, DAYS - 1) + 1))

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
            return f"needs {job.hours + visit_h:,.3g} h, all hands with the skill have {left_h:,.3g} h left"
        if job.bay_days:
            return "no bay with its door is free while its hands are"
        return f"needs {job.hours:,.3g} h, hands have only scraps left"
