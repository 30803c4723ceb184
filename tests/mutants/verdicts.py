"""Faults that verdicts once had, to be put back one by one: each must be noticed.

    python -m tests.mutants verdicts

Those of holding stand here, those of evidence and of repairs in `verdicts_of_evidence`.
"""

from __future__ import annotations

from tests.mutants.back import Back
from tests.mutants.verdicts_of_evidence import EVIDENCE, REPAIR

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
_RINGS = "model/behaviour/rings.py"
_TRIED = "model/answers/diagnosis/tried.py"

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
        "bars packed out to the cup are taken as straight",
        _STIFFENERS,
        "if self.shimmed else 0.0",
        "if self.shimmed and not cup else 0.0",
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
    Back(
        "likelier than not to help is a yes",
        _FLATTEN,
        '    return "yes" if helps > 1.0 - UNLIKELY else "cannot-tell"\n',
        '    return "yes" if helps > 0.5 else "cannot-tell"\n',
    ),
    Back(
        "a fixing holds by its allowable value alone",
        _ANCHORAGE,
        '    if tears >= strength.UNLIKELY:\n        return "may-tear"\n',
        "",
    ),
    Back(
        "a check opens all at once as the pith crosses the face",
        _KEYS,
        "    sure = inside**2 * (3.0 - 2.0 * inside)\n",
        "    sure = np.where(below < 0.0, 1.0, 0.0)\n",
    ),
    Back(
        "keys in a slab held flat are asked what a free one asks",
        _KEYS,
        '    flat = along.held == "flat" if flattened is None else flattened\n',
        "    flat = 0.0\n",
    ),
    Back(
        "a key's depth does not matter where it is held flat",
        _KEYS,
        "    lever = 0.125 if key <= 0.5 else 0.5 * key * (1.0 - key)\n",
        "    lever = 0.125\n",
    ),
    Back(
        "bars over a boxed heart are not warned of",
        _KEYS,
        "    if slab.pith_is_inside and flat > 0.1:\n",
        "    if slab.pith_is_inside and flat > 2.0:\n",
    ),
    Back(
        "the width goes by straight rings, the cup by a pith",
        "model/behaviour/shape.py",
        "    return _chord(geometry, change)[0]\n",
        "    return 2.0 * geometry.half_width * (1.0 + change.mean_tangential)\n",
    ),
    Back(
        "the thickness goes by straight rings, the cup by a pith",
        _RINGS,
        "        tangential_share=share_between(-half, half, pith),\n",
        "        tangential_share=np.ones_like(pith.below),\n",
    ),
    Back(
        "a pith lies a third of the width below, whatever the log",
        _RINGS,
        "    radius = pith_radius(slab.width, angle, deviates)\n",
        "    radius = np.full(deviates.shape, 0.35 * slab.width)\n",
    ),
    Back(
        "slots go by one strain for the whole width",
        _FIXINGS,
        "    share = rings.share_between(first, second, timber.pith_of(slab, samples))\n",
        "    share = rings.share_between(\n"
        "        -0.5 * slab.width, 0.5 * slab.width, timber.pith_of(slab, samples)\n"
        "    )\n",
    ),
    Back(
        "diagnosis takes a share of its own of the set into the width",
        _TRIED,
        '            set_in_width=ndtr(column["set_in_width"]),\n',
        "            set_in_width=np.full(count, 0.7),\n",
    ),
    Back(
        "the share of set in the width is chosen, not drawn",
        "model/spread.py",
        "        set_in_width=_evenly(draws + 1),\n",
        "        set_in_width=np.full(draws + 1, 0.5),\n",
    ),
    Back(
        "grain beside a pith is refused though they agree",
        "api/shapes/slab.py",
        "    if not told or told[highest][0] <= told[lowest][1]:\n",
        "    if len(told) < 2:\n",
    ),
    Back(
        "grain beside a pith is taken though they do not agree",
        "api/shapes/slab.py",
        "        _refuse_unlike(told)\n",
        "",
    ),
    Back(
        "whoever sits on a corner is not asked about",
        "model/answers/load.py",
        '"bears-it" if corner.index <= 1.0 else "not-at-a-corner"',
        '"bears-it"',
    ),
    Back(
        "a groove under an overhang weakens nothing",
        "model/answers/load.py",
        "    lost = groove if near else 0.0\n",
        "    lost = 0.0\n",
    ),
    Back(
        "grooves cost a span nothing",
        "model/answers/load.py",
        "            span, slab.thickness - groove, ",
        "            span, slab.thickness, ",
    ),
    Back(
        "somebody sits on a checked overhang",
        "model/answers/load.py",
        "    if checked or edge.index > 1.0:\n",
        "    if edge.index > 1.0:\n",
    ),
    Back(
        "ends that dry first are not told",
        "model/behaviour/edges.py",
        "    if depth[deepest] < LEAST_ZONE:\n",
        "    if depth[deepest] < 1e9:\n",
    ),
    Back(
        "stress brought along moves nothing",
        _COURSE,
        "        came_with = brought.set_of(slab.brought, ",
        "        came_with = brought.set_of(None, ",
    ),
    Back(
        "every other holding has travel enough",
        "model/behaviour/holdings.py",
        "        found.append(Judged(one, travel, enough(travel, inward, outward), needs))\n",
        "        found.append(Judged(one, travel, True, needs))\n",
    ),
    Back(
        "no twist is told",
        "model/answers/movement.py",
        "    if spiral is not None and slab.pith_below is not None:\n",
        "    if spiral is None and slab.pith_below is not None:\n",
    ),
    Back(
        "a heart in the middle of the thickness is not warned of",
        "model/answers/movement.py",
        "    if slab.pith_is_inside and _shallow(slab):\n",
        "    if slab.pith_is_inside and not slab.pith_is_inside:\n",
    ),
    Back(
        "wetting the hollow face is not advised against",
        _FLATTEN,
        '        told.append(Reason("hollow-wetted"))\n',
        "        pass\n",
    ),
    Back(
        "a slab with one damp face is not told to even out first",
        _FLATTEN,
        " or abs(treatments.uneven(case)) >= UNEVEN:\n        return",
        ":\n        return",
    ),
)

EVERY = (*HOLDING, *EVIDENCE, *REPAIR)
