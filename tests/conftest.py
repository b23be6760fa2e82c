"""Settings of all tests: seeded, without a deadline, and what to do where ngspice is not installed."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

import benchtui  # noqa: F401  before numpy, which reads the number of threads when it is loaded
from tests.once import each_file_loaded_once
from tests.record.counts import count

settings.register_profile("same_every_time", derandomize=True, deadline=None, print_blob=False, database=None)
settings.load_profile("same_every_time")


#: A file system in memory: no test waits for a disk there; the long run writes to the disk. What a kill or a power cut
#: leaves is told in tests/crash and tests/record by layers and processes of their own, on any file system.
_MEMORY, _ROOM_BYTES = Path("/dev/shm"), 2 * 1024**3


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line(
        "markers", "spice: compares with ngspice; skipped where that is not installed, but never in CI"
    )
    if count(short=True, full=False) and _MEMORY.is_dir() and shutil.disk_usage(_MEMORY).free > _ROOM_BYTES:
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(_MEMORY))  # where pytest puts what tests write


#: Folders whose files take minutes: where tests run on several processes, a file on each, these begin.
LONG = ("walk", "keys", "crash", "procedure", "diagnosis", "session", "screens")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: LONG.index(item.path.parent.name) if item.path.parent.name in LONG else len(LONG))


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("spice") is None or shutil.which("ngspice"):
        return
    if os.environ.get("CI") == "true":
        pytest.fail("ngspice is not installed, and in CI it must be", pytrace=False)
    pytest.skip("ngspice is not installed")


@pytest.fixture(scope="session", autouse=True)
def _each_file_loaded_once() -> Iterator[None]:
    with each_file_loaded_once():
        yield


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Answers of the command line are kept in a folder of the tests', empty at first."""
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))


@pytest.fixture
def spice() -> str:
    """The path of ngspice, for tests marked `spice`."""
    path = shutil.which("ngspice")
    assert path is not None, "mark this test with pytest.mark.spice"
    return path
