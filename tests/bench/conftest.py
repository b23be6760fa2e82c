"""Times and studies are no tests that can fail on a slow machine: they are taken in the long run alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.record.counts import count


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.parent == Path(__file__).parent and not count(short=False, full=True):
            item.add_marker(pytest.mark.skip(reason="times, which never fail: BENCHTUI_LONG=1"))
