"""The whole bring-up of every build at session level, with readings from outside the engine.

Demo builds read as ngspice says, the reference amplifiers as their own readings say. Nothing here looks at a gate's
own flags: what was typed before hands went in is taken from the record.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.forecast.clip import clips_on
from benchtui.forecast.review import review
from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import WINDING, Plan, links_due
from benchtui.procedure.state import Gate, State
from benchtui.record import Event, Journal
from benchtui.session.planning import plan
from benchtui.session.view import View
from tests.builds import recorded
from tests.record.counts import count
from tests.reference.amplifiers import NAMES
from tests.walk import readings
from tests.walk.benches import Bench, around, bench
from tests.walk.builder import node_at
from tests.walk.display import value_of
from tests.walk.forecasts import Remembering
from tests.walk.readings import DEMOS
from tests.walk.walking import Trail, walk

#: On every run one amplifier with fixed bias and one without; the first demo build is walked through the app as well.
ALL = count(short=(NAMES[1], NAMES[0]), full=(*DEMOS, *NAMES))

#: Links that each demo build has on at most.
LINKS = {"pp-6v6": 2, "pp-el34": 5, "se-stereo": 5}

#: What a builder with sound parts and steady hands never sees in the record.
TROUBLE = frozenset({
    "reading warned", "reading stopped", "reading doubted", "warn accepted", "refused", "meter bad", "ht not fallen",
    "mains live", "reservoir too soon", "reservoir high", "bled", "look failed", "rail high", "ohms bad", "clip found",
    "limiter bad", "limiter dark", "reading nothing", "stop key", "disturbed", "restarted",
})  # fmt: skip

#: What must have been typed before hands go in, in this order; each group holds what serves alike.
FULL_GATE = (
    {"plug out"}, {"meter good", "ht fallen"}, {"meter good"}, {"mains dead"}, {"reservoir low"}, {"reservoir low"},
    {"clip on"}, {"meter good"}, {"meter good"},
)  # fmt: skip
SHORT_GATE = ({"no lead"}, {"meter good"}, {"reservoir low"}, {"meter good"})


@dataclass(frozen=True)
class Walked:
    """A walk from the first prompt to the last, with the state after each answer by the event saved last."""

    bench: Bench
    trail: Trail
    last: View
    states: dict[int, State]
    plan: Plan
    events: tuple[Event, ...]

    @property
    def build(self) -> Build:
        return self.bench.builder.rig.build

    def kinds(self) -> list[str]:
        return [event.kind for event in self.events]

    @property
    def soak(self) -> list[list[str]]:
        """Points that are read again in each round of a soak after its first; empty for a build without a soak."""
        phase = self.plan.phases[-1]
        return [[point.id for point in phase.points] for _ in (phase.soak.marks_s[1:] if phase.soak else ())]


@pytest.fixture(scope="module")
def walked(forecasts: Remembering, tmp_path_factory: pytest.TempPathFactory):
    """The walk of a build by its name, walked once."""

    @cache
    def whole(name: str) -> Walked:
        made = bench(name, tmp_path_factory.mktemp(name), forecasts)
        session = made.session()
        states: dict[int, State] = {}

        def note(view: View) -> bool:
            states[view.saved] = session._ledger.state  # what the screens never see: the state itself
            return False

        trail = walk(session, made.builder, made.clock, until=note)
        last = session.view()
        note(last)
        session.leave()
        with Journal.open(made.record) as journal:
            events = tuple(journal.events)
        return Walked(made, trail, last, states, session._ledger.plan, events)

    return whole


def decoded(events: tuple[Event, ...]) -> Iterator[tuple[int, e.Event]]:
    """The procedure's own events with their numbers."""
    return ((event.n, codec.decode(event.kind, event.data)) for event in events if event.kind in codec.KINDS)


@pytest.mark.parametrize("name", ALL)
def test_every_verdict_is_pass_or_not_measured_where_no_instrument_is_owned(name: str, walked) -> None:
    walk_ = walked(name)
    assert not TROUBLE & set(walk_.kinds())
    read = [event for _, event in decoded(walk_.events) if isinstance(event, e.PointRead)]
    assert [event.point for event in read].count(WINDING) == bool(walk_.soak)
    read = [event for event in read if event.point != WINDING]
    due = [id for id, point in walk_.build.point.items() for _ in point.stages]
    due += [id for rounds in walk_.soak for id in rounds]
    due += [point.id for phase in walk_.plan.phases for point in phase.points if point.computed]
    assert sorted(event.point for event in read if isinstance(event, e.PointPassed | e.PointUnproved)) == sorted(due)
    unproved = {event.point for event in read if isinstance(event, e.PointUnproved)}
    assert unproved == unowned(walk_.build) and not unproved & {
        event.point for event in read if isinstance(event, e.PointPassed)
    }
    assert not walk_.trail.banners("warn", "stop", "question", "refused")


