"""How fast wood may dry without checking: the largest loss of a day, and the first humidity.

The rules are those of the trade's laboratories for lumber 25 and 50 mm thick; thicker stock is
extrapolated.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import table
from model.properties.species import Species

Floats = NDArray[np.float64]

NOMINAL: Final = 0.025  # m; 4/4, for which the losses are printed
THICKNESS_POWER: Final = 1.32  # 8/4 is 2.5 times slower (printed, Wengert, FPL-GTR-118)
VALID: Final = (0.025, 0.050)  # m; printed thicknesses
EASED_BELOW: Final = 25.0  # % M; from there on twice the loss (judgement)
FREE_BELOW: Final = 15.0  # % M; from there on any (judgement)
EASED: Final = 2.0  # (judgement)
GOOD_RUN: Final = 0.8  # mean loss of a good run over the largest (printed: 3.0 of 3.8, 2.0 of 2.5)
HONEYCOMB_ABOVE: Final = 50.0  # % M; faster than allowed there may split inside (causes printed)
CORE_WET_ABOVE: Final = 25.0  # % M; until there heat is held down (AH-188, memory)
UNLIKELY, LIKELY = 0.15, 0.85  # chances up to which is no and from which is yes (judgement)
MEANT_AT_LEAST: Final = 0.1  # share of a trade name from which a wood counts (judgement)


@dataclass(frozen=True, slots=True)
class Rule:
    """How a wood may be dried.

    Attributes
    ----------
    loss : float
        Largest loss on any day of 25 mm stock [% M].
    first_humidity : tuple of float or None
        Low and high of the first step for 50 mm stock at 20 degC, until a third of the green
        moisture is gone [%]; None where no figure is known.
    hottest_wet : float
        Until the core is at `CORE_WET_ABOVE` [degC].
    printed : bool
        The loss stands in the printed table; else it is a group's (judgement).
    """

    loss: float
    first_humidity: tuple[float, float] | None
    hottest_wet: float
    printed: bool

    def largest(self, thickness: ArrayLike) -> Floats:
        """Largest loss of a day of stock of a thickness [m], [% M].

        Examples
        --------
        >>> oak = Rule(2.5, None, 45.0, True)
        >>> oak.largest([0.025, 0.05, 0.075]).round(2).tolist()
        [2.5, 1.0, 0.59]
        """
        scale = NOMINAL / np.asarray(thickness, dtype=np.float64)
        result: Floats = self.loss * scale**THICKNESS_POWER
        return result

    def allowed(self, thickness: float, moisture: ArrayLike) -> Floats:
        """Largest loss of a day that begins at a moisture [%]; infinite where any will do."""
        begins = np.asarray(moisture, dtype=np.float64)
        largest = float(self.largest(thickness))
        eased = np.where(begins < EASED_BELOW, EASED * largest, largest)
        result: Floats = np.where(begins < FREE_BELOW, np.inf, eased)
        return result

    def least_days(self, thickness: float, moisture: float, target: float) -> float:
        """Days of a good run from one moisture to another [%]; 0 below `FREE_BELOW`.

        Examples
        --------
        >>> round(Rule(2.5, None, 45.0, True).least_days(0.05, 65.0, 30.0))
        44
        """
        slow = max(0.0, moisture - max(target, EASED_BELOW))
        eased = max(0.0, min(moisture, EASED_BELOW) - max(target, FREE_BELOW))
        return (slow + eased / EASED) / (GOOD_RUN * float(self.largest(thickness)))


@lru_cache(maxsize=1)
def _rules() -> dict[str, Rule]:
    found = {}
    for row in table("safe_drying.csv"):
        low, high = row["first_humidity_low_pct"], row["first_humidity_high_pct"]
        found[row["wood"]] = Rule(
            float(row["loss_4_4_pct_per_day"]),
            (float(low), float(high)) if low and high else None,
            float(row["hottest_wet_C"]),
            row["basis"].startswith("loss printed"),
        )
    return found


def rule_of(species: Species) -> Rule:
    """The rule of a wood: its own row, else its transport group's.

    Of a name of several woods it is the most careful of those that make a tenth of it or more.
    """
    rules = _rules()
    names = [one.id for one in species.members if one.share >= MEANT_AT_LEAST] or [species.id]
    own = [rules[name] for name in names if name in rules]
    if not own:
        return rules[species.transport_group]
    return min(own, key=lambda one: one.loss)


@dataclass(frozen=True, slots=True)
class Fastest:
    """How fast some wood dried at most.

    Attributes
    ----------
    loss : ndarray (samples,)
        Largest loss of any day [% M]; 0 where it never lost.
    index : ndarray (samples,)
        Largest of a day's loss over what is allowed that day [-].
    day : float
        To the beginning of the day on which the central case comes nearest to it [days].
    allowed : float or None
        On that day [% M]; None where any loss will do throughout.
    """

    loss: Floats
    index: Floats
    day: float
    allowed: float | None

    def chance(self, also: ArrayLike = 0.0) -> float:
        """Share of the draws in which the index, or another, passes 1; of all without draws."""
        over = np.maximum(self.index, also) > 1.0
        return float(over[1:].mean() if over.size > 1 else over[0])


def fastest(days: Floats, mean: Floats, rule: Rule, thickness: float) -> Fastest:
    """The fastest days of a course, each from midnight to midnight after its beginning.

    Parameters
    ----------
    days : ndarray (times,)
        Ascending; days farther apart than one count evenly in between [days].
    mean : ndarray (times, samples)
        Mean moisture [%].
    rule : Rule
    thickness : float
        [m].
    """
    cuts = days[0] + np.arange(max(1, int(days[-1] - days[0])) + 1.0)
    level = np.stack([np.interp(cuts, days, one) for one in mean.T], axis=1)
    loss = np.maximum(-np.diff(level, axis=0), 0.0)
    allowed = rule.allowed(thickness, level[:-1])
    index: Floats = loss / allowed
    central = index[:, 0] if index[:, 0].any() else loss[:, 0]
    worst = int(np.argmax(central))
    limit = float(allowed[worst, 0])
    return Fastest(
        loss.max(axis=0),
        index.max(axis=0),
        float(cuts[worst] - days[0]),
        limit if np.isfinite(limit) else None,
    )


def unlikely(chance: float) -> bool:
    """Whether a chance [0 to 1] is as good as none."""
    return chance < UNLIKELY


def likely(chance: float) -> bool:
    """Whether a chance [0 to 1] is as good as certain."""
    return chance > LIKELY
