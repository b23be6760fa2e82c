"""What a rehearsal asks of its simulated amplifier, and what it answers: plain data, to be kept and sent."""

from __future__ import annotations

from dataclasses import dataclass, replace

Pots = tuple[tuple[str, float], ...]
"""Pot and position of every pot that was turned; the others stand where they start."""


@dataclass(frozen=True)
class Planted:
    """A fault by its id in `diagnosis.faults`, and which of the sizes it may have."""

    kind: str
    part: str
    says: str
    size: int = 0


@dataclass(frozen=True)
class Amplifier:
    """The amplifier of one rehearsal: `seed` draws its parts, its meter and its mains; `planted` is what is wrong.

    `exchanged` are output transformers and which of their leads the builder has exchanged, "anodes" or "secondary".
    """

    seed: int
    planted: Planted | None = None
    exchanged: tuple[tuple[str, str], ...] = ()

    @property
    def mended(self) -> Amplifier:
        """The same without its fault, and with all leads where they belong."""
        return replace(self, planted=None, exchanged=())


@dataclass(frozen=True)
class Plant:
    """Which fault is planted for this seed? Answered by a Planted, or None where none would be found."""

    seed: int


@dataclass(frozen=True)
class Powered:
    """What does the amplifier do in `stage` with the power on? Answered by Reads.

    `lamp_w` are the watts of a lamp as a limiter; None without one, or with a variable transformer turned all the way.
    `exchange` is what is exchanged, pulled or opened to find a fault, as `diagnosis.exchanges` calls it.
    """

    amplifier: Amplifier
    stage: str
    lamp_w: float | None = None
    pots: Pots = ()
    exchange: str = ""


@dataclass(frozen=True)
class Reads:
    """Volts as the meter shows them by point, settled; a point that has no steady reading is missing.

    `look` is how the lamp stays, "" without one. `blown` are the fuses that
    have gone. `solved` is False where no steady state was found: then nothing holds still.
    """

    points: tuple[tuple[str, float], ...]
    look: str = ""
    blown: tuple[str, ...] = ()
    solved: bool = True

    def at(self, point: str) -> float | None:
        """Volts at `point`, None where it has no steady reading."""
        return dict(self.points).get(point)


@dataclass(frozen=True)
class Warming:
    """How does `point` go while cathodes warm up? Answered by a Course."""

    powered: Powered
    point: str


@dataclass(frozen=True)
class Falling:
    """How do the capacitors empty after `powered`? Answered by Falls, counted from the last of `bled`.

    `bled` are seconds since power went off, or since the one before, and the capacitors that were bled then.
    """

    powered: Powered
    bled: tuple[tuple[float, tuple[str, ...]], ...] = ()


@dataclass(frozen=True)
class Course:
    """Values at times in seconds, rising; between them it goes straight, after the last it stays."""

    times_s: tuple[float, ...]
    values: tuple[float, ...]

    def at(self, seconds: float) -> float:
        """The value at `seconds`."""
        if seconds <= self.times_s[0]:
            return self.values[0]
        for k, after in enumerate(self.times_s[1:], 1):
            if seconds <= after:
                before = self.times_s[k - 1]
                share = (seconds - before) / (after - before)
                return self.values[k - 1] + share * (self.values[k] - self.values[k - 1])
        return self.values[-1]


@dataclass(frozen=True)
class Falls:
    """The fall of every capacitor in volts, and of the point that reads HT (None where there is none)."""

    capacitors: tuple[tuple[str, Course], ...]
    ht: Course | None

    def across(self, names: tuple[str, ...], seconds: float) -> float:
        """The volts farthest from zero across the capacitors `names`; 0 where none of them is in the circuit."""
        found = dict(self.capacitors)
        return max((found[name].at(seconds) for name in names if name in found), key=abs, default=0.0)


@dataclass(frozen=True)
class Ohms:
    """Ohms from `red` to `black` in `stage` without power. Answered by what the meter shows, inf for open.

    `at` names the reading: the meter's last digits go by it. `clips` are resistors of the bleed clip's value, each
    between two nodes; None are the clip and links of the stage's hands-in work, `linked` and `after` as for
    `forecast.clip.clips_on`.
    """

    amplifier: Amplifier
    stage: str
    red: str
    black: str
    at: str
    clips: tuple[tuple[str, str], ...] | None = ()
    linked: bool = False
    after: str | None = None
    pots: Pots = ()


@dataclass(frozen=True)
class Signal:
    """What is read at a signal `point` with `input_v` volts rms at the input, the bench set as its prompt says?

    Answered in the unit of the point, as it is read; None where nothing holds still.
    """

    powered: Powered
    point: str
    input_v: float


@dataclass(frozen=True)
class Outlet:
    """What does the meter show of the mains? Answered in volts."""

    seed: int


@dataclass(frozen=True)
class Source:
    """What does the meter show of a known source of `volts`, "dc" or "ac"? Answered in volts."""

    seed: int
    kind: str
    volts: float


@dataclass(frozen=True)
class Turned:
    """Where does the pot of `adjustment` stand once it is turned until the meter shows `wanted_v`?

    Answered by its position, at a stop of its track where it does not reach so far.
    """

    powered: Powered
    adjustment: str
    wanted_v: float


Asked = Plant | Powered | Warming | Falling | Ohms | Signal | Outlet | Source | Turned
