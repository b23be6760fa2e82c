"""Amplifiers with a fault, walked through the app: each ends in a warn or a stop at a reading that shows the fault.

The readings of the faulty stage are those of the reference amplifiers' fault records, by a general circuit simulator;
`outside` there names the readings that no sound build gives. Everything before that stage is the nominal amplifier; the
faulty one has other parts, so the build file is changed in between and what was read before narrows no window.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from benchtui.buildfile.stages import stages
from tests.record.counts import count
from tests.reference import amplifiers
from tests.screens.keys import opened
from tests.walk.app_walk import AppWalk, Step
from tests.walk.benches import Bench, bench
from tests.walk.forecasts import Remembering
from tests.walk.readings import reference_volts
from tests.walk.walking import walk

#: Where a stage is complete, with warns or without.
ENDS = ("HT before power-down", "Switch off", "Stage complete")

REASON = "to see what the others read"


@dataclass(frozen=True)
class Fault:
    """A fault record by amplifier and case; the point that raises the first alarm, and how it all ends."""

    amplifier: str
    case: int
    stage: str
    part: str
    first: str
    ends: str
    dead_pots: bool = False

    @property
    def record(self) -> dict[str, Any]:
        found = next(record for record in amplifiers.faults(self.amplifier) if record["case"] == self.case)
        assert (found["stage"], found["part"]) == (self.stage, self.part)
        return found


FAULTS = (
    # one half of the rectifier dead: once a cycle instead of twice, so twice the ripple
    Fault("a", 48, "supply", "V4b", "bp1_ripple", "warn"),
    # a cathode resistor open: one of two valves draws nothing, so the HT is high; its cathode then past a rating
    Fault("a", 13, "output", "R11", "bp1", "stop"),
    # a smoothing capacitor open: forty times the ripple behind the choke
    Fault("c", 1, "output", "C2", "bp2_ripple", "warn"),
    # a coupling capacitor shorted: the next grid stands at the anode before it
    Fault("c", 10, "driver", "C22", "v2b_plate", "warn"),
    # the bias rectifier backwards: the grids are positive, seen while the bias is trimmed
    Fault("c", 88, "driver", "D5", "v3_cathode", "stop", dead_pots=True),
)


#: Those of every run: a stop and a warn.
SOME = count(short=FAULTS[:2], full=FAULTS)


def faulty(fault: Fault, folder: Path, forecasts: Remembering) -> Bench:
    """The amplifier walked up to its faulty stage, at session level; the record is closed."""
    volts = dict(reference_volts(fault.amplifier)) | {fault.stage: fault.record["readings"]}
    made = bench(fault.amplifier, folder, forecasts, volts)
    rig = made.builder.rig
    title = next(info.title for info in stages(rig.build) if info.id == fault.stage)
    session = made.session()
    walk(session, made.builder, made.clock, until=lambda view: view.stage == title)
    session.leave()
    with made.path.open("a", encoding="utf-8") as file:
        file.write("# other parts from here on\n")
    session = made.session()
    session.answer(session.view().prompt.number, "keep")
    session.leave()
    rig.mains_v, rig.dead_pots, made.builder.reason = fault.record["mains_v"], fault.dead_pots, REASON
    return made


def alarms(steps: list[Step], ids: dict[str, str]) -> list[tuple[str, str]]:
    """(verdict, point) of every warn and stop, in order; a trim's point is named in its lines."""
    found = []
    for step in steps:
        banner = step.after.banner
        kind = "stop" if step.after.power_off else banner.kind if banner else ""
        if kind in ("warn", "stop"):
            trimmed = step.before.prompt.lines[0].removeprefix("Read ").split(":")[0]
            found.append((kind, ids.get(step.before.prompt.title) or ids[trimmed]))
    return found


@pytest.mark.parametrize("fault", SOME, ids=lambda fault: f"{fault.amplifier}-{fault.part}")
async def test_a_fault_is_told_at_a_reading_that_shows_it(fault: Fault, forecasts: Remembering, tmp_path: Path) -> None:
    made = faulty(fault, tmp_path, forecasts)
    points = made.builder.rig.build.point
    session = made.session()
    async with opened(session) as hands:
        walk_ = AppWalk(hands, made.builder, made.clock)
        steps = await walk_.go(until=lambda view: bool(view.power_off) or view.prompt.title in ENDS)
        told = alarms(steps, {points[id].name: id for id in fault.record["readings"]})
        assert told[0][1] == fault.first, told
        assert told[-1][0] == fault.ends, told
        assert {id for _, id in told} & set(fault.record["outside"])
        for step in steps:
            assert not step.after.banner or step.after.banner.kind != "warn" or "WARN" in step.screen
        if fault.ends == "stop":
            assert "Mains off. Pull the plug." in steps[-1].screen
            await walk_.go(until=lambda view: view.prompt.title == "Prove the meter on DC")
            assert "ASSUME LIVE" in hands.text()
        else:
            marks = {mark.id: mark.state for mark in session.view().stages}
            assert marks[fault.stage] != "passed"
    session.leave()


@pytest.mark.parametrize("fault", FAULTS[:1], ids=["a-V4b"])
def test_a_stage_with_an_accepted_warn_is_never_shown_as_passed(
    fault: Fault, forecasts: Remembering, tmp_path: Path
) -> None:
    made = faulty(fault, tmp_path, forecasts)
    session = made.session()
    walk(session, made.builder, made.clock, until=lambda view: view.stage == "Output valves, no signal")
    marks = {mark.id: mark.state for mark in session.view().stages}
    assert marks["supply"] == "passed with warns"
    assert any(REASON in line for line in session.explain("supply"))
    session.leave()
