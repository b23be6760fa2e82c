"""A finished demo build stops working, is looked into, mended and finished again, with readings of a weak valve."""

from __future__ import annotations

from pathlib import Path

from benchtui.session.session import Session
from benchtui.session.view import View
from tests.session.made_up import Desk
from tests.walk import readings
from tests.walk.benches import Bench, bench
from tests.walk.forecasts import Remembering
from tests.walk.walking import compute, walk

#: What a weak V2 does to what is read: it draws half its current, so that the HT is a little higher.
WEAK = {"v2_cathode": 0.5, "ht": 1.03, "reservoir": 1.02}


def finished(folder: Path, forecasts: Remembering) -> Bench:
    """The build brought up, with made-up readings; its last stage is read at all points of the one before too."""
    made = bench("pp-6v6", folder, forecasts, readings.whole_volts("pp-6v6"))
    desk = Desk(made.path, folder)
    desk.till(lambda view: False)
    desk.drop()
    made.clock = made.builder.rig.clock = desk.clock
    return made


def types(session: Session, text: str) -> View:
    compute(session)
    return session.answer(session.view().prompt.number, text)


def warned(view: View) -> bool:
    return view.banner is not None and view.banner.kind == "warn"


def test_a_weak_valve_is_found_replaced_and_what_it_moves_is_read_again(forecasts: Remembering, tmp_path: Path) -> None:
    made = finished(tmp_path, forecasts)
    rig, builder = made.builder.rig, made.builder
    sound = dict(rig.volts["signal"])
    rig.volts["signal"].update({id: share * sound[id] for id, share in WEAK.items()})  # type: ignore[attr-defined]

    session = made.session()
    assert session.view().prompt.words == ("stopped", "checkup")
    assert types(session, "stopped").danger.word == "ASSUME LIVE"
    begun = session.view().saved
    trail = walk(session, builder, made.clock, until=warned)
    titles = [before.prompt.title for before, _, _ in trail.taken]
    assert titles.index("Hands in") < titles.index("Grid of V2 to chassis") < titles.index("What was it?")
    assert titles.index("HT, limited") < titles.index("Full mains") < titles.index(trail.taken[-1][0].prompt.title)
    assert trail.taken[-1][0].prompt.title == "Cathode of V2"

    session._journal.close()  # the program is killed here
    session = made.session()
    assert session.view().stage == "Signal, repair 1"
    builder.cause = "V2 weak, replaced"
    walk(session, builder, made.clock, until=lambda view: view.prompt.title == "What is read again")
    assert "of 49 readings are made again; the others can't be moved by V2" in " ".join(session.view().prompt.lines)
    rig.volts["signal"].update(sound)  # type: ignore[attr-defined]
    trail = walk(session, builder, made.clock)
    again = [before.prompt.title for before, _, _ in trail.taken if before.step in ("inspect", "read")]
    assert {"Cathode of V2 to chassis", "Cathode of V2", "Cathode of V3", "HT"} <= set(again)
    assert not {"Dropper to V1", "Grid of V3", "HT winding, first half"} & set(again)
    ended = next(before.prompt for before, typed, _ in trail.taken if typed == "finished")
    assert "Repair 1: V2 weak, replaced; 33 of 49" in " ".join(ended.lines)
    assert session.view().prompt.title == "Finished"
    told = [line.text for line in session.log(session.view().saved - begun + 1)]
    assert told[0] == "stopped working: repair 1" and "found: V2 weak, replaced" in told
    assert any(line.startswith("replaced: V2; ") for line in told)
    session.leave()
