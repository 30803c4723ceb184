"""The air that a load of wood shares with the room it dries in, compiled into the moisture steps.

The room's air holds little water next to the wood in it, so that it stands at every moment where
what comes in equals what goes out::

    outside's share (p_free - p) + wood's share (p_wood - p) = machine(p)

with p the vapour pressure of the room, p_free what it would be without the wood and p_wood that at
the wood's faces.  A dehumidifier holds a highest humidity as far as its output goes, a humidifier a
lowest one.  Between the two nothing runs.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from model.behaviour.compiled import inlined
from model.surroundings.machines import OUTPUT

_CONSTANT, _T, _TT, _H, _HH, _TH = OUTPUT
SATURATED: Final = 100.0  # %; what is beyond condenses on whatever is coldest


class Load(NamedTuple):
    """What a load shares its air with; of no effect unless `shared`.

    Water counts as it changes the mean moisture times the thickness of one slab [% M m/s].

    exchange : of the air that is changed, over kelvin [% M m K/(s Pa)]; rated : what a machine
    takes out as rated, infinite where it is as large as needed [% M m/s]; kept : a desiccant
    machine, which keeps its rating; works_from, ices_below : a compressor's [degC].
    """

    shared: bool
    exchange: float
    rated: float
    kept: bool
    works_from: float
    ices_below: float


@inlined
def balanced(
    load: Load, warm: float, saturated: float, free: float, low: float, high: float,
    open_to: float, given: float,
) -> tuple[float, float]:  # fmt: skip
    """Vapour pressure of the room [Pa], and its rise with what the wood gives.

    warm [degC] and saturated [Pa] : the room's; free : its vapour pressure without wood or machine
    [Pa]; low, high : humidities that machines hold [%]; open_to : admittance of all faces
    [% M m/s per Pa]; given : admittance times vapour pressure over each face, their sum [% M m/s].
    """
    exchange = load.exchange / (warm + 273.15)
    comes = exchange * free + given
    a_point = 0.01 * saturated * (exchange + open_to)
    damp = comes / a_point
    if damp < low:
        return 0.01 * low * saturated, 0.0
    eases = 0.01 * saturated / a_point
    if damp > high and load.rated > 0.0:
        if load.rated == math.inf:
            return 0.01 * high * saturated, 0.0
        if load.kept:
            dried, rise = (comes - load.rated) / a_point, 0.0
        else:
            thawed = (warm - load.works_from) / (load.ices_below - load.works_from)
            rated = load.rated * min(max(thawed, 0.0), 1.0)
            base = rated * (_CONSTANT + _T * warm + _TT * warm * warm)
            slope, bent = rated * (_H + _TH * warm), rated * _HH
            dried, rise = damp, 0.0
            if base + slope * damp + bent * damp * damp > 0.0:
                # Where a machine takes as much as comes: a quadratic, in the form without loss.
                both = slope + a_point
                dried = (
                    2.0
                    * (comes - base)
                    / (both + math.sqrt(both * both + 4.0 * bent * (comes - base)))
                )
                rise = slope + 2.0 * bent * dried
        if dried <= high:
            return 0.01 * high * saturated, 0.0
        damp, eases = dried, 0.01 * saturated / (a_point + rise)
    if damp >= SATURATED:
        return saturated, 0.0
    return 0.01 * damp * saturated, eases
