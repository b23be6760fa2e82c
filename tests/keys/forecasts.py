"""Forecasts for walks whose mains and readings are anything: those of one bring-up, whatever is typed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from benchtui.buildfile.models import Build
from tests.walk.forecasts import Remembering


class AsWalked(Remembering):
    """What was computed last in a bring-up that it `learns` stands for its kind and stage; all else is computed."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self._stands: dict[tuple[Any, ...], Any] = {}
        self._learning = False

    @contextmanager
    def learns(self) -> Iterator[None]:
        """In here every forecast is the right one, and is kept."""
        self._learning = True
        yield
        self._learning = False

    def _ask(self, kind: str, build: Build, *arguments: Any) -> Any:
        told = arguments if kind in ("gate", "cold", "limited", "review", "retest") else self._told(kind, arguments)
        key = (kind, build.id, *told)
        if self._learning or key not in self._stands:
            self._stands[key] = super()._ask(kind, build, *arguments)
        return self._stands[key]

    def _told(self, kind: str, arguments: tuple[Any, ...]) -> tuple[Any, ...]:
        """What tells apart: stage and pot, and whether mains is known; not how high it is, nor what was read before."""
        if kind == "whole":
            return (arguments[0], *self._told("stage", arguments[1:])) if arguments[0] == "stage" else arguments
        stage, more = arguments[0], arguments[1]
        return (stage, more) if kind == "trim" else (stage, more is None)
