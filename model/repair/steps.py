"""The order of a repair: every step, when it is taken, what ends it (data/repair_steps.csv)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from model.basis import table
from model.codes import Caution, Said

NEEDS_WEIGHT: Final = "heavy"  # a caution that tells the slab's weight


@dataclass(frozen=True, slots=True)
class Rule:
    """A row of the table: a step's place in the order and what can hurt someone at it.

    `when` and `until` say in a few words when it is taken and what ends it; `basis` is how it is
    known.
    """

    order: int
    code: str
    when: str
    until: str
    cautions: tuple[str, ...]
    basis: str


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the work.

    Attributes
    ----------
    does : Said
        The step, as its code with figures.
    day : float
        Days from today when it begins, as far as the days before it are known.
    days : float or None
        How long it lasts; None where it is a matter of hours, or nobody knows.
    low, high : float or None
        Nine times in ten between these.
    only_if : str
        Code of what must be found for it to be taken; empty where it is taken in any case.
    earliest : bool
        Whether `day` is only the first it may be: a step before it lasts nobody knows how long.
    """

    does: Said
    day: float = 0.0
    days: float | None = None
    low: float | None = None
    high: float | None = None
    only_if: str = ""
    earliest: bool = False

    @property
    def code(self) -> str:
        """Its code in the table."""
        return self.does.code

    @property
    def rule(self) -> Rule:
        """Its row of the table."""
        return rules()[self.does.code]

    def cautions(self, weight: float | None) -> list[Caution]:
        """What can hurt someone at it; a slab's weight [kg] where it is known."""
        told = []
        for code in self.rule.cautions:
            if code != NEEDS_WEIGHT:
                told.append(Caution(code))
            elif weight is None:
                told.append(Caution("heavy-unweighed"))
            else:
                told.append(Caution("heavy", weight=weight))
        return told


@cache
def rules() -> dict[str, Rule]:
    """The table by code, in the order of the work."""
    return {
        row["code"]: Rule(
            int(row["order"]),
            row["code"],
            row["when"],
            row["until"],
            tuple(row["cautions"].split()),
            row["basis"],
        )
        for row in table("repair_steps.csv")
    }
