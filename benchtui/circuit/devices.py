"""Laws of valves and rectifiers: currents in ampere and their exact derivatives, by the name of the equation form.

Volts are to the cathode. Every law takes any finite volts without overflow: volts are limited to +-1e5 and the
exponentials are written so that they cannot run away.

Sources. Triodes and pentodes: N. L. Koren, "Improved vacuum tube models for SPICE simulations", Glass Audio 8 (5),
1996, with the later offset `vct` (from memory, article not checked); the sharing of current between anode and screen in
`pentode_shared_screen`, the grid current `gg` and the ion current ratio `gi` are common practice, no source. Below its
start grid current grows exponentially, as electrons of thermal speed do against a field (Maxwell's distribution).
Vacuum diode: the three-halves power law of Child and Langmuir. Silicon: the Shockley law with a series resistance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

Array = np.ndarray
Constants = Mapping[str, Array]

THERMAL_V = 0.025865
"""kT/q at 27 degrees Celsius, in volt."""

_LIMIT_V = 1e5
_LEAST_V = 1e-3
_GRID_PERVEANCE, _LEAST_PERVEANCE = 1e-3, 1e-8

GRID_START_A = 0.3e-6
"""Grid current at the "grid current starting point" of data sheets (from memory)."""

RETARDING_V = 0.13
"""Width over which grid current begins: below it grows e-fold in 2/3 of this, kT/q of a cathode at 1,000 kelvin."""


@dataclass(frozen=True, eq=False)
class ValveCurrents:
    """Currents of the electrodes in ampere, and their conductances in siemens.

    `amps` has shape (3, ...) and `siemens` (3, 3, ...): the row is the electrode whose current it is, the column the
    electrode whose volts (to the cathode) move, both in the order anode, screen, grid. A triode's screen is all zero.
    """

    amps: Array
    siemens: Array


def limited(volts: Array) -> Array:
    """Volts within +-1e5."""
    return np.clip(volts, -_LIMIT_V, _LIMIT_V)


def _softplus(x: Array) -> tuple[Array, Array]:
    """ln(1 + exp x) and its derivative."""
    small = np.exp(-np.abs(x))
    return np.maximum(x, 0.0) + np.log1p(small), np.where(x >= 0, 1.0, small) / (1.0 + small)


def _grid_current(grid_v: Array, constants: Constants) -> tuple[Array, Array]:
    """Current of a positive grid, gg vg^1.5, and its derivative.

    With `start_v` it begins below the cathode's volts, as real grids do (contact potential, and the speed of the
    electrons): smoothly, and so that 0.3 uA flow at -start_v.
    """
    perveance = constants.get("gg", _GRID_PERVEANCE)
    if "start_v" not in constants:
        root = np.sqrt(np.maximum(grid_v, 0.0))
        return perveance * root**3, 1.5 * perveance * root
    perveance = np.maximum(perveance, _LEAST_PERVEANCE)
    at_start = np.log(np.expm1((GRID_START_A / perveance) ** (2.0 / 3.0) / RETARDING_V))
    soft, slope = _softplus((grid_v + constants["start_v"]) / RETARDING_V + at_start)
    root = np.sqrt(RETARDING_V * soft)
    return perveance * root**3, 1.5 * perveance * root * slope


def _power(e: Array, ex: Array) -> tuple[Array, Array]:
    """e^ex and its derivative for e >= 0."""
    value = np.power(e, ex)
    return value, ex * value / np.maximum(e, 1e-30)


def _triode(
    anode_v: Array, grid_v: Array, constants: Constants, offset_v: Array | float, ion: Array | float
) -> ValveCurrents:
    va, vg = limited(anode_v), limited(grid_v)
    mu, ex, kg1, kp, kvb = (constants[key] for key in ("mu", "ex", "kg1", "kp", "kvb"))
    drive, root = vg + offset_v, np.sqrt(kvb + np.maximum(va * va, _LEAST_V**2))
    soft, slope = _softplus(kp * (1.0 / mu + drive / root))
    positive = va > _LEAST_V
    held = np.where(positive, va, _LEAST_V)
    current, per_e = _power(held / kp * soft, ex)
    current, per_e = 2.0 * current / kg1, 2.0 * per_e / kg1
    per_anode = per_e * (np.where(positive, soft / kp, 0.0) - held * slope * drive * va / root**3)
    per_grid = per_e * held * slope / root
    grid, grid_slope = _grid_current(vg, constants)
    none = np.zeros_like(current)
    return ValveCurrents(
        np.stack([current, none, grid - ion * current]),
        np.stack(
            [
                np.stack([per_anode, none, per_grid]),
                np.stack([none, none, none]),
                np.stack([-ion * per_anode, none, grid_slope - ion * per_grid]),
            ]
        ),
    )


def triode_offset(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Currents of a triode, in ampere, from mu, ex, kg1, kp, kvb, vct (gg, gi): Koren's form with the offset vct."""
    return _triode(anode_v, grid_v, constants, constants.get("vct", 0.0), constants.get("gi", 0.0))


