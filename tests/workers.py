"""The tests of whole folders are shared out among the cores of the machine, each worker with a database, a server and a browser of its own."""

import os
from pathlib import Path

import pytest
from xdist.scheduler import LoadScopeScheduling

MOST = 4  # the longest file takes as long as a quarter of the rest
TOGETHER = ("tests/shop/demo",)  # what they stand on is made once for the folder


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config) -> int:
    """Return how many workers to start: none for single files, where starting them would take longer than the tests."""
    cores = min(MOST, os.cpu_count() or 1)
    folders = all(Path(place).is_dir() for place in config.args)
    return cores if folders and cores > 1 else 0


class ByFile(LoadScopeScheduling):
    """A file's tests stay together and in order, and so do the files of a folder whose tests share what they stand on."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::")[0]
        return next((folder for folder in TOGETHER if file.startswith(folder)), file)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log) -> LoadScopeScheduling:
    return ByFile(config, log)
