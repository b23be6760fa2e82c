"""The table of every single fault of a stage beside one ngspice run of it, and the answer to a new reading.

    BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_diagnosis_times.py

All stages of amplifier A, and the demo builds' output stages.
ngspice runs until the supply has settled, as for the readings of the demo builds.
"""

from __future__ import annotations

import time
from statistics import median

import pytest

from benchtui.buildfile.models import Build
from benchtui.diagnosis.answer import considering, ranked, stage_table
from benchtui.diagnosis.cold import cold_table
from benchtui.diagnosis.further import next_reading
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.given import Given
from tests.builds import recorded, spice
from tests.builds.deck import moment
from tests.reference import amplifiers

DEMOS = (("pp-6v6", "output"), ("pp-el34", "output"), ("se-stereo", "output"))
STAGES = (*(("a", s) for s in ("supply", "output", "driver")), *DEMOS)


@pytest.mark.spice
@pytest.mark.parametrize(("name", "stage"), STAGES)
def test_a_table_beside_one_run_of_ngspice(name: str, stage: str) -> None:
    build = (amplifiers.build if name in amplifiers.NAMES else recorded.build)(name).build
    begin = time.perf_counter()
    spice.settled(build, moment(build, stage))
    ngspice_s = time.perf_counter() - begin
    begin = time.perf_counter()
    table = stage_table(build, Given(stage, build.mains.volts, {}))
    table_s = time.perf_counter() - begin
    begin = time.perf_counter()
    cold_table(build, stage)
    cold_s = time.perf_counter() - begin
    answers = _answers(build, stage)
    assert len(table.faults) > 50 and answers
    print(
        f"\n{name} {stage}: {len(table.faults)} faults in {len(table.of)} cases, {table_s:.1f} s, "
        f"{table_s / ngspice_s:.1f} times one run of ngspice ({ngspice_s:.1f} s); ohms of all of them {cold_s:.1f} s; "
        f"an answer with its next reading {1e3 * median(answers):.0f} ms, {1e3 * max(answers):.0f} at most"
    )


def _answers(build: Build, stage: str) -> list[float]:
    """Seconds from one more reading to the answer, with each point of the stage half of what it should be."""
    nominal = {e.point: e.nominal for e in expect_powered(build, stage, mains_v=build.mains.volts).expectations}
    found = []
    for name, value in nominal.items():
        given = Given(stage, build.mains.volts, nominal | {name: 0.5 * value})
        begin = time.perf_counter()
        considered = considering(build, given, thorough=False)
        assert ranked(*considered)
        next_reading(*considered, with_exchanges=False)
        found.append(time.perf_counter() - begin)
    return found
