"""How often the right part is named by what is read with a signal, of faults that no direct volts show.

    python -m tests.diagnosis.silent pp-6v6 5 40

takes faults of the signal stage at random, plants each in the build that the rehearsal draws by the seed (5), and keeps
those whose volts lie inside the windows of `driver` and `signal` while a reading with a small signal does not, until it
has so many (40). Some minutes.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from random import Random

from benchtui.buildfile.models import Build
from benchtui.diagnosis.answer import Ranked, considering, ranked
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.with_signal import weigh_signal
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.given import Given, StageReadings
from benchtui.forecast.signal import expect_signal
from benchtui.forecast.signal_points import signal_points
from benchtui.rehearsal.amplifier import powered_circuit, state_of
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Amplifier, Outlet, Planted, Powered, Signal
from benchtui.session.suspects import SMALL
from benchtui.verdicts.expectation import Expectation
from tests.builds.recorded import build

STAGES = ("driver", "signal")


class Bench:
    """A build on the mains of a rehearsal, with the windows of its stages."""

    def __init__(self, name: str, seed: int) -> None:
        self.build, self.seed = build(name).build, seed
        self.mains_v = round(answer(self.build, Outlet(seed)), 1)
        told = expect_signal(self.build, "signal", mains_v=self.mains_v)
        self.settings, self.signal = told.settings, {each.point: each for each in told.expectations}
        self.direct = {
            stage: {e.point: e for e in expect_powered(self.build, stage, mains_v=self.mains_v).expectations}
            for stage in STAGES
        }

    def faults(self) -> list[Fault]:
        """Those that the rehearsal can plant."""
        of = Amplifier(self.seed)
        circuit = powered_circuit(self.build, of, state_of(self.build, of, "signal"))
        return [fault for fault in faults(self.build, circuit) if not any(change.pins for change in fault.changes)]

    def silent(self, rng: Random) -> Iterator[tuple[Fault, dict[str, dict[str, float]], dict[str, float]]]:
        """Faults with their direct readings by stage and those with a signal, where those alone are off."""
        found = self.faults()
        rng.shuffle(found)
        for fault in found:
            of = Amplifier(self.seed, Planted(*fault.id, rng.randrange(len(fault.changes))))
            direct = {stage: _direct(self.build, of, stage) for stage in STAGES}
            if any(_off(self.direct[stage], direct[stage]) for stage in STAGES):
                continue
            signal = self._signal(of)
            if _off(self.signal, signal):
                yield fault, direct, signal

    def _signal(self, of: Amplifier) -> dict[str, float]:
        points = [point.id for point in signal_points(self.build, "signal") if point.what in SMALL]
        asked = ((id, Signal(Powered(of, "signal"), id, self.settings[id].input_v)) for id in points)
        return {id: value for id, each in asked if (value := answer(self.build, each)) is not None}

    def ranked(self, direct: dict[str, dict[str, float]], signal: dict[str, float]) -> list[Ranked]:
        earlier = {"driver": StageReadings(self.mains_v, direct["driver"])}
        given = Given("signal", self.mains_v, direct["signal"], earlier)
        table, evidence, weighed = considering(self.build, given, fuses_seen=False, thorough=False)
        return list(ranked(table, evidence, weigh_signal(table, weighed, self.mains_v, signal)))


def _direct(build: Build, of: Amplifier, stage: str) -> dict[str, float]:
    found = answer(build, Powered(of, stage))
    return {id: value for id, value in found.points if stage in build.point[id].stages}


def _off(windows: dict[str, Expectation], read: dict[str, float]) -> bool:
    return any(not windows[id].low <= value <= windows[id].high for id, value in read.items() if id in windows)


def main(name: str, seed: int, most: int) -> None:
    """Print each fault with its rank, then how many were first and among three."""
    bench, ranks = Bench(name, seed), []
    for fault, direct, signal in bench.silent(Random(1)):
        found = bench.ranked(direct, signal)
        ranks.append(next(k for k, each in enumerate(found) if each.part == fault.part))
        print(
            f"{ranks[-1] + 1:3}  {fault.says}; first: {100.0 * found[0].probability:.0f} % {found[0].says}", flush=True
        )
        if len(ranks) == most:
            break
    first, three = (sum(rank < best for rank in ranks) for best in (1, 3))
    print(f"{len(ranks)} faults: the right part first {first}, among three {three}")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