def triode_grid_ion(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Currents of a triode, in ampere, from mu, ex, kg1, kp, kvb, gg, gi (ion current as a share of the anode's)."""
    return _triode(anode_v, grid_v, constants, 0.0, constants.get("gi", 0.0))


def _space_current(
    screen_v: Array, drive: Array, root: Array, root_slope: Array, constants: Constants
) -> tuple[Array, Array, Array]:
    """Twice e^ex of a pentode, with its derivatives by screen and by grid volts; `root` divides the grid's drive."""
    mu, ex, kp = constants["mu"], constants["ex"], constants["kp"]
    positive = screen_v > _LEAST_V
    held = np.where(positive, screen_v, _LEAST_V)
    soft, slope = _softplus(kp * (1.0 / mu + drive / root))
    space, per_e = _power(held / kp * soft, ex)
    per_screen = np.where(positive, soft / kp, 0.0) - held * slope * drive * root_slope / root**2
    return 2.0 * space, 2.0 * per_e * per_screen, 2.0 * per_e * held * slope / root


def _knee(anode_v: Array, kvb: Array) -> tuple[Array, Array]:
    """arctan(va / kvb) for va > 0, else zero, and its derivative."""
    ratio = np.maximum(anode_v, 0.0) / kvb
    return np.arctan(ratio), np.where(anode_v > 0, 1.0 / (kvb * (1.0 + ratio * ratio)), 0.0)


def pentode_power_screen(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Currents of a pentode, in A, from mu, ex, kg1, kg2, kp, kvb, vct (screen_ex, gg, gi); screen by a power law."""
    va, vs, vg = limited(anode_v), limited(screen_v), limited(grid_v)
    kg1, kg2, mu = constants["kg1"], constants["kg2"], constants["mu"]
    drive = vg + constants.get("vct", 0.0)
    above = vs > _LEAST_V
    root = np.where(above, vs, _LEAST_V)
    space, per_screen, per_grid = _space_current(vs, drive, root, above.astype(float), constants)
    share, share_slope = _knee(va, constants["kvb"])
    screen_drive = np.maximum(drive + np.maximum(vs, 0.0) / mu, 0.0)
    screen, screen_slope = _power(screen_drive, constants.get("screen_ex", 1.5))
    screen, screen_slope = screen / kg2, screen_slope / kg2
    grid, grid_slope = _grid_current(vg, constants)
    none, ion = np.zeros_like(space), constants.get("gi", 0.0)
    anode_row = np.stack([space * share_slope / kg1, per_screen * share / kg1, per_grid * share / kg1])
    grid_row = -ion * anode_row
    grid_row[2] += grid_slope
    return ValveCurrents(
        np.stack([space * share / kg1, screen, grid - ion * space * share / kg1]),
        np.stack(
            [
                anode_row,
                np.stack([none, np.where(vs > 0, screen_slope / mu, 0.0) + none, screen_slope + none]),
                grid_row,
            ]
        ),
    )


def pentode_shared_screen(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Currents of a pentode, in ampere, from mu, ex, kg1, kg2, kp, kvb, gg, gi; the screen takes the rest."""
    va, vs, vg = limited(anode_v), limited(screen_v), limited(grid_v)
    kg1, kg2 = constants["kg1"], constants["kg2"]
    ion = constants.get("gi", 0.0)
    root = np.sqrt(1.0 + vs * vs)
    space, per_screen, per_grid = _space_current(vs, vg, root, vs / root, constants)
    share, share_slope = _knee(va, constants["kvb"])
    to_anode, to_screen = share / kg1, 1.0 / kg2 + (np.pi / 2 - share) / kg1
    anode_row = np.stack([space * share_slope / kg1, per_screen * to_anode, per_grid * to_anode])
    screen_row = np.stack([-space * share_slope / kg1, per_screen * to_screen, per_grid * to_screen])
    grid, grid_slope = _grid_current(vg, constants)
    grid_row = -ion * anode_row
    grid_row[2] += grid_slope
    return ValveCurrents(
        np.stack([space * to_anode, space * to_screen, grid - ion * space * to_anode]),
        np.stack([anode_row, screen_row, grid_row]),
    )


VALVE_FORMS: dict[str, Callable[[Array, Array, Array, Constants], ValveCurrents]] = {
    "triode_offset": triode_offset,
    "triode_grid_ion": triode_grid_ion,
    "pentode_power_screen": pentode_power_screen,
    "pentode_shared_screen": pentode_shared_screen,
}


def _constant(constants: Constants, *spellings: str) -> Array:
    for spelling in spellings:
        if spelling in constants:
            return constants[spelling]
    raise KeyError(f"a rectifier's constants lack {' or '.join(spellings)}; they are {sorted(constants)}")


def vacuum_perveance(volts: Array, series_ohm: Array, emission: Array, constants: Constants) -> tuple[Array, Array]:
    """Current (A) and conductance (S) of a vacuum diode behind `series_ohm`, from perveance_a_v15 (or kd).

    With u the root of the volts across the valve itself, R K u^3 + u^2 = V: Newton from above falls monotonically,
    since the function is convex.
    """
    perveance = _constant(constants, "perveance_a_v15", "kd") * emission
    v = np.clip(volts, 0.0, _LIMIT_V)
    rk = series_ohm * perveance
    u = np.minimum(np.sqrt(v), np.cbrt(v / np.maximum(rk, 1e-30)))
    for _ in range(5):
        u = u - ((rk * u + 1.0) * u * u - v) / np.maximum((3.0 * rk * u + 2.0) * u, 1e-30)
    slope = np.where(v > 0, 3.0 * perveance * u / (3.0 * rk * u + 2.0), 0.0)
    return perveance * u**3, slope


def junction(volts: Array, amps: Array, slope_v: Array, ohm: Array) -> tuple[Array, Array]:
    """Current grown from `amps` (A), and its conductance (S), where amps exp(v / slope_v) flows behind `ohm` above 0.

    With x = ln(i / amps), R amps (exp x - 1) + slope_v x = V: at 0 V it is `amps`. Newton falls monotonically from the
    least of three upper bounds: no exponential, no slope_v, the tangent at 0 (the function is convex).
    """
    v = limited(volts)
    behind_v = ohm * amps
    x = np.minimum((v + behind_v) / slope_v, np.log1p(np.maximum(v, 0.0) / behind_v))
    x = np.minimum(x, v / (behind_v + slope_v))
    for _ in range(6):
        grown = amps * np.exp(np.clip(x, -700.0, 300.0))
        x = x - (ohm * (grown - amps) + slope_v * x - v) / (ohm * grown + slope_v)
    grown = amps * np.exp(np.clip(x, -700.0, 300.0))
    return grown, grown / (ohm * grown + slope_v)


def silicon(volts: Array, series_ohm: Array, emission: Array, constants: Constants) -> tuple[Array, Array]:
    """Current (A) and conductance (S) of a silicon diode behind `series_ohm`, from is_a, n, rs_ohm (or is, n, rs).

    The junction's current less its saturation current; emission 0 means open.
    """
    saturation = _constant(constants, "is_a", "is")
    slope_v = constants["n"] * THERMAL_V
    r = np.maximum(series_ohm + _constant(constants, "rs_ohm", "rs"), 1e-6)
    grown, slope = junction(volts, saturation, slope_v, r)
    fitted = emission > 0
    return np.where(fitted, grown - saturation, 0.0), np.where(fitted, slope, 0.0)


DIODE_FORMS: dict[str, Callable[[Array, Array, Array, Constants], tuple[Array, Array]]] = {
    "vacuum_perveance": vacuum_perveance,
    "silicon": silicon,
}
