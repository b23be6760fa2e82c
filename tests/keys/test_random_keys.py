"""A random walk over the keys of the app breaks no rule, and would be caught if it did.

A walk that breaks one names its build and seed, and is walked again by itself with

    python -m tests.keys BUILD SEED [KEYS]

(with BENCHTUI_LONG set, if it was then).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import mkdtemp
from unittest.mock import patch

import pytest

from benchtui.procedure.guards import GUARDS, Guard
from benchtui.procedure.taken_back import EFFECTS
from benchtui.session.ledger import Ledger
from benchtui.tui.hands import Line
from tests.keys.forecasts import AsWalked
from tests.keys.places import Place, places
from tests.keys.walker import Kind, Walk
from tests.keys.watcher import Violation
from tests.record.counts import count
from tests.walk.forecasts import shared_folder
from tests.walk.readings import DEMOS

#: Keys of one walk, without those that are poured in: few enough to be looked through by hand.
KEYS = 850


@dataclass
class Ground:
    """Forecasts of the demo builds, and the places of each from which walks begin."""

    forecasts: AsWalked
    folder: Path
    _places: dict[str, list[Place]] = field(default_factory=dict)

    def places(self, name: str) -> list[Place]:
        if name not in self._places:
            folder = self.folder / f"whole {name}"
            folder.mkdir()
            self._places[name] = places(name, folder, self.forecasts)
        return self._places[name]

    def walk(self, name: str, seed: int, where: str = "", kind: Kind | None = None) -> Walk:
        """The walk of this seed, from places whose words begin with `where`."""
        some = [place for place in self.places(name) if place.where.startswith(where)]
        return Walk(name, Path(mkdtemp(dir=self.folder)), self.forecasts, seed, some, kind)


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Ground:
    return Ground(AsWalked(shared_folder(tmp_path_factory)), tmp_path_factory.mktemp("keys"))


@pytest.mark.parametrize("name", count(short=DEMOS[:1], full=DEMOS))
async def test_whatever_keys_are_struck_no_rule_is_broken(name: str, ground: Ground) -> None:
    keys: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    starts, seed, shown = 0, 0, set()
    while keys.total() < 2_500 or keys["hand"] + keys["held"] < count(short=2_000, full=67_000):
        walk = ground.walk(name, seed)
        await walk.go(KEYS)
        keys.update(walk.keys)
        kinds.update(walk.watcher.counts)
        starts, seed = starts + walk.starts, seed + 1
        shown |= {told.rpartition(": ")[2] for told in walk.reached}
    print(f"\n{name}: {seed} walks, {dict(keys)}, {starts} starts, {dict(kinds)}")
    assert kinds["hands in"] >= 6 and kinds["power on"] >= 3 and kinds["stop key"] >= 5 and starts >= 8
    assert {"ASSUME LIVE", "DEAD AS MEASURED", "CLOSING", "LIVE", "LIVE, LIMITED"} <= shown


#: Guards of the procedure that are switched off, and where in the work a walk then begins.
GUARDED = {
    "plug_out": "HT off load, gate", "meter_proved": "HT off load, gate", "mains_dead": "HT off load, gate",
    "wait_over": "HT off load, gate", "round_2": "HT off load, gate", "links_on": "HT off load, gate",
    "clip_time": "HT off load, gate", "meter_again": "HT off load, gate", "clip_taken_off": "Heaters, close",
    "chassis_clear": "Heaters, close",
}  # fmt: skip


def _by_hand(line: Line, key: str, at: float) -> str:
    """What a field without a watch on hands would say of a key."""
    return "taken"


#: Parts of the app that are broken, by what each of them is there for.
BROKEN = {
    "a paste is no typing": lambda: patch.object(Line, "poured", lambda line: None),
    "a machine's keys are no typing": lambda: patch.object(Line, "judge", _by_hand),
    "STOP tells what to do": lambda: patch.object(Ledger, "_power_off_after", lambda ledger, event: ()),
    "saved is what is on the disk": lambda: patch.object(
        Ledger, "saved", property(lambda ledger: len(ledger._journal.events) + 1)
    ),
    "STOP empties the gate": lambda: patch.dict(EFFECTS, {"drop_gate": lambda plan, state, event: state}),
}


async def caught(ground: Ground, where: str, begun: Callable[[], object], kind: Kind) -> str:
    """The rule that walks on the broken program are found to break, within the keys of the walk above."""
    left = 5_000
    for seed in range(100):
        walk = ground.walk("pp-6v6", seed, where, kind)
        with begun():  # type: ignore[attr-defined]
            try:
                await walk.go(min(KEYS, left))
            except Violation as violation:
                return str(violation).splitlines()[0]
        left -= walk.struck
        if left <= 0:
            break
    return ""


@pytest.mark.parametrize("name", list(GUARDED)[:: count(short=2, full=1)])
async def test_a_guard_that_is_off_is_found_by_a_walk(name: str, ground: Ground) -> None:
    off = Guard(lambda plan, state, event: True, "")
    rule = await caught(ground, GUARDED[name], lambda: patch.dict(GUARDS, {name: off}), Kind(wild=0.1))
    assert "recorded without: " in rule


@pytest.mark.parametrize("what", BROKEN)
async def test_a_broken_part_of_the_app_is_found_by_a_walk(what: str, ground: Ground) -> None:
    rule = await caught(ground, "HT off load, gate", BROKEN[what], Kind(wild=3.0))
    assert rule and "lost" not in rule and "hung" not in rule
