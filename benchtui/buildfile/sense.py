"""Checks of the whole build: does it hang together?"""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import Finding


def structure(build: Build) -> list[Finding]:
    return []


def figures(build: Build) -> list[Finding]:
    return []
