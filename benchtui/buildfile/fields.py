"""The field reference of the build file, made from the models' own descriptions."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from benchtui.buildfile import values
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import Path

_SCALARS = {
    "Ohms": "ohms", "OhmsOrNone": "ohms", "Farads": "farads", "Henries": "henries", "Volts": "volts",
    "VoltsEitherWay": "volts, + or -", "Amps": "amperes", "Watts": "watts", "Seconds": "seconds",
    "Hertz": "hertz", "Metres": "metres",
    "MetresEitherWay": "metres, + or -", "Share": "percent", "Tolerance": "tolerance", "Accuracy": "accuracy",
    "Id": "name", "Node": "node", "Text": "text", "TypeName": "type", "PinName": "pin", "Number": "number",
    "Factor": "number above zero", "Count": "whole number", "Flag": "true or false", "ReadingLimit": "volts or ohms",
    "OhmsOrOpen": "ohms or OL", "VoltsOrNone": "volts", "Celsius": "degC", "Lead": "lead",
    "LeadPair": "pair of leads",
}  # fmt: skip
_WORDS = [(getattr(values, name), word) for name, word in _SCALARS.items()]


def known_keys(path: Path, root: type[BaseModel] = Build) -> list[str]:
    """The keys that the entry at `path` of a file like `root` may have; none where any name may stand."""
    model = _model_at(path, root)
    return [] if model is None else list(model.model_fields)


def describe(path: Path, root: type[BaseModel] = Build) -> str:
    """The description of the field at `path` of a file like `root`, empty where there is none."""
    model = _model_at(path[:-1], root)
    field = None if model is None else model.model_fields.get(str(path[-1]))
    return (field.description or "") if field else ""


def field_reference(root: type[BaseModel] = Build) -> str:
    """The list of all tables and fields of a file like `root` as markdown, in the order of the models."""
    return "\n".join(_reference(root)).rstrip() + "\n"


def _reference(root: type[BaseModel]) -> Iterator[str]:
    yield from _table("top level", root, skip_tables=True)
    for key, hint in _hints(root).items():
        model = _model_in(hint)
        if model is not None:
            yield from _nested(key if get_origin(hint) is not dict else f"{key}.NAME", model)


def _nested(title: str, model: type[BaseModel]) -> Iterator[str]:
    """The table of `model`, then those of the entries inside it; entries that are alike are told once."""
    yield from _table(title, model)
    alike: dict[type[BaseModel], list[str]] = {}
    for key, hint in _hints(model).items():
        inner = _model_in(hint)
        if inner is not None:
            alike.setdefault(inner, []).append(key + (".NAME" if get_origin(hint) is dict else ""))
    for inner, keys in alike.items():
        yield from _nested(f"{title}.{keys[0]}", inner)
        if len(keys) > 1:
            yield f"The same in {', '.join(f'`[{title}.{key}]`' for key in keys[1:])}."
            yield ""


def _table(title: str, model: type[BaseModel], *, skip_tables: bool = False) -> Iterator[str]:
    yield f"### {title}" if title == "top level" else f"### [{title}]"
    yield ""
    yield "| key | what stands there | if left out | meaning |"
    yield "|---|---|---|---|"
    for key, hint in _hints(model).items():
        if skip_tables and _model_in(hint) is not None:
            continue
        field = model.model_fields[key]
        yield f"| `{key}` | {_in_words(hint)} | {_default(field)} | {_cell(field.description or '')} |"
    yield ""


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "**needed**"
    default = field.get_default(call_default_factory=True)
    if default is None or isinstance(default, dict | BaseModel) or default in ("", ()):
        return ""
    if isinstance(default, bool):
        return str(default).lower()
    if isinstance(default, tuple):
        low, high = default
        return f"±{high:.0%}" if high == -low else f"{low:+.0%} / {high:+.0%}"
    return f"{default:g}" if isinstance(default, float) else str(default)


def _in_words(hint: Any) -> str:
    for alias, words in _WORDS:
        if hint == alias:
            return words
    arguments = [argument for argument in get_args(hint) if argument is not type(None)]
    origin = get_origin(hint)
    if origin is Literal:
        return " or ".join(f"`{argument}`" for argument in arguments)
    if origin in (Union, UnionType):
        return _in_words(arguments[0])
    if origin is dict:
        return f"table of {_in_words(arguments[1])}"
    if origin is tuple:
        count = "list" if arguments[-1] is Ellipsis else f"{len(arguments)}"
        return f"{count} of {_in_words(arguments[0])}"
    return "table"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


@cache
def _hints(model: type[BaseModel]) -> dict[str, Any]:
    hints = get_type_hints(model, include_extras=True)
    return {key: hints[key] for key in model.model_fields}


def _model_in(hint: Any) -> type[BaseModel] | None:
    """The model of an entry: the hint itself, what a table of entries holds, or what may be left out."""
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return hint
    if get_origin(hint) is dict:
        return _model_in(get_args(hint)[1])
    if get_origin(hint) is tuple:
        return _model_in(get_args(hint)[0])
    if get_origin(hint) in (Union, UnionType):
        return _model_in(get_args(hint)[0])
    return None


def _model_at(path: Path, root: type[BaseModel]) -> type[BaseModel] | None:
    """The model of the entry at `path`; None where a table of free names, a list or a value stands."""
    model: type[BaseModel] | None = root
    in_table = False
    for key in path:
        if in_table:
            in_table = False
            continue
        hint = _hints(model).get(str(key)) if model is not None else None
        model = _model_in(hint)
        in_table = get_origin(hint) in (dict, tuple)
    return None if in_table else model
