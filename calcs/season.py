"""Season blocks: when planned work must wait, and whether a task that falls inside goes before or after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from calcs.calendar_sums import NO_DAY, add_months

MOST_WASTE = 0.40  # common practice, no source
MOVES = ("as due", "before the block", "after the block", "conflict")
AS_DUE, BEFORE, AFTER, CONFLICT = range(4)


@dataclass(frozen=True)
class Block:
    """Days on which planned work on a machine is not done, first and last day included."""

    name: str
    start: date
    end: date


@dataclass(frozen=True)
class BlockTable:
    """First and last days of blocks by machine, n x most blocks, filled up with missing days."""

    start: np.ndarray
    end: np.ndarray

    def of(self, machine: np.ndarray) -> BlockTable:
        """Return the blocks of one machine a row."""
        return BlockTable(self.start[machine], self.end[machine])


@dataclass(frozen=True)
class SeasonMoves:
    """What each row should do about its block: index into MOVES, the day proposed, the share of life unused, the block met."""

    move: np.ndarray
    day: np.ndarray
    wasted_share: np.ndarray
    block_start: np.ndarray
    block_end: np.ndarray


def yearly_blocks(name: str, first: tuple[int, int], last: tuple[int, int], years: Sequence[int]) -> list[Block]:
    """Return a block that comes every year, as days of each year; one that runs over New Year ends in the next.

    Parameters
    ----------
    name : str
        What the block is called [-]
    first : tuple of int
        Month and day it starts [-]
    last : tuple of int
        Month and day it ends, that day included [-]
    years : sequence of int
        Years in which it starts [-]

    Returns
    -------
    blocks : list of Block
        One a year [date]

    Examples
    --------
    >>> yearly_blocks("Harvest", (7, 10), (8, 20), [2026])
    [Block(name='Harvest', start=datetime.date(2026, 7, 10), end=datetime.date(2026, 8, 20))]

    Source
    ------
    Common practice, no source. A 29 February is the 28th where there is none.
    """
    over = last < first
    return [Block(name, _day_of(year, first), _day_of(year + over, last)) for year in years]


def _day_of(year: int, month_day: tuple[int, int]) -> date:
    leap = date(2024, *month_day)
    return add_months(leap, 12 * (year - 2024))


def block_table(blocks_of_machine: Sequence[Sequence[Block]]) -> BlockTable:
    """Return blocks as columns for sums over a whole fleet; blocks that overlap or follow one another without a free day are one.

    Parameters
    ----------
    blocks_of_machine : sequence of sequences of Block
        Blocks of each machine, machines in the order of the usage table [-]

    Returns
    -------
    table : BlockTable
        First and last days, machines x most blocks, in order of their start [date]

    Examples
    --------
    >>> block_table([[Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))], []]).start.shape
    (2, 1)
    >>> wheat, straw = Block("Wheat", date(2026, 7, 10), date(2026, 8, 1)), Block("Straw", date(2026, 8, 2), date(2026, 8, 20))
    >>> block_table([[wheat, straw]]).end.tolist()
    [[datetime.date(2026, 8, 20)]]

    Source
    ------
    Our own arrangement.
    """
    joined = {id(blocks): _joined(blocks) for blocks in blocks_of_machine}  # machines alike share their list
    width = max((len(stretches) for stretches in joined.values()), default=0)
    start = np.full((len(blocks_of_machine), max(width, 1)), NO_DAY)
    end = start.copy()
    for row, blocks in enumerate(blocks_of_machine):
        for place, (first, last) in enumerate(joined[id(blocks)]):
            start[row, place], end[row, place] = first, last
    return BlockTable(start, end)


def _joined(blocks: Sequence[Block]) -> list[tuple[date, date]]:
    """Return first and last days of blocks in order, those without a free day between them as one: no work fits in there."""
    out: list[tuple[date, date]] = []
    for block in sorted(blocks, key=lambda b: b.start):
        if out and block.start <= out[-1][1] + timedelta(days=1):
            out[-1] = (out[-1][0], max(out[-1][1], block.end))
        else:
            out.append((block.start, block.end))
    return out


def inside(blocks: BlockTable, day) -> np.ndarray:
    """Return whether each row's day lies in one of its blocks.

    Parameters
    ----------
    blocks : BlockTable
        Blocks of each row [date]
    day : array of datetime64[D]
        Day of each row, or one for all [date]

    Returns
    -------
    inside : array of bool
        First and last day count as inside [-]

    Examples
    --------
    >>> blocks = block_table([[Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))]])
    >>> [bool(inside(blocks, day)[0]) for day in ("2026-07-09", "2026-07-10", "2026-08-20", "2026-08-21")]
    [False, True, True, False]

    Source
    ------
    Common practice, no source.
    """
    day = np.broadcast_to(np.asarray(day, "datetime64[D]"), len(blocks.start))[:, None]
    return ((blocks.start <= day) & (day <= blocks.end)).any(axis=1)


def block_met(blocks: BlockTable, low, high, today) -> BlockTable:
    """Return the first block, not over yet, that a band of days touches in each row; missing where none.

    Parameters
    ----------
    blocks : BlockTable
        Blocks of each row [date]
    low : array of datetime64[D]
        First day of the band [date]
    high : array of datetime64[D]
        Last day of the band [date]
    today : date
        Blocks that ended before it do not count [date]

    Returns
    -------
    met : BlockTable
        One first and one last day a row [date]

    Examples
    --------
    >>> blocks = block_table([[Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))]])
    >>> block_met(blocks, ["2026-06-20"], ["2026-07-15"], date(2026, 3, 1)).start.tolist()
    [datetime.date(2026, 7, 10)]

    Source
    ------
    Common practice, no source.
    """
    low, high = (np.asarray(day, "datetime64[D]")[:, None] for day in (low, high))
    met = (low <= blocks.end) & (high >= blocks.start) & (blocks.end >= np.datetime64(today, "D"))
    at, first = np.arange(len(met)), met.argmax(axis=1)
    found = met.any(axis=1)
    return BlockTable(np.where(found, blocks.start[at, first], NO_DAY), np.where(found, blocks.end[at, first], NO_DAY))


def choose_moves(due_day, met: BlockTable, blocks: BlockTable, today, wasted_share, after_allowed) -> SeasonMoves:
    """Return whether tasks whose band touches a block go before it, after it, or to a person.

    Law
    ---
    before if that wastes at most 40 % of the life; else after if the overrun stays inside the late limit; else conflict

    Parameters
    ----------
    due_day : array of datetime64[D]
        Day a task falls due, hours already turned into a day [date]
    met : BlockTable
        Block met by each row, one each, missing where none [date]
    blocks : BlockTable
        All blocks of each row: a day proposed may not lie in another of them [date]
    today : date
        A slot before today is no slot [date]
    wasted_share : array
        Share of the interval unused if done on the last day before the block or when due, whichever is earlier [-]
    after_allowed : array of bool
        Whether the first day after the block lies inside the late limit [-]

    Returns
    -------
    moves : SeasonMoves
        Move and day for each row; on conflict the day it is due [-]

    Examples
    --------
    >>> blocks = block_table([[Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))]])
    >>> met = block_met(blocks, ["2026-07-20"], ["2026-08-10"], date(2026, 5, 14))
    >>> moves = choose_moves(np.array(["2026-08-06"], "M8[D]"), met, blocks, date(2026, 5, 14), np.array([0.2]), np.array([True]))
    >>> MOVES[moves.move[0]], moves.day.tolist()
    ('before the block', [datetime.date(2026, 7, 9)])

    Source
    ------
    Common practice, no source; the trade press calls for inspection a season ahead (Farm and Dairy, end-of-season maintenance).
    """
    due = np.asarray(due_day, "datetime64[D]")
    start, end, now = met.start.reshape(-1), met.end.reshape(-1), np.datetime64(today, "D")
    hit = ~np.isnat(start)
    before, after = np.minimum(due, start - 1), np.maximum(due, end + 1)
    before_fits = (before >= now) & (np.asarray(wasted_share) <= MOST_WASTE + 1e-9) & ~inside(blocks, before)
    after_fits = np.asarray(after_allowed, bool) & ~inside(blocks, after)
    move = np.select([~hit, before_fits, after_fits], [AS_DUE, BEFORE, AFTER], CONFLICT)
    day = np.select([move == BEFORE, move == AFTER], [before, after], due)
    return SeasonMoves(move, day, np.where(hit, wasted_share, np.nan), start, end)
