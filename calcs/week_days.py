"""Days and hands within the weeks: the jobs of every week given to technicians and bays, day by day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calcs.jobs import Job, week_costs
from calcs.shop_weeks import ShopWeeks
from calcs.trips import skills_by_rarity, trip_of_jobs, visit_hours
from calcs.week_board import ROUNDING, Board, Piece

SHUFFLES = 6  # orders by chance tried where none of the plain ones finds hands for every job; tried in tests/bench
DAYS_LATER = 7
WEEKS_TRIED = 6  # weeks looked at for taking another job's place
FIXED_LOSS_H = 1e3
FULL = "every week allowed is full once work is cut into days"


@dataclass(frozen=True)
class WeekOfDays:
    """The pieces of a week in order, and jobs that found no hands or no bay, with the reason."""

    pieces: tuple[Piece, ...]
    left_out: dict[str, str]


@dataclass(frozen=True)
class PlanOfDays:
    """All weeks day by day: pieces in order, the week of each job, those whose week is not the planned one, and those without any."""

    pieces: tuple[Piece, ...]
    week_of: dict[str, int]
    moved: dict[str, int]
    left_out: dict[str, str]


def days_of_week(jobs: Sequence[Job], week_of: Mapping[str, int], week: int, shop: ShopWeeks) -> WeekOfDays:
    """Return who does which job on which day of a week: jobs of one trip together, the most urgent trips first where all find room.

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
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
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
    board = _Packing(jobs, shop).packed([job for job in jobs if week_of.get(job.name) == week], week)
    return WeekOfDays(_in_order(board.pieces), board.left_out)


def days_of_plan(jobs: Sequence[Job], week_of: Mapping[str, int], shop: ShopWeeks) -> PlanOfDays:
    """Return the days of all weeks; a job that finds no hands or bay in its week goes to the cheapest that has them, and is named.

    Jobs without a week are tried last.

    Parameters
    ----------
    jobs : sequence of Job
        All jobs [-]
    week_of : mapping
        Week of each job as planned; a job may have none [-]
    shop : ShopWeeks
        Technicians, bays, reserve [-]

    Returns
    -------
    plan : PlanOfDays
        Pieces of all weeks, weeks of the jobs, jobs left out with the reason [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("Ada", frozenset({"test"}), (40, 40)),))
    >>> jobs = [Job(name, name, "test", 30, date(2026, 1, 9)) for name in ("A", "B")]
    >>> days_of_plan(jobs, {"A": 0, "B": 0}, shop).moved
    {'B': 1}

    Source
    ------
    Common practice, no source.
    """
    return _Settling(jobs, week_of, shop).settled()


