"""Older and aerospace cleanliness classes, by their tables of particles per 100 mL."""

from __future__ import annotations

from collections.abc import Mapping

CLASS_NAMES = ("000", "00", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12")
# SAE AS4059, cumulative counts, classes 000 to 12, sizes A above 4, B 6, C 14, D 21, E 38, F 70 um(c); two filter makers' reprints.
AS4059_MOST_PER_100ML = {
    "A": (195, 390, 780, 1_560, 3_120, 6_250, 12_500, 25_000, 50_000, 100_000, 200_000, 400_000, 800_000, 1_600_000, 3_200_000),
    "B": (76, 152, 304, 609, 1_220, 2_430, 4_860, 9_730, 19_500, 38_900, 77_900, 156_000, 311_000, 623_000, 1_250_000),
    "C": (14, 27, 54, 109, 217, 432, 864, 1_730, 3_460, 6_920, 13_900, 27_700, 55_400, 111_000, 222_000),
    "D": (3, 5, 10, 20, 39, 76, 152, 306, 612, 1_220, 2_450, 4_900, 9_800, 19_600, 39_200),
    "E": (1, 1, 2, 4, 7, 13, 26, 53, 106, 212, 424, 848, 1_700, 3_390, 6_780),
    "F": (0, 0, 0, 1, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1_020),
}
# NAS 1638 (withdrawn), counts between sizes in um, classes 00 to 12; filter maker's reprint, misaligned, set right by its doubling.
NAS1638_MOST_PER_100ML = {
    "5-15": (125, 250, 500, 1_000, 2_000, 4_000, 8_000, 16_000, 32_000, 64_000, 128_000, 256_000, 512_000, 1_024_000),
    "15-25": (22, 44, 89, 178, 356, 712, 1_425, 2_850, 5_700, 11_400, 22_800, 45_600, 91_200, 182_400),
    "25-50": (4, 8, 16, 32, 63, 126, 253, 506, 1_012, 2_025, 4_050, 8_100, 16_200, 32_400),
    "50-100": (1, 2, 3, 6, 11, 22, 45, 90, 180, 360, 720, 1_440, 2_880, 5_760),
    ">100": (0, 0, 1, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1_024),
}
BEYOND = ">12"


def most_particles(table: Mapping[str, tuple[int, ...]], class_name: str, size: str) -> int:
    """Return the most particles a class allows in a size.

    Parameters
    ----------
    table : mapping
        One of the two tables of this file [1/100 mL]
    class_name : str
        Class from 000 (00 in the older table) to 12 [-]
    size : str
        Letter A to F, or sizes in um such as 5-15 [-]

    Returns
    -------
    particles : int
        Most particles allowed [1/100 mL]

    Examples
    --------
    >>> most_particles(AS4059_MOST_PER_100ML, "7", "B"), most_particles(NAS1638_MOST_PER_100ML, "6", "5-15")
    (38900, 16000)

    Source
    ------
    SAE AS4059 table for cumulative counts; NAS 1638 table.
    """
    require_size(table, size)
    names = class_names(table)
    if class_name not in names:
        raise ValueError(f"class_name must be one of {', '.join(names)}, got {class_name}")
    return table[size][names.index(class_name)]


def class_names(table: Mapping[str, tuple[int, ...]]) -> tuple[str, ...]:
    """Return the names of the classes of a table, cleanest first.

    Parameters
    ----------
    table : mapping
        One of the two tables of this file [1/100 mL]

    Returns
    -------
    names : tuple of str
        000 or 00 to 12 [-]

    Examples
    --------
    >>> class_names(NAS1638_MOST_PER_100ML)[:3]
    ('00', '0', '1')

    Source
    ------
    SAE AS4059 and NAS 1638.
    """
    rows = len(next(iter(table.values())))
    return CLASS_NAMES[len(CLASS_NAMES) - rows :]


def require_size(table: Mapping[str, tuple[int, ...]], size: str) -> None:
    """Refuse a size a table does not hold.

    Parameters
    ----------
    table : mapping
        One of the two tables of this file [1/100 mL]
    size : str
        Letter A to F, or sizes in um such as 5-15 [-]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming the argument [-]

    Examples
    --------
    >>> require_size(AS4059_MOST_PER_100ML, "G")
    Traceback (most recent call last):
    ValueError: size must be one of A, B, C, D, E, F, got G

    Source
    ------
    House rule.
    """
    if size not in table:
        raise ValueError(f"size must be one of {', '.join(table)}, got {size}")


def particle_class(table: Mapping[str, tuple[int, ...]], counts_per_100ml: Mapping[str, float]) -> str:
    """Return the class of a sample: the worst of its sizes.

    Parameters
    ----------
    table : mapping
        One of the two tables of this file [1/100 mL]
    counts_per_100ml : mapping
        Particles by size, as many sizes as were counted, at least one [1/100 mL]

    Returns
    -------
    class_name : str
        Class from 000 (00 in the older table) to 12, or >12 [-]

    Examples
    --------
    >>> particle_class(AS4059_MOST_PER_100ML, {"A": 90_000, "B": 40_000})
    '8'

    Source
    ------
    SAE AS4059 table for cumulative counts; NAS 1638 table; the worst size is the one quoted.
    """
    if not counts_per_100ml:
        raise ValueError("counts_per_100ml must hold at least one size, got none")
    return (*class_names(table), BEYOND)[max(row_of(table, size, count) for size, count in counts_per_100ml.items())]


def row_of(table: Mapping[str, tuple[int, ...]], size: str, count_per_100ml: float) -> int:
    """Return the first row of a table that allows a count, counted from the cleanest.

    Parameters
    ----------
    table : mapping
        One of the two tables of this file [1/100 mL]
    size : str
        Letter A to F, or sizes in um such as 5-15 [-]
    count_per_100ml : float
        Particles, zero or more [1/100 mL]

    Returns
    -------
    row : int
        Row from 0; the number of rows where the count is beyond the table [-]

    Examples
    --------
    >>> row_of(AS4059_MOST_PER_100ML, "A", 195), row_of(AS4059_MOST_PER_100ML, "A", 196)
    (0, 1)

    Source
    ------
    SAE AS4059 and NAS 1638: up to and including.
    """
    require_size(table, size)
    if not count_per_100ml >= 0:
        raise ValueError(f"count_per_100ml must not be below zero, got {count_per_100ml}")
    return sum(count_per_100ml > most for most in table[size])
