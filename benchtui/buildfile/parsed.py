"""TOML text as data, or every fault of its syntax at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from typing import Any

from benchtui.buildfile.lines import Fault, Outline
from benchtui.buildfile.problems import BuildFileError, Problem, place
from benchtui.buildfile.source import Source


def parsed(file: Source, found: Outline, what: str = "a build file") -> dict[str, Any]:
    """The data of a file; `what` it should be. Raises BuildFileError with every fault of its syntax and its line."""
    if found.too_deep:
        raise BuildFileError(_fault(file.name, fault) for fault in found.too_deep)
    try:
        data = tomllib.loads(file.text)
    except tomllib.TOMLDecodeError as error:
        raise BuildFileError(_syntax(file, found, error)) from error
    except (ValueError, RecursionError) as error:
        raise BuildFileError(
            [Problem(file.name, 0, "", "", f"this is no TOML ({error})", "plain values are wanted")]
        ) from error
    if not data:
        raise BuildFileError([Problem(file.name, 0, "", "", "there is nothing in the file", f"{what} is wanted")])
    return data


def _syntax(file: Source, found: Outline, error: tomllib.TOMLDecodeError) -> Iterable[Problem]:
    """Every bare word, broken line and doubled key; what `tomllib` says where none of these explains it."""
    for fault in found.faults:
        yield _fault(file.name, fault)
    for path, first, second in found.twice:
        yield Problem(file.name, second, place(path), "", f"is written twice, first on line {first}", "once is enough")
    message = re.sub(r" \(at .*\)$", "", str(error))
    position = re.search(r"\(at line (\d+), column \d+\)$", str(error))
    line = int(position[1]) if position else file.text.rstrip("\n").count("\n") + 1
    explained = {fault.line for fault in found.faults} | {second for _, _, second in found.twice}
    doubled = found.twice and message.startswith("Cannot")
    if line not in explained and not doubled:
        yield Problem(
            file.name,
            line,
            "",
            "",
            f"this is no TOML ({message})",
            'entries such as name = "text" are wanted',
        )


def _fault(name: str, fault: Fault) -> Problem:
    return Problem(name, fault.line, "", fault.found, fault.wrong, fault.right)
