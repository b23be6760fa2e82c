"""What the models refuse, in words: one finding for each error of pydantic."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from benchtui.buildfile.fields import describe, known_keys
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import MOST_FINDINGS, Finding, Path, shown, suggestion

# Error type of pydantic -> what is wrong, what would be right; {braces} are filled from the error's context.
_WORDS: Mapping[str, tuple[str, str]] = {
    "string_type": ("is no text", "text in quotes is wanted"),
    "string_unicode": ("is no text", "text in quotes is wanted"),
    "tuple_type": ("is no list", 'a list is wanted, such as ["a", "b"]'),
    "dict_type": ("is no table", "a table is wanted"),
    "model_type": ("is no table", "an entry in braces or a table of its own is wanted"),
    "int_type": ("is no whole number", "a whole number without quotes is wanted"),
    "int_parsing_size": ("is too large a number", "a smaller one is wanted"),
    "bool_type": ("is neither true nor false", "true or false without quotes is wanted"),
    "literal_error": ("is none of the words known here", "{expected} is wanted"),
    "too_long": ("has too many entries", "at most {max_length} are wanted"),
    "greater_than_equal": ("is too small", "at least {ge} is wanted"),
    "less_than_equal": ("is too large", "at most {le} is wanted"),
    "finite_number": ("is no finite number", "a finite number is wanted"),
}


def refusals(error: ValidationError, root: type[BaseModel] = Build) -> list[Finding]:
    """A finding for each of the first MOST_FINDINGS errors in `error`, of a file like `root`."""
    details = error.errors(include_url=False)
    return [_finding(detail, root) for detail in details[:MOST_FINDINGS]]


def _finding(detail: Mapping[str, Any], root: type[BaseModel]) -> Finding:
    path: Path = detail["loc"]
    kind = detail["type"]
    context = detail.get("ctx", {})
    if path[-1] == "[key]":
        return Finding(path[:-1], context.get("wrong", "is no name"), context.get("right", "another is wanted"))
    if kind == "extra_forbidden":
        return Finding(path, "is not known here", suggestion(str(path[-1]), known_keys(path[:-1], root)))
    if kind == "missing":
        return _missing(path, root)
    found = "" if isinstance(detail["input"], dict | list) else shown(detail["input"])
    if kind == "build_file":
        return Finding(path, context["wrong"], context["right"], found)
    if kind not in _WORDS:
        return Finding(path, "does not fit here", detail["msg"], found)
    wrong, right = (words.format_map(context) for words in _WORDS[kind])
    return Finding(path, wrong, right, found)


def _missing(path: Path, root: type[BaseModel]) -> Finding:
    if isinstance(path[-1], int):
        return Finding(path[:-1], "has too few entries", "another is wanted")
    return Finding(path, "is missing", f"it is needed: {describe(path, root)}")
