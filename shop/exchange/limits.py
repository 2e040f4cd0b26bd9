"""How much of a file is looked at; what goes beyond is refused with the limit named."""

MOST_BYTES = 10 * 1024 * 1024
MOST_ROWS = 20_000
MOST_COLUMNS = 200
MOST_CELLS = 600_000
LONGEST_CELL = 2_000
MOST_READINGS = 20_000
MOST_TESTS = 1_200  # as many as are written in some ten seconds, while others wait to write
MOST_MEMBERS = 1_000
MOST_UNPACKED = 50 * 1024 * 1024
HIGHEST_RATIO = 100
DEEPEST = 40
MOST_MACHINES = 5_000
