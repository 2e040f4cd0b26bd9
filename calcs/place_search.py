"""A good whole from plans of places: by greed first, then by changing one place's plan after another with falling chance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SWEEPS = 150
HOT_H, COLD_H = 1.0, 0.1  # how much dearer a plan may be taken by chance, first and last; tried in tests/bench
FIRST_FEE, LAST_FEE, MENDING_FEE = 2.0, 100.0, 1e4  # hours of labour for each hour over a limit
MENDING_SWEEPS = 8
PLANS_KEPT = 120
SLACK = 1e-6


@dataclass(frozen=True)
class Plans:
    """Plans to choose from, one for each place: cost, what they take of each limit, whose they are, how much dearer than the best."""

    cost: np.ndarray
    take: np.ndarray
    place: np.ndarray
    dear: np.ndarray
    room: np.ndarray

    def fits(self, chosen: np.ndarray) -> bool:
        """Return whether a choice keeps every limit."""
        return bool((self.take[chosen].sum(axis=0) <= self.room + SLACK).all())


def greedy_choice(plans: Plans) -> np.ndarray:
    """Return a plan for each place that fits what earlier places left, those first that can lose most.

    Parameters
    ----------
    plans : Plans
        At least one plan for every place [-]

    Returns
    -------
    chosen : array of int
        Row of the plan of each place [-]

    Examples
    --------
    Two places want the one hour there is; the one that would lose more gets it:

    >>> cost, take = np.array([0.0, 5.0, 0.0, 9.0]), np.array([[1.0], [0.0], [1.0], [0.0]])
    >>> greedy_choice(Plans(cost, take, np.array([0, 0, 1, 1]), cost, np.array([1.0]))).tolist()
    [1, 2]

    Source
    ------
    Common practice, no source.
    """
    places = int(plans.place.max()) + 1
    left, chosen, stake = plans.room.copy(), np.zeros(places, int), np.zeros(places)
    np.maximum.at(stake, plans.place, plans.dear)
    for where in np.argsort(-stake, kind="stable"):
        own = np.flatnonzero(plans.place == where)
        own = own[np.argsort(plans.dear[own], kind="stable")]
        fits = (plans.take[own] <= left + SLACK).all(axis=1)
        chosen[where] = own[fits.argmax()] if fits.any() else own[-1]
        left -= plans.take[chosen[where]]
    return chosen


def better_choice(plans: Plans, start: np.ndarray, sweeps: int = SWEEPS, seed: int = 0) -> np.ndarray:
    """Return a better choice than the one given, or that one: places change plans with falling chance and a rising fee on overfull weeks.

    Law
    ---
    next plan of a place = argmin(cost + fee x hours over the limits - heat x Gumbel noise)

    Parameters
    ----------
    plans : Plans
        The plans [-]
    start : array of int
        Row of the plan of each place [-]
    sweeps : int
        Times each place is looked at [-]
    seed : int
        Seed of the chance: the same seed gives the same choice [-]

    Returns
    -------
    chosen : array of int
        Row of the plan of each place; it keeps every limit if the start does [-]

    Examples
    --------
    >>> cost, take = np.array([0.0, 5.0, 0.0, 9.0]), np.array([[1.0], [0.0], [1.0], [0.0]])
    >>> better_choice(Plans(cost, take, np.array([0, 0, 1, 1]), cost, np.array([1.0])), np.array([0, 3])).tolist()
    [1, 2]

    Source
    ------
    S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, Optimization by Simulated Annealing, Science 220 (1983); the draw is that of the heat bath.
    """
    walk, rng = _Walk(plans, start), np.random.default_rng(seed)
    for sweep in range(sweeps):
        done = sweep / max(sweeps - 1, 1)
        heat, fee = HOT_H * (COLD_H / HOT_H) ** done, FIRST_FEE * (LAST_FEE / FIRST_FEE) ** done
        walk.sweep(rng, heat, fee)
    for _ in range(MENDING_SWEEPS):
        walk.sweep(rng, 0.0, MENDING_FEE)
    return walk.best


class _Walk:
    """The choice as it changes, and the best met that keeps every limit."""

    def __init__(self, plans: Plans, start: np.ndarray):
        self.plans = plans
        self.own = [self._nearest(where, start[where]) for where in range(len(start))]
        most = sum(plans.take[own].max(axis=0) for own in self.own)
        binds = most > plans.room + SLACK  # a limit nobody can reach is left out
        self.room = plans.room[binds]
        self.cost = [plans.cost[own] for own in self.own]
        self.take = [np.ascontiguousarray(plans.take[own][:, binds]) for own in self.own]
        self.now = [int(np.searchsorted(own, row)) for own, row in zip(self.own, start, strict=True)]
        self.best, self.best_h = start.copy(), plans.cost[start].sum() if plans.fits(start) else np.inf

    def _nearest(self, where: int, kept: int) -> np.ndarray:
        own = np.flatnonzero(self.plans.place == where)
        return np.union1d(own[np.argsort(self.plans.dear[own], kind="stable")[:PLANS_KEPT]], [kept])

    def sweep(self, rng: np.random.Generator, heat: float, fee: float) -> None:
        used = sum(take[row] for take, row in zip(self.take, self.now, strict=True)) - self.room
        noise = heat * rng.gumbel(size=(len(self.own), PLANS_KEPT + 1))
        for where in rng.permutation(len(self.own)):
            take = self.take[where]
            base = used - take[self.now[where]]
            over = np.maximum(take + base, 0).sum(axis=1)
            row = int((self.cost[where] + fee * over - noise[where, : len(over)]).argmin())
            used, self.now[where] = base + take[row], row
        self._keep_if_best(used)

    def _keep_if_best(self, used: np.ndarray) -> None:
        total = sum(cost[row] for cost, row in zip(self.cost, self.now, strict=True))
        if total < self.best_h - SLACK and (used <= SLACK).all():
            self.best, self.best_h = np.array([own[row] for own, row in zip(self.own, self.now, strict=True)]), total
