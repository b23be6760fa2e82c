"""A simulated builder: answers every prompt of a session from what is shown alone, with a rig for the hands and meter.

Titles, lines, words, probes and scale are all that the builder sees, beside the build file as the plan of the wiring.
A prompt that is not understood ends the walk with what was shown: one that can't be answered is a fault of the prompt.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from benchtui.buildfile.models import Build
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.view import View
from tests.builds.deck import CHASSIS
from tests.walk import display
from tests.walk.rig import Rig

#: The builder looks at a meter that still falls this often, and gives up hope after this long.
LOOK_AGAIN_S, NO_HOPE_S = 2.0, 90.0

BATTERY, ISOLATED_AC = "9.21", "12.6"

#: Why this builder powers a design that the ratings review objects to.
KNOWN = "half a volt over a rating quoted from memory"

_QUANTITIES = {
    "DC volts": "dc", "AC volts": "ac", "ohms": "resistance", "AC volts, on the DC rail": "ripple",
    "500 V insulation tester": "resistance", "bond tester": "resistance",
}  # fmt: skip


#: Ohms of a warm winding beside its cold ones: some 36 K.
WARM = 1.14


class NotUnderstood(AssertionError):
    """What is shown does not say what to do."""


@dataclass(frozen=True)
class Wait:
    """Nothing is typed; `seconds` go by."""

    seconds: float


Act = str | Wait


@dataclass
class Builder:
    """Someone who does what is asked; `never`: the chassis never met mains, and the builder knows it."""

    rig: Rig
    never: bool = True
    reason: str = ""
    """Why this builder goes on after a warn; without one the reading is taken again."""

    cause: str = "not found yet"
    """What this builder says to have found after an alarm or a breakdown."""

    hoped_s: float = 0.0
    to_turn: dict[str, float] = field(default_factory=dict)
    """Point -> reading wanted, for pots that are turned with hands in."""

    meter_at: tuple[str, str] = (CHASSIS, CHASSIS)
    """Where the meter was last put on HT."""

    def does(self, view: View) -> Act:
        """What is typed at this prompt, or a wait; what hands do beside is done to the rig."""
        self.rig.stage = next((mark.id for mark in view.stages if mark.state == "now"), self.rig.stage)
        prompt = view.prompt
        if prompt.entry == "nothing" or prompt.title == "Wait":
            return Wait(LOOK_AGAIN_S if prompt.wait_s is None else max(prompt.wait_s, 0.1))
        do = next((do for title, do in _DOINGS.items() if re.fullmatch(title, prompt.title)), Builder._point)
        try:
            answer = do(self, view)
        except (KeyError, ValueError, StopIteration) as error:
            raise NotUnderstood(f"{type(error).__name__} {error}\n{told(view)}") from error
        listed = answer.partition(" ")[0] if isinstance(answer, str) and prompt.title.startswith(LISTED) else answer
        if prompt.entry == "words" and isinstance(answer, str) and listed not in prompt.words:
            raise NotUnderstood(f"{answer!r} is none of {prompt.words}\n{told(view)}")
        return answer

    # -- gate

    def _plug(self, view: View) -> Act:
        self.rig.switch_off()
        self.rig.plugged = False
        return "out"

    def _met(self, view: View) -> Act:
        return "never" if self.never else "met"

    def _prove(self, view: View) -> Act:
        return ISOLATED_AC if "AC" in view.prompt.title else BATTERY

    def _mains_side(self, view: View) -> Act:
        return display.volts(self.rig.mains_v if self.rig.plugged else 0.0)

    def _fallen(self, view: View) -> Act:
        return self._falling(self.rig.volts_between(*self.meter_at))

    def _charge(self, view: View) -> Act:
        return self._falling(self.rig.volts_between(*self._nodes(view)))

    def _falling(self, now_v: float) -> Act:
        """A reading that falls: waited for while there is hope, then typed as it is."""
        if abs(now_v) >= 10.0 and self.hoped_s < NO_HOPE_S:
            self.hoped_s += LOOK_AGAIN_S
            return Wait(LOOK_AGAIN_S)
        self.hoped_s = 0.0
        return display.volts(now_v)

    def _bleed(self, view: View) -> Act:
        self.rig.bleed()
        return "bled"

    def _discharge(self, view: View) -> Act:
        """A resistor across a capacitor on the bench, and its reading again."""
        id = view.prompt.title.split()[-1]
        self.rig.salvaged.pop(id, None)
        return display.volts(self.rig.on_the_bench(id))

    def _clip(self, view: View) -> Act:
        if "Links still on from before come off first" in " ".join(view.prompt.lines):
            self.rig.links = ()
        said = re.search(r"across (.*?) (?:to|and) (.*?)[.:]( |$)", " ".join(view.prompt.lines))
        if said is None:
            raise NotUnderstood(told(view))
        self.rig.clip = (node_at(self.rig.build, said[1]), node_at(self.rig.build, said[2]))
        return display.ohms(self.rig.ohms(*self._nodes(view)))

    def _links(self, view: View) -> Act:
        """A resistor across each capacitor that is listed, at the ends that are named."""
        listed = next(line for line in view.prompt.lines if "across each that is fitted: " in line)
        ends = re.findall(r"\((.+?) to (.+?)\)(?:; |\.)", listed)
        self.rig.links = tuple((node_at(self.rig.build, a), node_at(self.rig.build, b)) for a, b in ends)
        return str(len(ends))

    def _hands_in(self, view: View) -> Act:
        for point, wanted in self.to_turn.items():
            self.rig.turn(point, wanted)
        self.to_turn = {}
        return "in"

    # -- closing and power

    def _clip_off(self, view: View) -> Act:
        self.rig.clip, self.rig.links = None, ()
        return "off"

    def _links_off(self, view: View) -> Act:
        """As many as were there to be taken off."""
        found = len(self.rig.links)
        self.rig.clip, self.rig.links = None, ()
        return str(found)

    def _ohms(self, view: View) -> Act:
        return display.ohms(self.rig.ohms(*self._nodes(view)))

    def _power_on(self, view: View) -> Act:
        listed = next(line for line in view.prompt.lines if line.startswith("Type one: "))
        first = listed.removeprefix("Type one: ").rstrip(".").split(", ")[0]
        owned = not first.startswith("none")
        self.rig.switch_on(limited=owned)
        return first if owned else "without: there is no lamp on this bench"

    def _limiter(self, view: View) -> Act:
        """A lamp looks as a sound stage leaves it; a variable transformer is quiet."""
        said = re.search(r"sound stage: (\w+)", " ".join(view.prompt.lines))
        return said[1] if said else view.prompt.words[0]

    def _full(self, view: View) -> Act:
        self.rig.limited = False
        return "full"

    def _mains(self, view: View) -> Act:
        if "heater winding" in view.prompt.lines[0]:
            return display.volts(self.rig.reads(self.rig.build.mains.read_point or ""))
        return display.volts(self.rig.mains_v)

    def _watch(self, view: View) -> Act:
        return Wait(min(view.prompt.wait_s or LOOK_AGAIN_S, LOOK_AGAIN_S * 4))

    def _ht(self, view: View) -> Act:
        self.meter_at = self._nodes(view)
        return display.volts(self.rig.volts_between(*self.meter_at))

    def _switch_off(self, view: View) -> Act:
        self.rig.switch_off()
        return "off"

    # -- readings

    def _point(self, view: View) -> Act:
        if view.prompt.entry == "text" and self.reason:
            return self.reason
        if any("computed to show a slip" in line for line in view.prompt.lines):
            return display.ohms(self.rig.ohms(*self._nodes(view)))
        id = self._point_id(view, view.prompt.title.removesuffix(", limited"))
        shown = display.ohms if self.rig.build.point[id].quantity == "resistance" else display.volts
        return shown(self.rig.reads(id))

    def _trim(self, view: View) -> Act:
        """Turn the pot until the meter shows what is wanted; with hands in where it is reached only so."""
        lines = " ".join(view.prompt.lines)
        said = re.search(r"Read (.+): (\S+ \S+) wanted, (\S+ \S+) to (\S+ \S+) will do", lines)
        if said is None:
            raise NotUnderstood(told(view))
        id = self._point_id(view, said[1])
        wanted, low, high = (display.value_of(text) for text in said.groups()[1:])
        now = self.rig.reads(id)
        if low <= now <= high:
            return display.volts(now)
        if "Inside the chassis" not in lines:
            self.rig.turn(id, wanted)
        elif id in self.to_turn:
            self.rig.switch_off()
            return "off"
        else:
            self.to_turn[id] = wanted
        return display.volts(now)

    def _signal(self, view: View) -> Act:
        """What it should: the figures of signals are held against outside ones elsewhere, the walk is about the way."""
        if view.prompt.entry == "text" and self.reason:
            return self.reason
        scale = view.prompt.scale
        if scale is None:
            raise NotUnderstood(told(view))
        return {"V": display.volts, "Hz": display.hertz, "%": display.per_cent}[scale.unit](scale.nominal)

    def _fuse(self, view: View) -> Act:
        """What is printed on the fuse that is named, as makers print it."""
        fuse = self.rig.build.fuse[view.prompt.lines[0].partition(",")[0]]
        return f"{fuse.speed}{show(fuse.amps, Unit.AMPERE).replace(' ', '')}L{fuse.volts or 250.0:.0f}V"

    def _winding(self, view: View) -> Act:
        """The winding at the pins; after the soak it has a seventh more, waited for as long as is said."""
        ohm = self.rig.ohms(*(self.rig.build.mains.nodes or ()))
        if "cold" in view.prompt.title:
            return display.ohms(ohm)
        return Wait(view.prompt.wait_s) if view.prompt.wait_s else display.ohms(ohm * WARM)

    # -- within

    def _point_id(self, view: View, name: str) -> str:
        """The point that name and probes mean; there must be exactly one in this stage, or else (a look over asks
        for points of earlier ones) in the build."""
        red, black = self._nodes(view)
        quantity = _QUANTITIES[re.sub(r", [^,]*\brange\b.*", "", view.prompt.probes.meter)]  # type: ignore
        points = self.rig.build.point.items()
        meant = [id for id, p in points if (p.name, p.red, p.black, p.quantity) == (name, red, black, quantity)]
        found = [id for id in meant if self.rig.stage in self.rig.build.point[id].stages] or meant
        if len(found) != 1:
            raise NotUnderstood(f"{found or 'no point'} would fit\n{told(view)}")
        return found[0]

    def _nodes(self, view: View) -> tuple[str, str]:
        """The nodes that the probes touch, by the places that are named."""
        probes = view.prompt.probes
        if probes is None:
            raise NotUnderstood(f"no probes are shown\n{told(view)}")
        return node_at(self.rig.build, probes.red), node_at(self.rig.build, probes.black)


def node_at(build: Build, place: str) -> str:
    """The node at a place named on the screen; raises ValueError where the name leads to none or to several."""
    if place == "chassis":
        return CHASSIS
    if place in ("HT+", "HT+, or each end of the HT winding"):
        return "wherever HT will be"
    if named := re.fullmatch(r"(?:.*, )?node (\S+)", place):
        return named[1]
    ends = [(point.red_at, point.red) for point in build.point.values()]
    ends += [(point.black_at, point.black) for point in build.point.values()]
    nodes = {node for at, node in ends if at == place}
    if len(nodes) != 1:
        raise ValueError(f"{place!r} may be {sorted(nodes) or 'anywhere'}")
    return nodes.pop()


#: Titles of prompts that belong to a list of which several can be told at once.
LISTED = ("Wire: ", "Hole: ")


def all_on(view: View) -> str:
    """The present wire or hole and all that follow it in the list, told at once: a walk is not about soldering."""
    first, _, last = view.prompt.place.partition(" of ")
    word = view.prompt.words[0]
    return word if first == last else f"{word} {first}-{last}"


def told(view: View) -> str:
    """What is on the screen, for the message of a walk that went wrong."""
    prompt = view.prompt
    banner = f"{view.banner.kind}: {view.banner.text}" if view.banner else ""
    lines = [
        f"{view.stage} / {view.step} / {view.danger.word} / saved #{view.saved}", *view.power_off, banner,
        f"{prompt.title} {prompt.place}", *prompt.lines, f"{prompt.entry} {prompt.unit} {prompt.words}",
        str(prompt.probes), str(prompt.scale),
    ]  # fmt: skip
    return "\n".join(line for line in lines if line)


#: What is done at a title. Any other title is the name of a point.
_DOINGS = {
    "Is the chassis bare[?]": lambda builder, view: "bare",
    "Did this chassis ever meet mains[?]": Builder._met,
    "Pull the plug": Builder._plug,
    "No mains lead": lambda builder, view: "no lead",
    "Prove the meter( again,)? on (DC|AC)|Prove the meter again, (DC|AC)": Builder._prove,
    "HT has fallen to[?]": Builder._fallen,
    "Read the mains side dead": Builder._mains_side,
    "Round [12]: .*|Read .*|[Rr]ail at .*": Builder._charge,
    "Bleed .*": Builder._bleed,
    "Clip on": Builder._clip,
    "Links on": Builder._links,
    "Clip and links off": Builder._links_off,
    "Hands in": Builder._hands_in,
    "Which fuse blew[?]|How does the fuse look[?]|Smell, smoke, heat[?]": lambda builder, view: "skip",
    "What happened just before[?]|What does it do[?]": lambda builder, view: "skip",
    "What was it[?]": lambda builder, view: builder.cause,
    "What is read again": lambda builder, view: view.prompt.words[0],
    "Finished": lambda builder, view: Wait(LOOK_AGAIN_S),
    "The end": lambda builder, view: "finished",
    "Before fitting .*": lambda builder, view: display.volts(builder.rig.on_the_bench(view.prompt.title.split()[-1])),
    "Discharge .*": Builder._discharge,
    "Step .*": lambda builder, view: view.prompt.words[0],
    "Wire: .*": lambda builder, view: all_on(view),
    "Hole: .*": lambda builder, view: all_on(view),
    "Take off a wire": lambda builder, view: "off",
    "What the fuse says": Builder._fuse,
    "Cover on, last screw": lambda builder, view: "last screw",
    "How warm is the room[?]": lambda builder, view: "22",
    "The mains winding.*": Builder._winding,
    "The winding's temperature": lambda builder, view: "noted",
    "Soak: .*": lambda builder, view: Wait(view.prompt.wait_s or LOOK_AGAIN_S),
    "Stage complete": lambda builder, view: "complete",
    "Hands out": lambda builder, view: "out",
    "Look at plug and clip": lambda builder, view: "in place",
    "Clip off": Builder._clip_off,
    "Chassis clear": lambda builder, view: "clear",
    "HT[+] to chassis": Builder._ohms,
    "Cover, or one hand": lambda builder, view: "cover on",
    "The ratings review objects": lambda builder, view: f"go on: {KNOWN}",
    "First power": Builder._power_on,
    "What does the limiter show[?]": Builder._limiter,
    "Full mains": Builder._full,
    "Mains now": Builder._mains,
    "Watch .*": Builder._watch,
    "HT now|HT before power-down": Builder._ht,
    "Trim .*": Builder._trim,
    "Switch off": Builder._switch_off,
    "Load volts.*|AC at the (anode|cathode|grid) of .*|Input volts.*|Hum .*|Crosstalk.*": Builder._signal,
    "(Low|High) corner.*|Square wave.*|Crests.*|Distortion.*": Builder._signal,
    "The build file has changed": lambda builder, view: "keep",
}
