"""Days and hands within a week: the jobs of one week given to technicians and bays, day by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from calcs.jobs import Job
from calcs.shop_weeks import Bay, ShopWeeks, Technician

DAYS = 5
SHORTEST_PIECE_H = 0.5  # a job is not cut into pieces shorter than this
ROUNDING = 1e-6


@dataclass(frozen=True)
class Piece:
    """Part of a job on one day by one technician; `travel_h` is the way there, on the first piece of a visit."""

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


def days_of_week(jobs: Sequence[Job], week_of: Mapping[str, int], week: int, shop: ShopWeeks) -> WeekOfDays:
    """Return who does which job on which day of a week: jobs of one place together, the most urgent places first.

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
    mine = [job for job in jobs if week_of.get(job.name) == week]
    by_place: dict[str, list[Job]] = {}
    for job in sorted(mine, key=lambda job: (job.skill, job.due, job.name)):
        by_place.setdefault(job.place, []).append(job)
    for place in sorted(by_place, key=lambda place: (min(job.due for job in by_place[place]), place)):
        travel_h = max(job.visit_h for job in by_place[place])
        for job in by_place[place]:
            travel_h = board.put(job, travel_h)
    return WeekOfDays(tuple(sorted(board.pieces, key=lambda piece: (piece.day, piece.technician))), board.left_out)


class _Board:
    """Hours left of each technician and bays left on each day, as jobs are put in."""

    def __init__(self, shop: ShopWeeks, week: int):
        kept = 1 - (shop.reserve[week] if shop.reserve else 0.0)
        self.days = [shop.mondays[week] + timedelta(days=day) for day in range(DAYS)]
        self.hands: dict[str, Technician] = {t.name: t for t in shop.technicians}
        self.left = {t.name: [t.week_h[week] * kept / DAYS] * DAYS for t in shop.technicians}
        self.bays: list[tuple[Bay, set[int]]] = [(bay, set()) for bay in sorted(shop.bays, key=lambda b: (b.door_height_m, b.name))]
        self.pieces: list[Piece] = []
        self.left_out: dict[str, str] = {}

    def put(self, job: Job, travel_h: float) -> float:
        """Put a job in with the hands that finish it first; return the travel still to be driven by the next job of the place."""
        free_days = [d for d, day in enumerate(self.days) if not any(b.start <= day <= b.end for b in job.blocks)]
        if job.parts_on is not None:
            free_days = [d for d in free_days if self.days[d] >= job.parts_on]
        offers = [offer for name in self._hands_for(job) if (offer := self._offer(job, name, travel_h, free_days))]
        if not offers:
            self.left_out[job.name] = self._why(job, travel_h, free_days)
            return travel_h
        last, _, name, parts, bay = min(offers, key=lambda offer: offer[:3])
        self._take(job, name, parts, bay, travel_h)
        return 0.0

    def _hands_for(self, job: Job) -> list[str]:
        """Return technicians with the skill: those already at the place first, then those with fewest other skills."""
        there = {piece.technician for piece in self.pieces if piece.place == job.place}
        able = [name for name, technician in self.hands.items() if job.skill in technician.skills]
        return sorted(able, key=lambda name: (name not in there, len(self.hands[name].skills), name))

    def _offer(self, job: Job, name: str, travel_h: float, free_days: Sequence[int]):
        """Return last day, place in order, name, hours by day and bay if this technician can do the job in the week."""
        to_do, drive, parts = job.hours, travel_h, {}
        for day in free_days:
            hours = min(self.left[name][day] - drive, to_do)
            if hours < min(SHORTEST_PIECE_H, to_do) - ROUNDING or hours <= ROUNDING:
                continue
            parts[day], to_do, drive = hours, to_do - hours, 0.0
            if to_do <= ROUNDING:
                break
        bay = self._bay_for(job, parts)
        if to_do > ROUNDING or bay is None:
            return None
        return max(parts), self._hands_for(job).index(name), name, parts, bay

    def _bay_for(self, job: Job, parts: Mapping[int, float]) -> str | None:
        """Return the lowest bay that is tall enough and free on the days; empty where no bay is needed, None where none is free."""
        if not job.bay_days or not parts:
            return ""
        wanted = self._bay_span(job, parts)
        for bay, taken in self.bays:
            if bay.door_height_m >= (job.door_height_m or 0.0) and not taken & wanted:
                return bay.name
        return None

    def _bay_span(self, job: Job, parts: Mapping[int, float]) -> set[int]:
        first, last = min(parts), max(max(parts), min(parts) + int(-(-job.bay_days // 1)) - 1)
        return set(range(first, min(last, DAYS - 1) + 1))

    def _take(self, job: Job, name: str, parts: Mapping[int, float], bay: str, travel_h: float) -> None:
        drive = travel_h
        for day, hours in sorted(parts.items()):
            self.left[name][day] -= hours + drive
            self.pieces.append(Piece(job.name, job.place, self.days[day], name, round(hours, 6), drive, bay))
            drive = 0.0
        for other, taken in self.bays:
            if bay and other.name == bay:
                taken |= self._bay_span(job, parts)

    def _why(self, job: Job, travel_h: float, free_days: Sequence[int]) -> str:
        able = self._hands_for(job)
        if not able:
            return f"nobody has the skill {job.skill}"
        if not free_days:
            return "no day of the week is free of its season block and has its parts"
        most_h = max(sum(self.left[name][day] for day in free_days) for name in able)
        if most_h + ROUNDING < job.hours + travel_h:
            return f"needs {job.hours + travel_h:,.3g} h of one pair of hands, the most left is {most_h:,.3g} h"
        return "no bay with its door is free on the days its hands are"