def unowned(build: Build) -> set[str]:
    """Points that take an instrument which the build's bench does not list."""
    owned = {"bond": build.bench.bond_tester, "insulation": build.bench.insulation_tester is not None}
    return {id for id, point in build.point.items() if not owned.get(point.guards or "", True)}


@pytest.mark.parametrize("name", ALL)
def test_the_walk_ends_at_sign_off_with_every_stage_passed(name: str, walked) -> None:
    walk_ = walked(name)
    assert walk_.last.prompt.title == "Finished"
    assert [mark.id for mark in walk_.last.stages][-1] == "signoff"
    open_ = {stage for id in unowned(walk_.build) for stage in walk_.build.point[id].stages}
    for mark in walk_.last.stages:
        assert mark.state == ("not all measured" if mark.id in open_ else "passed")
    listed = "; ".join(walk_.last.unmeasured)
    assert all(walk_.build.point[id].name in listed for id in unowned(walk_.build))
    assert walk_.kinds()[-1] == ("finished shut" if walk_.soak else "finished")


@pytest.mark.parametrize("name", ALL)
def test_hands_go_in_only_after_everything_at_the_gate_was_typed(name: str, walked) -> None:
    since: list[str] = []
    went_in = 0
    for kind in walked(name).kinds():
        if kind in ("power on", "hands out", "next closing", "next gate"):
            since = []
        elif kind == "hands in":
            went_in += 1
            assert in_order(FULL_GATE, since) or (went_in == 1 and in_order(SHORT_GATE, since)), since
        else:
            since.append(kind)
    powered = sum(kind == "power on" for kind in walked(name).kinds())
    assert went_in == powered if walked(name).soak else went_in > powered, "a soak ends unopened"


def in_order(wanted: tuple[set[str], ...], kinds: list[str]) -> bool:
    """Does something of each group stand in `kinds`, one after the other?"""
    rest = iter(kinds)
    return all(any(kind in group for kind in rest) for group in wanted)


@pytest.mark.parametrize("name", ALL)
def test_danger_is_told_as_the_power_goes_on_and_off(name: str, walked) -> None:
    """By what was typed: live from 'power on' to 'off', dead as measured only with hands in or at the end."""
    for before, typed, after in walked(name).trail.taken:
        if before.prompt.title == "First power":
            assert after.danger.word in ("LIVE", "LIVE, LIMITED")
        if before.prompt.title == "Hands in":
            assert after.danger.word == "DEAD AS MEASURED" and after.danger.level == "calm"
        if before.step == "gate" and before.danger.word != "BARE" and typed not in ("in", "finished", "bare"):
            assert after.danger.word == "ASSUME LIVE" and after.danger.level == "danger"


@pytest.mark.parametrize("name", ALL)
def test_every_beginning_of_the_record_replays_to_the_state_that_was(name: str, walked) -> None:
    """With the plan of a fresh start, nothing forecast yet; a restart empties the gate on both sides."""
    walk_ = walked(name)
    fresh = plan(walk_.build, {})
    replayed, compared = State(), 0
    for number, event in decoded(walk_.events):
        replayed = fold(fresh, replayed, event)
        if number in walk_.states:
            live = walk_.states[number]
            assert restarted(fresh, replayed) == restarted(walk_.plan, live), f"after event {number}"
            compared += 1
    assert compared >= len(walk_.states) - 1


def restarted(by: Plan, state: State) -> State:
    """`state` after a restart, without the gate (it asks all anew, or nothing at the end) and what no record holds."""
    after = fold(by, state, e.Restarted())
    return after._replace(gate=Gate(), hands_s=0.0, full_s=0.0, winding=after.winding._replace(off_s=None))


@pytest.mark.parametrize("name", ALL)
def test_opened_anew_the_build_is_finished_still(name: str, walked) -> None:
    walk_ = walked(name)
    session = walk_.bench.session()
    again = session.view()
    session.leave()
    assert again.prompt.title == "Finished"
    assert again.stages == walk_.last.stages
    assert walk_.last.danger.word == ("ASSUME LIVE" if walk_.soak else "DEAD AS MEASURED")
    assert again.danger.word == "ASSUME LIVE" and "nothing is known since" in again.danger.detail


