"""The sheet of promises names each goal once, and each test or script that it names is there."""

import ast
import csv
import re
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
GOALS = [
    *(f"A{k}" for k in (*range(1, 12), 13)), *(f"B{k}" for k in (*range(1, 11), 12)), *(f"C{k}" for k in range(1, 13)), *(f"D{k}" for k in range(1, 9)),
    *(f"E{k}" for k in range(1, 8)),
]  # fmt: skip


def promises() -> list[dict]:
    with (HOUSE / "tests" / "records.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file, restkey="too many"))


def test_each_goal_stands_there_once_with_what_holds_and_what_shows_it():
    assert [row["goal"] for row in promises()] == GOALS
    assert [row["goal"] for row in promises() if not row["what holds"] or not row["shown_by"] or "too many" in row] == []


def test_every_test_and_script_that_is_named_is_there():
    missing = []
    for row in promises():
        for named in row["shown_by"].split():
            path, _, test = named.partition("::")
            text = (HOUSE / path).read_text(encoding="utf-8") if (HOUSE / path).is_file() else ""
            functions = {n.name for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef)} if path.endswith(".py") else set()
            if (
                not text
                or (test and test not in functions)
                or (not test and path.endswith(".py") and "/test_" not in path and "__main__" not in text)
            ):
                missing.append(f"{row['goal']}: {named}")
    assert missing == []


def test_the_sheet_names_tests_of_all_kinds_of_trouble():
    named = " ".join(row["shown_by"] for row in promises())
    assert len(set(re.findall(r"::(test_\w+)", named))) > 80
