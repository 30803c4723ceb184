"""Faults that verdicts once had, to be put back one by one: each must be noticed.

    python -m tests.mutants verdicts

A fault is written as what stands in the code and what stood, or might have stood, there before.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Back:
    """A fault that once was: `now` stands once in the file; `was` takes its place."""

    name: str
    path: str
    now: str
    was: str

    def wrong(self, source: str) -> str:
        """Put the fault into the source of its file."""
        if source.count(self.now) != 1:
            raise ValueError(f"{self.name}: stands {source.count(self.now)} times in {self.path}")
        return source.replace(self.now, self.was)

    @property
    def line(self) -> int:
        """The first line it changes."""
        source = (ROOT / self.path).read_text()
        before = source[: source.index(self.now)]
        lead = len(self.now) - len(self.now.lstrip())
        return before.count("\n") + 1 + self.now[:lead].count("\n")

    def told(self, _source: str) -> str:
        return f"{self.path}:{self.line}: [{self.name}]"


_FLATTEN = "model/answers/flattening/flatten.py"
_TREATMENTS = "model/answers/flattening/treatments.py"
_STIFFENING = "model/answers/stiffening.py"
_STIFFENERS = "model/behaviour/stiffeners.py"
_FORCES = "model/behaviour/bar_forces.py"
_FIXINGS = "model/behaviour/fixings.py"
_ANCHORAGE = "model/behaviour/anchorage.py"
_KEYS = "model/behaviour/keys.py"
_FASTENERS = "model/properties/fasteners.py"
_STRENGTH = "model/properties/strength.py"
_COURSE = "model/behaviour/course.py"

HOLDING = (
    Back(
        "a plan whose draws break the slab is proposed",
        _FLATTEN,
        "        if treatments.chance_of_breaking(case, stays_of(case, plan)) < UNLIKELY:\n"
        "            return plan\n",
        "        return plan\n",
    ),
    Back(
        "a way that breaks the slab is recommended",
        _TREATMENTS,
        "return self.breaks < UNLIKELY",
        "return True",
    ),
    Back(
        "try it, though it may break",
        _FLATTEN,
        "    if made.breaks >= UNLIKELY:\n        return",
        "    if made.breaks >= 2.0:\n        return",
    ),
    Back(
        "bars are taken as bent to the cup",
        _STIFFENERS,
        "if self.shimmed else 0.0",
        "if self.shimmed or cup else 0.0",
    ),
    Back(
        "ways are ranked by one day's cup",
        _TREATMENTS,
        "        drawn_ = self.largest_in_year[1:] if self.largest_in_year.size > 1 "
        "else self.largest_in_year",
        "        drawn_ = self.after_year[1:] if self.after_year.size > 1 else self.after_year",
    ),
    Back(
        "each way has a year of its own",
        _TREATMENTS,
        "        max(begins - days, 0.0) + YEAR,\n",
        "        YEAR,\n",
    ),
    Back(
        "of a ripped slab one strip is followed",
        _TREATMENTS,
        "    panel = replace(case, slab=glued_up(case.slab), cup=case.cup / count**2)\n",
        "    strip = replace(case.slab, width=case.slab.width / count)\n"
        "    panel = replace(case, slab=strip, cup=case.cup / count**2)\n",
    ),
    Back(
        "keys must stop all of the shrinkage",
        _KEYS,
        "    share = np.minimum(HINGE * under**2 / (1.0 - 0.5 * key - 0.5 * under), HINGE_MOST)\n",
        "    share = np.ones_like(under)\n",
    ),
    Back(
        "held flat, keys must stop all of the shrinkage",
        _KEYS,
        "np.asarray(whole * lever * bend * np.where(low < 0.0, inward, outward) / loose)\n",
        "np.asarray(whole / thickness * np.ones_like(low))\n",
    ),
    Back(
        "splitting from a key's pocket is left out",
        _KEYS,
        '        (splits * SPLITTING_DESIGN, "slab-splits"),\n',
        "",
    ),
    Back(
        "a check opens at the near face alone",
        _KEYS,
        "        sure * shape.radial_check_opening(near, -missing, none),\n",
        "        0.0 * near,\n",
    ),
    Back(
        "stiffening drops what the plan of the fixings says",
        _STIFFENING,
        "        notes=(*free.notes, *_of_fixings(planned), *notes),\n",
        "        notes=(*free.notes, *notes),\n",
    ),
    Back(
        "a thread holds where there is no wood",
        _FIXINGS,
        "    holds = anchorage.threaded(fastener, wood)\n",
        "    holds = fastener\n",
    ),
    Back(
        "edge and end weaken nothing",
        _ANCHORAGE,
        "    wood = held.allowable * edge\n",
        "    wood = held.allowable\n",
    ),
    Back(
        "a bolt is never the weakest",
        _ANCHORAGE,
        '        (bolt, "bolt-parts"),\n',
        "",
    ),
    Back(
        "a head never draws through",
        _ANCHORAGE,
        '        parts.append((head, "head-draws-through"))\n',
        "        pass\n",
    ),
    Back(
        "the end fixings decide alone",
        _FORCES,
        "max(range(len(across)), key=lambda i: (round(chances[i], 6), asked[i]))\n",
        "max((0, len(across) - 1), key=lambda i: (round(chances[i], 6), asked[i]))\n",
    ),
    Back(
        "a bar reaches from edge to edge",
        _STIFFENERS,
        "    reach = stiffeners.reach(width)\n",
        "    reach = (0.0, width)\n",
    ),
    Back(
        "EN 1995 is asked along the grain",
        _FASTENERS,
        '        if covered and fastener.grain == "side":\n',
        "        if covered:\n",
    ),
    Back(
        "of water taken up, what the other face loses is drawn off",
        _FLATTEN,
        "    gained = series.mean[row] - control.mean[-1]\n",
        "    gained = series.mean[row] - series.mean[0]\n",
    ),
    Back(
        "wet down to, whatever was wet before",
        _FLATTEN,
        "    more = series.profile(days)[1] - without\n",
        "    more = series.profile(days)[1] - without.min()\n",
    ),
    Back(
        "warmth softens nothing",
        _STRENGTH,
        "    amount = np.abs(stress) * warm_modulus(warmth)\n",
        "    amount = np.abs(stress)\n",
    ),
    Back(
        "the skin does not soften with warmth",
        _TREATMENTS,
        "    index = np.maximum(done.index_top, done.index_bottom) * softer[:, None]\n",
        "    index = np.maximum(done.index_top, done.index_bottom)\n",
    ),
    Back(
        "what water and clamps do is promised in full",
        _TREATMENTS,
        "    comes[0] = 1.0\n",
        "    comes[:] = 1.0\n",
    ),
    Back(
        "a plan at the edge of its grid is not told",
        _FLATTEN,
        '        told.append(Note("plan-at-the-edge", hours=plan.hours))\n',
        "        pass\n",
    ),
    Back(
        "more bars are wanted than suffice",
        _STIFFENING,
        "    while count > 0 and within(count - 1):\n        count -= 1\n",
        "",
    ),
    Back(
        "the fixed point gets a slot",
        _FIXINGS,
        "            None if index == fixed else clearance,\n",
        "            clearance,\n",
    ),
    Back(
        "a groove costs nothing where bars are compared",
        _STIFFENERS,
        "    left = left_by_grooves(slab, placed.strip, stiffeners)\n",
        "    left = 1.0\n",
    ),
    Back(
        "all of the set shows in the width",
        _COURSE,
        "        * (1.0 + walk.samples.set_in_width * (history.strain - free)),\n",
        "        * (1.0 + (history.strain - free)),\n",
    ),
    Back(
        "no set shows in the width",
        _COURSE,
        "        * (1.0 + walk.samples.set_in_width * (history.strain - free)),\n",
        "        * (1.0 + 0.0 * (history.strain - free)),\n",
    ),
)
