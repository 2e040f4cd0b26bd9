"""How many small faults put into calcs the tests of calcs find: `python tests/bench/mutation.py SCRATCH fluid ledger ...`.

Needs mutmut 3 in the environment (`pip install mutmut==3.8.1`). Copies calcs, its tests and the check values into the folder SCRATCH,
which must lie outside the project, runs the tool there over the named files and prints the score of each. `--scores` only prints what
an earlier run found, `--survivors` also prints the faults that no test found.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
from pathlib import Path

HOUSE = Path(__file__).parents[2]
SURVIVED, NO_TESTS, SKIPPED = 0, 33, 34
SETTINGS = """[tool.mutmut]
source_paths = ["calcs"]
only_mutate = [{files}]
also_copy = ["tests", "fixtures", "conftest.py"]
pytest_add_cli_args = ["-p", "no:django", "-p", "no:cacheprovider", "--import-mode=importlib"]
pytest_add_cli_args_test_selection = [{tests}]
track_dependencies = false
use_git_change_detection = false

[tool.pytest.ini_options]
pythonpath = ["."]
"""
CONFTEST = """from hypothesis import HealthCheck, settings

checks = list(HealthCheck)
settings.register_profile("faults", max_examples=25, derandomize=True, deadline=None, database=None, suppress_health_check=checks)
settings.load_profile("faults")
"""


def lay_out(scratch: Path, names: list[str]) -> None:
    """Copy what the run needs and write its settings."""
    shutil.copytree(HOUSE / "calcs", scratch / "calcs", dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(HOUSE / "fixtures" / "golden", scratch / "fixtures" / "golden", dirs_exist_ok=True)
    (scratch / "tests" / "calcs").mkdir(parents=True, exist_ok=True)
    for file in [HOUSE / "tests" / "__init__.py", HOUSE / "tests" / "golden.py", *(HOUSE / "tests" / "calcs").glob("*.py")]:
        shutil.copy(file, scratch / file.relative_to(HOUSE))
    files = ", ".join(f'"calcs/{name}.py"' for name in names)
    tests = ", ".join(f'"{path}"' for path in tests_of(scratch, names))
    (scratch / "pyproject.toml").write_text(SETTINGS.format(files=files, tests=tests))
    (scratch / "conftest.py").write_text(CONFTEST)


def tests_of(scratch: Path, names: list[str]) -> list[str]:
    """Return the test files that carry the names, such as test_drive.py and test_drive_chart.py for drive, and the one on stated limits."""
    patterns = [f"test_{name}*.py" for name in names] + ["test_stated_limits.py"]
    found = [path for pattern in patterns for path in sorted((scratch / "tests" / "calcs").glob(pattern))]
    return [str(path.relative_to(scratch)) for path in dict.fromkeys(found)]


def exit_codes(scratch: Path, name: str) -> dict[str, int]:
    """Return the exit code of the tests by fault."""
    kept = scratch / "mutants" / "calcs" / f"{name}.py.meta"
    return {k: code for k, code in json.loads(kept.read_text())["exit_code_by_key"].items() if code != SKIPPED} if kept.exists() else {}


def print_scores(scratch: Path, names: list[str], shows_survivors: bool) -> None:
    """Print the share of faults found, by file and in all."""
    all_codes: list[int] = []
    for name in names:
        codes = exit_codes(scratch, name)
        missed = [key for key, code in codes.items() if code in (SURVIVED, NO_TESTS)]
        all_codes += codes.values()
        if codes:
            print(f"{name:<18} {len(codes):5} faults  {len(codes) - len(missed):5} found  {100 - 100 * len(missed) / len(codes):6.1f} %")
        for key in missed if shows_survivors else []:
            print(subprocess.run(["mutmut", "show", key], cwd=scratch, capture_output=True, text=True, check=False).stdout)
    found = sum(code not in (SURVIVED, NO_TESTS) for code in all_codes)
    print(f"{'in all':<18} {len(all_codes):5} faults  {found:5} found  {100 * found / max(1, len(all_codes)):6.1f} %")


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("scratch", type=Path)
    words.add_argument("names", nargs="+")
    words.add_argument("--scores", action="store_true")
    words.add_argument("--survivors", action="store_true")
    asked = words.parse_args()
    folder, names = asked.scratch.resolve(), asked.names
    if folder.is_relative_to(HOUSE):
        raise SystemExit("SCRATCH must lie outside the project")
    folder.mkdir(parents=True, exist_ok=True)
    if not asked.scores:
        shutil.rmtree(folder / "mutants", ignore_errors=True)
        lay_out(folder, names)
        with (folder / "run.log").open("w") as log:
            ran = subprocess.run(["mutmut", "run", "--max-children", "2"], cwd=folder, check=False, stdout=log, stderr=log)
        if ran.returncode:
            raise SystemExit(f"the tool did not run to its end, see {folder / 'run.log'}")
    print_scores(folder, names, asked.survivors)


if __name__ == "__main__":
    main()
