"""Each study, benchmark, fault and load script starts as its own first lines say, and tells how it is used."""

import json
import subprocess
import sys
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
STARTING = Path(__file__).parent / "starting.py"
PLACE = {"PATH": "/usr/bin:/bin"}


def scripts() -> list[str]:
    found = [path for folder in ("bench", "faults", "load") for path in sorted((HOUSE / "tests" / folder).glob("*.py"))]
    return [str(path) for path in found if '__name__ == "__main__"' in path.read_text(encoding="utf-8")]


def troubles(paths: list[str], place: Path) -> dict[str, str]:
    done = subprocess.run([sys.executable, str(STARTING), *paths], cwd=place, env=PLACE, capture_output=True, text=True, timeout=120)
    return json.loads(done.stdout) if done.returncode == 0 else {"starting.py": done.stderr}


def test_each_script_starts_and_tells_how_it_is_used_and_one_that_finds_nothing_is_noticed(tmp_path):
    found, lost = scripts(), tmp_path / "lost.py"
    lost.write_text("import argparse\n\nimport calcs\n\nif __name__ == '__main__':\n    argparse.ArgumentParser().parse_args()\n")
    assert len(found) >= 18
    told = troubles([*found, str(lost)], tmp_path)
    assert "No module named 'calcs'" in told.pop(str(lost))
    assert told == {}