def _in_order(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    return tuple(sorted(pieces, key=lambda piece: (piece.day, piece.technician)))


class _Settling:
    """The weeks while jobs without hands find others: the dearest first, each where it costs least, if need be in place of cheaper ones."""

    def __init__(self, jobs: Sequence[Job], week_of: Mapping[str, int], shop: ShopWeeks):
        self.packing, self.planned = _Packing(jobs, shop), week_of
        weeks = [[job for job in jobs if week_of.get(job.name) == week] for week in range(len(shop.mondays))]
        self.boards = [self.packing.packed(own, week) for week, own in enumerate(weeks)]
        self.why = {name: why for board in self.boards for name, why in board.left_out.items()}
        self.weeks = [[job for job in own if job.name not in self.why] for own in weeks]
        waiting = [job for job in jobs if job.name in self.why or job.name not in week_of]
        self.waiting = sorted(waiting, key=lambda job: (job.name not in week_of, -job.overdue_h_per_day, job.due, job.name))

    def settled(self) -> PlanOfDays:
        for job in self.waiting:
            if job.pinned_week is None:
                self._settle(job)
        now = {job.name: week for week, own in enumerate(self.weeks) for job in own}
        moved = {name: week for name, week in now.items() if week != self.planned.get(name)}
        left_out = {job.name: self.why.get(job.name, FULL) for job in self.waiting if job.name not in now}
        return PlanOfDays(tuple(piece for board in self.boards for piece in _in_order(board.pieces)), now, moved, left_out)

    def _settle(self, job: Job) -> None:
        """Put a job where the whole costs least: into a week with room, or in place of others that find room elsewhere."""
        before = self.boards, self.weeks
        best = self._inserted(job)
        least = self._cost_h() if best else np.inf
        for week in self.packing.cheapest_weeks(job, before[1])[:WEEKS_TRIED]:
            self.boards, self.weeks = before
            if self._ousted(job, week) and self._cost_h() < least:
                best, least = (self.boards, self.weeks), self._cost_h()
        self.boards, self.weeks = best or before

    def _inserted(self, job: Job):
        """Put a job into the cheapest week in which it and all that are there find hands; return the state, or None."""
        for week in self.packing.cheapest_weeks(job, self.weeks):
            board = (
                self.packing.packed([*self.weeks[week], job], week, shuffles=0) if self.packing.may_fit(job, self.boards[week]) else None
            )
            if board and not board.left_out:
                self._put(week, board, [*self.weeks[week], job])
                return self.boards, self.weeks
        return None

    def _ousted(self, job: Job, week: int) -> bool:
        """Put a job into a week in place of others, and those into weeks with room; say whether all found one."""
        board = self.packing.packed([*self.weeks[week], job], week, first=job.name, shuffles=0)
        out = [other for other in [*self.weeks[week], job] if other.name in board.left_out]
        if job in out or any(other.pinned_week is not None for other in out):
            return False
        self._put(week, board, [other for other in [*self.weeks[week], job] if other not in out])
        return all(self._inserted(other) for other in out)

    def _put(self, week: int, board: Board, jobs: list[Job]) -> None:
        self.boards = [*self.boards[:week], board, *self.boards[week + 1 :]]
        self.weeks = [*self.weeks[:week], jobs, *self.weeks[week + 1 :]]

    def _cost_h(self) -> float:
        """Return what the weeks cost as they stand: delay, waste and drives."""
        jobs_h = sum(self.packing.cost_h[job.name][week] for week, own in enumerate(self.weeks) for job in own)
        return jobs_h + sum(self.packing.way_h[place] for own in self.weeks for place, _ in {self.packing.trips[job.name] for job in own})


class _Packing:
    """Jobs put on the board of a week in the order that leaves out least."""

    def __init__(self, jobs: Sequence[Job], shop: ShopWeeks):
        self.shop, self.trips, self.way_h, self.rare = shop, trip_of_jobs(jobs, shop), visit_hours(jobs), skills_by_rarity(shop)
        costs = week_costs(jobs, shop) if jobs else np.zeros((0, len(shop.mondays)))
        self.cost_h = {job.name: cost for job, cost in zip(jobs, costs, strict=True)}

    def packed(self, jobs: Sequence[Job], week: int, first: str = "", shuffles: int = SHUFFLES) -> Board:
        """Return the board of a week: the urgent first if all find room so, else in whichever order leaves out least."""
        by_trip: dict[tuple[str, str], list[Job]] = {}
        for job in sorted(jobs, key=lambda job: (self._rarity(job), not job.bay_days, job.due, job.name)):
            by_trip.setdefault(self.trips[job.name], []).append(job)
        best, least = None, np.inf
        for order in _orders(by_trip, first, shuffles):
            board = Board(self.shop, week)
            for trip in order:
                board.put_trip(by_trip[trip], self.way_h[trip[0]])
            loss = sum(_loss_h(job, first) for job in jobs if job.name in board.left_out)
            if loss < least - ROUNDING:
                best, least = board, loss
            if not board.left_out:
                break
        return best

    def _rarity(self, job: Job) -> int:
        return self.rare.index(job.skill) if job.skill in self.rare else -1

    def cheapest_weeks(self, job: Job, weeks: Sequence[Sequence[Job]]) -> list[int]:
        """Return the weeks a job may go to, the cheapest first; a drive that is made anyway costs nothing."""
        driven = [any(self.trips[other.name] == self.trips[job.name] for other in own) for own in weeks]
        cost = self.cost_h[job.name] + np.where(driven, 0.0, self.way_h[job.place])
        return [int(week) for week in np.argsort(cost, kind="stable") if np.isfinite(cost[week])]

    def may_fit(self, job: Job, board: Board) -> bool:
        """Return whether the hands with the skill have so many hours left in the week, however cut up."""
        return sum(sum(board.left[name]) for name, hand in board.hands.items() if job.skill in hand.skills) + ROUNDING >= job.hours


def _loss_h(job: Job, first: str = "") -> float:
    """Return what leaving a job out of its week costs at least: the delay, and a little for the trouble."""
    return 1.0 + job.overdue_h_per_day * DAYS_LATER + FIXED_LOSS_H * (job.pinned_week is not None or job.name == first)


def _orders(by_trip: Mapping[tuple[str, str], Sequence[Job]], first: str, shuffles: int) -> Iterator[list[tuple[str, str]]]:
    """Give orders of trips to try, fixed ones first in all: by due day, by bay, by length, by chance."""
    trips, rng = sorted(by_trip), np.random.default_rng(len(by_trip))
    fixed = {trip: any(job.pinned_week is not None or job.name == first for job in by_trip[trip]) for trip in trips}
    bay_days = {trip: sum(job.bay_days for job in by_trip[trip]) for trip in trips}
    door_m = {trip: max(job.door_height_m or 0.0 for job in by_trip[trip]) for trip in trips}
    hours = {trip: sum(job.hours for job in by_trip[trip]) for trip in trips}
    due = {trip: min(job.due for job in by_trip[trip]) for trip in trips}
    yield sorted(trips, key=lambda trip: (not fixed[trip], not bay_days[trip], due[trip], trip))
    yield sorted(trips, key=lambda trip: (not fixed[trip], -bay_days[trip], -door_m[trip], -hours[trip], trip))
    yield sorted(trips, key=lambda trip: (not fixed[trip], -hours[trip], trip))
    for _ in range(shuffles):
        chance = dict(zip(trips, rng.uniform(0.3, 1.0, len(trips)), strict=True))
        yield sorted(trips, key=lambda trip: (not fixed[trip], not bay_days[trip], -chance[trip] * hours[trip], trip))