def test_while_a_pot_is_trimmed_lines_and_picture_want_the_same(walked) -> None:
    trims = [before.prompt for before, _, _ in walked("c").trail.taken if before.prompt.title.startswith("Trim ")]
    assert len(trims) > 5
    for prompt in trims:
        said = re.search(r": (\S+ \S+) wanted, (\S+ \S+) to (\S+ \S+) will do", prompt.lines[0])
        assert said and prompt.scale
        wanted = [prompt.scale.nominal, prompt.scale.low, prompt.scale.high]
        assert [value_of(text) for text in said.groups()] == pytest.approx(wanted, rel=0.005)


def test_the_clip_taken_off_before_power_is_no_alarm(walked) -> None:
    titles = ("Clip off", "Clip and links off")
    taken = [after for before, _, after in walked(ALL[0]).trail.taken if before.prompt.title in titles]
    assert len(taken) == walked(ALL[0]).kinds().count("power on") > 5
    assert all(after.banner is None and after.danger.word == "CLOSING" for after in taken)


def test_a_build_whose_bleeders_are_open_gets_through_every_gate_by_bleeding(
    forecasts: Remembering, tmp_path: Path
) -> None:
    made = bench("pp-6v6", tmp_path, forecasts, bleeders=False)
    session = made.session()
    trail = walk(session, made.builder, made.clock)
    session.leave()
    with Journal.open(made.record) as journal:
        kinds = [event.kind for event in journal.events]
    assert "reservoir high" in kinds and kinds.count("bled") >= 3
    assert all("charged" in said or "wrong plug" in said for said in trail.banners("stop"))
    assert kinds[-1] == "finished shut"


@pytest.mark.parametrize("name", ALL)
def test_every_capacitor_of_a_reservoir_is_read_on_the_bench_before_it_is_fitted(name: str, walked) -> None:
    """Everything that any gate of the walk listed as a part of a reservoir, and no coupling or small bypass."""
    walk_ = walked(name)
    read = [event.id for _, event in decoded(walk_.events) if isinstance(event, e.CapacitorLow)]
    gates = [phase.reservoirs for phase in walk_.plan.phases if phase.kind == "power"]
    grouped = {id for listed in gates for reservoir in listed for id in re.findall(r"\bC\w+", reservoir.name)}
    assert set(read) == grouped & set(walk_.build.capacitor) and len(read) == len(set(read))
    small = {id for id, part in walk_.build.capacitor.items() if part.value * part.volts**2 / 2 < 0.05}
    assert read and not small & set(read)


def test_salvaged_capacitors_that_arrive_charged_are_discharged_and_read_again(
    forecasts: Remembering, tmp_path: Path
) -> None:
    made = bench("pp-6v6", tmp_path, forecasts, salvaged={"C2": 310.0, "C3": -14.0})
    session = made.session()
    trail = walk(session, made.builder, made.clock, until=lambda view: view.step == "close" and "HT" in view.stage)
    session.leave()
    with Journal.open(made.record) as journal:
        told = [(event.kind, event.data["id"]) for event in journal.events if event.kind.startswith("capacitor")]
    assert told == [
        ("capacitor low", "C1"), ("capacitor high", "C2"), ("capacitor low", "C2"), ("capacitor high", "C3"),
        ("capacitor low", "C3"),
    ]  # fmt: skip
    about = [after for before, _, after in trail.taken if "C2" in before.prompt.title]
    assert about and all(after.danger.word == "DEAD AS MEASURED" for after in about)


@pytest.mark.parametrize("name", ALL)
def test_only_a_build_that_is_past_a_rating_asks_for_a_decision_before_each_first_power(name: str, walked) -> None:
    """Reference amplifier C: its screens stand half a volt above their rating at the highest mains."""
    powered = [phase.id for phase in walked(name).plan.phases if phase.kind == "power"]
    decided = [event.phase for _, event in decoded(walked(name).events) if isinstance(event, e.Overruled)]
    assert decided == (powered if name == "c" else [])
    for before, _, _ in walked(name).trail.taken:
        if before.prompt.title == "The ratings review objects":
            assert "V3 screen volts" in before.prompt.lines[0] and before.danger.word == "CLOSING"


