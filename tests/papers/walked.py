"""The record of a whole bring-up, walked once and shared by every process of a test run through files."""

from __future__ import annotations

import shutil
from fcntl import LOCK_EX, flock
from pathlib import Path

import pytest

from tests.walk.benches import bench
from tests.walk.forecasts import Remembering, shared_folder
from tests.walk.walking import walk

NAME = "pp-6v6"


def walked(factory: pytest.TempPathFactory) -> Path:
    """The folder with build file and record; whoever comes first walks."""
    forecasts = shared_folder(factory)
    folder = forecasts.parent / "papers"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        flock(lock, LOCK_EX)
        if not (folder / "whole").exists():
            made = bench(NAME, folder, Remembering(forecasts))
            session = made.session()
            walk(session, made.builder, made.clock)
            session.leave()
            (folder / "whole").touch()
    return folder


def copied(folder: Path, to: Path) -> Path:
    """Build file and record in a folder of their own; the path of the build file."""
    for suffix in (".toml", ".bench", ".bench.head"):
        shutil.copyfile(folder / f"{NAME}{suffix}", to / f"{NAME}{suffix}")
    return to / f"{NAME}.toml"
