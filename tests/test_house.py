"""The house holds: who may import whom, which rooms stand where, no clock in the numbers, and essays that say unit and source."""

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import calcs
from calcs.working import paper_of

HOUSE = Path(__file__).resolve().parent.parent
TOP = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "pyproject.toml", "shop", "fleet", "calcs", "tests", "fixtures"}
MAY_IMPORT = {"calcs": {"calcs"}, "fleet": {"calcs", "fleet"}, "shop": {"calcs", "fleet", "shop"}}
CLOSED_TO_CALCS = {"django", "os", "pathlib", "io", "time", "random", "socket", "subprocess", "requests", "sqlite3"}
FLEET_HAS_NOT = {"views", "urls", "forms", "templates"}
NOT_IN_NAMES = {"manager", "helper", "helpers", "utils", "service", "data", "info", "process", "handle"}
SHOP_PLAIN = {"models", "management", "migrations", "templates", "static", "templatetags"}


def python_files(storey: str) -> list[Path]:
    return [p for p in sorted((HOUSE / storey).rglob("*.py")) if "migrations" not in p.parts]


def imports_of(path: Path) -> set[str]:
    """Return the full dotted names a file imports, lazily or not."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module}
    return names


def rooms() -> set[str]:
    return {p.name for p in (HOUSE / "shop").iterdir() if p.is_dir() and p.name not in SHOP_PLAIN and not p.name.startswith("_")}


def test_the_top_of_the_house_holds_what_it_should_and_nothing_else():
    there = {p.name for p in HOUSE.iterdir() if not p.name.startswith(".") and p.name not in {"var", "screens", "mutants"}}
    assert there == TOP


@pytest.mark.parametrize("storey", ["calcs", "fleet", "shop"])
def test_a_storey_imports_only_downwards(storey):
    wrong = [
        f"{path.relative_to(HOUSE)} imports {name}"
        for path in python_files(storey)
        for name in imports_of(path)
        if name.split(".")[0] in {"calcs", "fleet", "shop", "tests"} - MAY_IMPORT[storey]
    ]
    assert wrong == []


def test_the_numbers_know_no_clock_no_file_and_no_framework():
    wrong = []
    for path in python_files("calcs"):
        wrong += [f"{path.name} imports {name}" for name in imports_of(path) if name.split(".")[0] in CLOSED_TO_CALCS]
        wrong += [
            f"{path.name} calls {call}"
            for call in re.findall(r"\b(?:date\.today|datetime\.now|datetime\.utcnow|np\.random\.\w+|open)\(", path.read_text())
        ]
    allowed = "np.random.default_rng("
    assert [line for line in wrong if not line.endswith(allowed)] == []


def test_the_facts_have_no_pages():
    assert [p for p in python_files("fleet") if p.stem in FLEET_HAS_NOT or p.parent.name in FLEET_HAS_NOT] == []


def test_keys_point_down():
    from django.apps import apps

    wrong = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_app_config("fleet").get_models()
        for field in model._meta.get_fields()
        if field.is_relation and not field.auto_created and field.related_model and field.related_model._meta.app_label == "shop"
    ]
    assert wrong == []


def test_only_the_list_of_addresses_imports_views():
    wrong = [
        f"{path.relative_to(HOUSE)} imports {name}"
        for path in python_files("shop")
        for name in imports_of(path)
        if name.startswith("shop.") and name.split(".")[-1] == "views" and path.name != "urls.py"
    ]
    assert wrong == []


def test_forms_of_a_room_are_open_to_exchange_api_and_commands_alone():
    wrong = []
    for path in python_files("shop"):
        room = path.relative_to(HOUSE / "shop").parts[0]
        for name in imports_of(path):
            parts = name.split(".")
            if (
                parts[0] == "shop"
                and len(parts) > 2
                and parts[2] == "forms"
                and parts[1] != room
                and room not in {"exchange", "api", "management"}
            ):
                wrong.append(f"{path.relative_to(HOUSE)} imports {name}")
    assert wrong == []


def test_rooms_form_no_circle():
    names = rooms()
    doors = {
        room: {
            n.split(".")[1]
            for p in python_files(f"shop/{room}")
            for n in imports_of(p)
            if n.startswith("shop.") and n.split(".")[1] in names
        }
        - {room}
        for room in names
    }
    circles = [(a, b) for a in doors for b in reach(doors, a) if a in reach(doors, b)]
    assert circles == []


def reach(doors: dict[str, set[str]], room: str) -> set[str]:
    seen, todo = set(), list(doors[room])
    while todo:
        here = todo.pop()
        if here not in seen:
            seen.add(here)
            todo += doors.get(here, set())
    return seen


def test_no_grand_or_empty_words_in_the_names_of_files_and_classes():
    wrong = []
    for storey in ("calcs", "fleet", "shop"):
        for path in python_files(storey):
            wrong += [str(path.relative_to(HOUSE)) for word in path.stem.split("_") if word in NOT_IN_NAMES and path.stem != "service"]
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.ClassDef) and node.name.startswith("Test"):
                    wrong.append(f"{path.relative_to(HOUSE)} class {node.name}")
    assert wrong == []


def public_functions() -> list:
    found = []
    for module_name in sorted(m.name for m in pkgutil.iter_modules(calcs.__path__)):
        module = importlib.import_module(f"calcs.{module_name}")
        found += [
            f for name, f in vars(module).items() if inspect.isfunction(f) and f.__module__ == module.__name__ and not name.startswith("_")
        ]
    return found


@pytest.mark.parametrize("function", public_functions(), ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_a_numeric_function_is_an_essay_with_units_example_and_source(function):
    paper = paper_of(function)
    text = inspect.getdoc(function) or ""
    missing = [name for name in inspect.signature(function).parameters if not paper.units.get(name)]
    assert paper.sentence.endswith("."), "the first sentence is missing"
    assert missing == [], "no unit in brackets"
    assert not inspect.signature(function).parameters or paper.result_unit, "Returns has no unit in brackets"
    assert ">>>" in text, "no example"
    assert paper.source, "no source"


def test_one_function_alone_makes_paragraphs_on_paper():
    wrong = [str(p.relative_to(HOUSE)) for p in python_files("shop") if re.search(r"\bParagraph\(", p.read_text()) and p.name != "paper.py"]
    assert wrong == []


def test_nothing_user_written_is_declared_safe():
    wrong = []
    for path in [*python_files("shop"), *python_files("fleet"), *sorted((HOUSE / "shop").rglob("*.html"))]:
        for found in re.findall(r"\|\s*safe\b|autoescape off|\beval\(|\bpickle\b|shell=True|RawSQL|\.extra\(", path.read_text()):
            wrong.append(f"{path.relative_to(HOUSE)}: {found}")
    assert wrong == []


def test_models_match_their_migrations(db):
    from django.core.management import call_command

    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_no_remote_address_in_what_the_browser_is_given():
    wrong = []
    for path in sorted((HOUSE / "shop").rglob("*")):
        if path.suffix in {".html", ".css", ".js", ".svg"}:
            wrong += [f"{path.name}: {found}" for found in re.findall(r"https?://(?!www\.w3\.org)[\w./-]+", path.read_text())]
    assert wrong == []
