"""A stereo build without copying: what stands once under `[each...]` becomes one part for every channel.

One rule for names inside `[each...]`: one that begins with a dot belongs to the channel, any other is shared.
Keys of parts, points, adjustments and stages get the channel's letter appended (`R11` gives `R11L`, `R11R`),
a reference `.V2` becomes `V2L`, a node `.k` becomes `k.L`, and names and places for the screen get
the channel's name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from benchtui.buildfile.problems import Finding, Path, suggestion

#: Tables that may stand under [each...].
TABLES = frozenset({
    "transformer", "output_transformer", "resistor", "thermistor", "link", "load", "capacitor", "choke",
    "fuse", "diode", "zener", "transistor", "fet", "pot", "switch", "input", "heater", "valve", "adjust",
    "point", "stage",
})  # fmt: skip

#: Fields that hold nodes, and fields that hold references (a test compares them with the models).
NODE_FIELDS = frozenset({"nodes", "anodes", "ht", "secondary", "pins", "red", "black"})
REFERENCE_FIELDS = frozenset({
    "stage", "stages", "open_in", "after", "valve", "valves_out", "fuses_out", "pot", "point", "watch",
    "model", "matched", "socket",
})  # fmt: skip
_MOST_CHANNELS = 8
_MOST_EACH = 500
# Names that a part gives itself, as its key does.
_OWN_NAME_FIELDS = frozenset({"sections"})
_TITLE_FIELDS = frozenset({"name", "title", "red_at", "black_at"})


@dataclass(frozen=True)
class Expanded:
    """A file's tables with the channels written out, where each path stood, and what can't be written out."""

    data: dict[str, Any]
    origin: Mapping[Path, Path]
    """Path of an expanded entry -> its path under `each`; what is not here stands where it says."""
    findings: tuple[Finding, ...]

    def written_at(self, path: Path) -> Path:
        """The path in the file that `path` of the expanded data comes from."""
        for length in (4, 2):
            start = self.origin.get(path[:length])
            if start is not None:
                return (*start, *path[length:])
        return path


def expand(data: Mapping[str, Any]) -> Expanded:
    """`data` without `each`, its entries written out for each channel."""
    shared = {key: dict(value) if isinstance(value, dict) else value for key, value in data.items() if key != "each"}
    origin: dict[Path, Path] = {}
    findings = list(_findings(data))
    if not findings:
        for table, entries in data.get("each", {}).items():
            for letter, channel in data["channels"].items():
                for key, entry in entries.items():
                    path, source = (table, key + letter), ("each", table, key)
                    target = shared.setdefault(table, {})
                    if not isinstance(target, dict) or path[1] in target:
                        findings.append(_collision(path, source))
                        continue
                    target[path[1]] = _entry(entry, letter, channel)
                    origin[path] = source
                    origin.update(_windings(path, source, entry, letter))
    return Expanded(shared, origin, tuple(findings))


def _findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    if "each" not in data:
        return
    each = data["each"]
    if not _are_channels(data.get("channels")):
        right = 'write [channels], such as L = "left", R = "right"'
        yield Finding(("each",), f"needs 1 to {_MOST_CHANNELS} named channels", right)
    if not isinstance(each, dict):
        yield Finding(("each",), "is no table", "write tables such as [each.resistor]")
        return
    for table, entries in each.items():
        if table not in TABLES:
            wrong = "can't be written once for each channel"
            yield Finding(("each", table), wrong, suggestion(table, sorted(TABLES)))
        elif not isinstance(entries, dict):
            yield Finding(("each", table), "is no table", f"write [each.{table}]")
        elif "" in entries:
            yield Finding(("each", table, ""), "is empty", "a name is wanted")
    count = sum(len(entries) for entries in each.values() if isinstance(entries, dict))
    if count > _MOST_EACH:
        yield Finding(("each",), f"holds {count} entries", f"at most {_MOST_EACH} are wanted")


def _are_channels(channels: object) -> bool:
    if not isinstance(channels, dict) or not 1 <= len(channels) <= _MOST_CHANNELS:
        return False
    return all(isinstance(name, str) for name in channels.values())


def _collision(path: Path, source: Path) -> Finding:
    wrong = f"gives {path[1]}, which is there already"
    return Finding(source, wrong, "another name is wanted", other=path)


def _entry(entry: object, letter: str, channel: str) -> object:
    """One entry as the channel `letter` has it."""
    if not isinstance(entry, dict):
        return entry
    return {key: _field(key, value, letter, channel) for key, value in entry.items()}


def _field(key: str, value: Any, letter: str, channel: str) -> Any:
    if key in NODE_FIELDS:
        return _each_text(value, lambda text: _node(text, letter))
    if key in REFERENCE_FIELDS:
        return _each_text(value, lambda text: _reference(text, letter))
    if key in _OWN_NAME_FIELDS:
        return _each_text(value, lambda text: _own(text, letter))
    if key in _TITLE_FIELDS and isinstance(value, str) and value:
        return f"{value}, {channel}"
    if key == "windings" and isinstance(value, dict):
        return {_own(name, letter): _entry(winding, letter, channel) for name, winding in value.items()}
    return _entry(value, letter, channel)


def _own(name: str, letter: str) -> str:
    """`T1` as `T1L`; an empty name stays one, and is refused as that."""
    return name + letter if name else name


def _each_text(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list):
        return [_each_text(item, change) for item in value]
    if isinstance(value, dict):
        return {key: _each_text(item, change) for key, item in value.items()}
    return value


def _node(text: str, letter: str) -> str:
    return f"{text[1:]}.{letter}" if text.startswith(".") else text


def _reference(text: str, letter: str) -> str:
    """`.V2` as `V2L`, and a socket's `.V2.8` as `V2L.8`."""
    if not text.startswith("."):
        return text
    name, dot, pin = text[1:].partition(".")
    return f"{name}{letter}{dot}{pin}"


def _windings(path: Path, source: Path, entry: object, letter: str) -> dict[Path, Path]:
    windings = entry.get("windings") if isinstance(entry, dict) else None
    if not isinstance(windings, dict):
        return {}
    return {(*path, "windings", _own(key, letter)): (*source, "windings", key) for key in windings}
