"""Work divided over the processor's cores, where a process can be split in two cheaply."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")

_work: Callable[[Any], Any]
"""What the processes that are split off do: they inherit it, so that nothing large has to be sent."""


def divided(work: Callable[[Item], Result], items: Sequence[Item]) -> list[Result]:
    """`work` on each of `items`, in their order, several at a time; items and results are sent between processes.

    What `work` raises is raised here. Only Linux splits a process safely and at once; elsewhere, and with one core, it
    is done one after the other.
    """
    cores = len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1
    if min(cores, len(items)) < 2:
        return [work(item) for item in items]
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    global _work
    _work = work
    with ProcessPoolExecutor(min(cores, len(items)), get_context("fork")) as processes:
        return list(processes.map(_do, items))


def _do(item: Any) -> Any:
    return _work(item)
