"""Whether the tests of calcs would notice a number written down wrong: `python tests/bench/constant_shift.py SCRATCH fluid ledger ...`.

Moves each number of the constants and tables of the named files by a thousandth (whole numbers by one), one at a time, in a copy in the
folder SCRATCH, which must lie outside the project, and runs the tests of that file. Prints the share noticed by file, and each number that
could be moved unnoticed. `--bodies` moves the numbers inside functions too.
"""

from __future__ import annotations

import argparse
import ast
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import chemicals.viscosity  # noqa: F401  loaded once here, so that no child has to
import hypothesis  # noqa: F401
import numpy  # noqa: F401
import pandas  # noqa: F401
import pint  # noqa: F401
import pytest
import scipy.optimize  # noqa: F401
import scipy.stats  # noqa: F401

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.mutation import HOUSE, lay_out, tests_of


def constants(tree: ast.Module, with_bodies: bool) -> Iterator[ast.Constant]:
    """Yield the numbers of module and class level, and of function bodies if wanted."""
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    inside = {id(node) for function in functions for node in ast.walk(function)}
    for node in ast.walk(tree):
        is_number = isinstance(node, ast.Constant) and type(node.value) in (int, float)
        if is_number and (with_bodies or id(node) not in inside):
            yield node


def moved(value: float) -> float:
    """Return a number a thousandth off, a whole number one off."""
    return value + 1 if isinstance(value, int) else value * 1.001 or 0.001


def source_with(source: str, node: ast.Constant) -> str:
    """Return the source with one number moved; all of it stands on one line."""
    lines = source.encode().splitlines(keepends=True)
    line = lines[node.lineno - 1]
    lines[node.lineno - 1] = line[: node.col_offset] + repr(moved(node.value)).encode() + line[node.end_col_offset :]
    return b"".join(lines).decode()


def is_noticed(scratch: Path, tests: list[str]) -> bool:
    """Run the tests in a child that inherits the loaded libraries; say whether any failed."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    os.chdir(scratch)
    for name in [name for name in sys.modules if name.partition(".")[0] in ("calcs", "tests")]:
        del sys.modules[name]
    sys.path.insert(0, str(scratch))
    sys.dont_write_bytecode = True
    os._exit(int(pytest.main(["-x", "-q", "-p", "no:django", "-p", "no:cacheprovider", "--import-mode=importlib", *tests])))


def try_file(scratch: Path, name: str, with_bodies: bool) -> tuple[int, int]:
    """Move each number of one file; return how many there were and how many were noticed."""
    file, tests = scratch / "calcs" / f"{name}.py", tests_of(scratch, [name])
    source = file.read_text()
    if is_noticed(scratch, tests):
        raise SystemExit(f"the tests of {name} fail as it stands")
    nodes, missed = list(constants(ast.parse(source), with_bodies)), []
    try:
        for node in nodes:
            file.write_text(source_with(source, node))
            if not is_noticed(scratch, tests):
                missed.append(node)
    finally:
        file.write_text(source)
    print(f"{name:<18} {len(nodes):5} numbers  {len(nodes) - len(missed):5} noticed")
    for node in missed:
        print(f"    line {node.lineno}: {node.value}   {source.splitlines()[node.lineno - 1].strip()[:90]}")
    return len(nodes), len(nodes) - len(missed)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("scratch", type=Path)
    words.add_argument("names", nargs="+")
    words.add_argument("--bodies", action="store_true")
    asked = words.parse_args()
    folder, names = asked.scratch.resolve(), asked.names
    if folder.is_relative_to(HOUSE):
        raise SystemExit("SCRATCH must lie outside the project")
    folder.mkdir(parents=True, exist_ok=True)
    lay_out(folder, names)
    counts = [try_file(folder, name, asked.bodies) for name in names]
    total, noticed = (sum(column) for column in zip(*counts, strict=True))
    print(f"in all {total} numbers, {noticed} noticed, {100 * noticed / max(1, total):.1f} %")


if __name__ == "__main__":
    main()
