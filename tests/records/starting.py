"""Ask many scripts for their help, each in a process of its own that begins with the slow libraries loaded: `python starting.py SCRIPT ...`.

Prints, as JSON, what went wrong by script. Nothing of the program is loaded beforehand and its folder is not among those searched, so that a script that
does not find the program by itself fails here as it would by hand.
"""

import contextlib
import importlib
import json
import os
import runpy
import sys
import tempfile
import traceback
from multiprocessing.pool import ThreadPool
from pathlib import Path

SLOW = ("numpy", "pandas", "scipy.stats", "scipy.optimize", "statsmodels.api", "pymannkendall", "pint", "chemicals.viscosity", "hypothesis",
        "pytest", "django.test", "django.forms", "django.contrib.admin", "reportlab.pdfgen.canvas", "PIL.Image", "openpyxl")  # fmt: skip


def asked_for_help(script: str) -> str:
    """Return what went wrong, or nothing."""
    with tempfile.TemporaryFile() as said:
        child = os.fork()
        if child == 0:
            os.dup2(said.fileno(), 1)
            os.dup2(said.fileno(), 2)
            os._exit(be_the_script(Path(script)))
        _, state = os.waitpid(child, 0)
        said.seek(0)
        text = said.read().decode(errors="replace")
    return "" if state == 0 and text.startswith("usage: ") else f"ended with {state}: {text[-600:]}"


def be_the_script(script: Path) -> int:
    sys.path[0], sys.argv[:] = str(script.parent), [str(script), "--help"]
    code = 0
    try:
        runpy.run_path(str(script), run_name="__main__")
    except SystemExit as end:
        code = 0 if end.code is None else end.code if isinstance(end.code, int) else 1
    except BaseException:
        traceback.print_exc()
        code = 1
    sys.stdout.flush()
    sys.stderr.flush()
    return code


if __name__ == "__main__":
    for name in SLOW:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    with ThreadPool(2) as pool:
        told = pool.map(asked_for_help, sys.argv[1:])
    print(json.dumps({script: trouble for script, trouble in zip(sys.argv[1:], told, strict=True) if trouble}))