@pytest.mark.parametrize("name", ALL)
def test_the_clip_is_asked_for_where_the_ohms_are_computed_with_it(name: str, walked) -> None:
    """Also in the first hands after heaters alone, where no reservoir is fitted yet."""
    walk_ = walked(name)
    powered = [n for n, phase in enumerate(walk_.plan.phases) if phase.kind == "power"]
    after = [phase for phase in walk_.plan.phases[powered[0] + 1 :] if phase.kind == "hands"]
    for phase in after:
        (red, black), *links = clips_on(walk_.build, phase.stage, linked=False)
        assert [node_at(walk_.build, at) for at in phase.clip.at.split(" to ")] == [red, black]
        due = [{node_at(walk_.build, link.red), node_at(walk_.build, link.black)}
               for link in links_due(phase, never=False)]  # fmt: skip
        assert due == [set(ends) for ends in links], phase.id
    asked = [before.prompt for before, _, _ in walk_.trail.taken if before.prompt.title == "Clip on"]
    assert len(asked) >= len(after) and not any("HT+ and chassis" in line for each in asked for line in each.lines)


@pytest.mark.parametrize("name", [name for name in LINKS if name in ALL])
def test_as_many_links_come_off_as_were_put_on_and_the_check_says_how_many_to_have_ready(name: str, walked) -> None:
    most = LINKS[name]
    counts = [event.count for _, event in decoded(walked(name).events) if isinstance(event, (e.LinksOn, e.LinksOff))]
    assert max(counts) == counts[-1] == most
    assert counts[::2] == counts[1::2], "off before the soak"
    assert [note.value for note in review(walked(name).build) if note.rule == "gate-links"] == [most]


def in_early(folder: Path) -> Path:
    """The small demo build with a smoothing capacitor and its bleeder fitted before the first power, read cold."""
    text = (recorded.BUILDS / "pp-6v6.toml").read_text("utf-8")
    for part in ("C2", "R4"):
        text = re.sub(rf'^({part} = .*)stage = "supply"', r'\1stage = "cold"', text, flags=re.MULTILINE)
    text = text.replace('id = "pp-6v6"', 'id = "early"')
    text += '\n[point.cold_ht]\nname = "HT to chassis, cold"\nred = "ht"\nquantity = "resistance"\nstages = ["cold"]\n'
    path = folder / "early.toml"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize("never", [True, False])
def test_a_capacitor_fitted_before_the_first_power_is_linked_and_counts_in_the_ohms(
    never: bool, forecasts: Remembering, tmp_path: Path
) -> None:
    """100k of bleeder with 2k2 across it reads 2153 ohm, whether the resistor is a link or the bleed clip."""
    made = around(in_early(tmp_path), forecasts, readings.volts("pp-6v6"))
    made.builder.never = never
    session = made.session()
    trail = walk(session, made.builder, made.clock, until=lambda view: view.stage == "First mains")
    session.leave()
    asked = [before.prompt for before, _, _ in trail.taken if before.prompt.title == "Links on"]
    assert len(asked) == never
    assert not asked or "C2 (plus of C2 to chassis)" in asked[0].lines[0]
    before, typed, after = next(taken for taken in trail.taken if taken[0].prompt.title == "HT to chassis, cold")
    assert float(typed) == pytest.approx(1 / (1 / 100e3 + 1 / 2200.0), rel=1e-3)
    assert after.banner is not None and after.banner.kind == "pass"
    assert any("count" in line for line in (*before.prompt.lines, *before.why))
    assert not trail.banners("warn", "stop", "question", "refused")


@pytest.mark.parametrize("name", ALL)
def test_no_link_is_asked_for_where_no_capacitor_is_fitted(name: str, walked) -> None:
    """The presumed reservoir is read, once, and nothing is clipped that the cold insulation would find."""
    walk_ = walked(name)
    first = next(before for before, _, _ in walk_.trail.taken if before.prompt.title == "Hands in")
    assert [item.text for item in first.prompt.items if "clip" in item.text] == []
    assert first.prompt.lines[0].endswith("No lead attached, nothing fitted that holds a charge.")
    before = walk_.kinds()[: walk_.kinds().index("hands in")]
    assert "links on" not in before and "reservoir low" in before


def test_a_chassis_that_may_have_met_mains_takes_the_full_gate_from_the_first(
    forecasts: Remembering, tmp_path: Path
) -> None:
    made = bench("pp-6v6", tmp_path, forecasts)
    made.builder.never = False
    session = made.session()
    walk(session, made.builder, made.clock, until=lambda view: view.stage == "Heaters")
    session.leave()
    with Journal.open(made.record) as journal:
        kinds = [event.kind for event in journal.events]
    assert "links on" not in kinds and "no lead" not in kinds
    assert in_order(FULL_GATE, kinds[: kinds.index("hands in")])
