"""Faults that verdicts on evidence, on drying and on repairs once had, or might have."""

from __future__ import annotations

from tests.mutants.back import Back

_TRIED = "model/answers/diagnosis/tried.py"
_STORIES = "model/answers/diagnosis/stories.py"
_DIAGNOSE = "model/answers/diagnosis/diagnose.py"
_POSTERIOR = "model/answers/diagnosis/posterior.py"
_FIT = "model/answers/readiness/fit.py"
_READY = "model/answers/readiness/ready.py"
_READINESS = "api/questions/readiness/answer.py"
_EVIDENCE = "model/behaviour/evidence.py"
_DRYING = "model/answers/drying.py"
_CONDITIONING = "model/answers/conditioning.py"
_MACHINES = "model/surroundings/machines.py"
_SAFE = "model/behaviour/safe_drying.py"
_REPAIR = "model/repair/plan.py"
_WAYS = "model/repair/ways.py"
_HAPPENED = "model/repair/happened.py"

EVIDENCE = (
    Back(
        "pins of which no depth is told stand at the mean's",
        _FIT,
        "        if not all(one.depth_told for one in self.observations):\n"
        '            names.append("depth")\n',
        "",
    ),
    Back(
        "a reading of which no depth is told is at the mean's",
        _EVIDENCE,
        "    untold = UNTOLD_DEPTH * 1.5 * BOW_PRIOR * np.array([not one.depth_told for one in "
        "corrected])\n",
        "    untold = 0.0 * np.array([not one.depth_told for one in corrected])\n",
    ),
    Back(
        "weights alone say ready",
        _READY,
        '        reasons.append(Reason("weights-alone"))\n',
        "        pass\n",
    ),
    Back(
        "a meter's bias is not shared by its dated readings",
        _FIT,
        "    shared: Floats = np.outer(bias, bias) * alike\n    return",
        "    shared: Floats = np.diag(bias**2)\n    return",
    ),
    Back(
        "a meter's bias is not shared by its readings of a day",
        _EVIDENCE,
        "    shared: Floats = (np.outer(bias, bias) + np.outer(untold, untold)) * alike\n",
        "    shared: Floats = np.diag(bias**2 + untold**2)\n",
    ),
    Back(
        "a meter's bias is not shared by what a diagnosis reads",
        _TRIED,
        "        shared = SHARED_BIAS * np.outer(errors * by_meter, errors * by_meter)\n",
        "        shared = 0.0 * np.outer(errors * by_meter, errors * by_meter)\n",
    ),
    Back(
        "a piece dried beside the pins calibrates nothing",
        _FIT,
        "        bias[[one.group in METERS for one in observations]] = UNCALIBRATED\n",
        "        pass\n",
    ),
    Back(
        "a face left out is bare",
        _READINESS,
        "    untold = (faces.top is UNTOLD, faces.bottom is UNTOLD)\n",
        "    untold = (False, False)\n",
    ),
    Back(
        "a bench of which nobody told is none",
        _FIT,
        '(("lid", "bench"), self.case.untold, strict=True) if drawn\n',
        '(("lid", "bench"), self.case.untold, strict=True) if drawn and name == "lid"\n',
    ),
    Back(
        "scatter is called water",
        _FIT,
        "        if excess > REWETTING * max(1.0, usual):\n",
        "        if excess > REWETTING:\n",
    ),
    Back(
        "wood of which no warmth is told is at 20 degrees",
        _READINESS,
        "temperature=float(air.at(day)[0]), room_temperature=True",
        "temperature=20.0, room_temperature=True",
    ),
    Back(
        "a bark side nobody told is up",
        _STORIES,
        "    if slab.bark_known:\n        return [history]\n",
        "    return [history]\n",
    ),
    Back(
        "what does not fit names a cause",
        _DIAGNOSE,
        " and misfit <= MISFIT and abs(seen) >= UNCUPPED\n",
        " and abs(seen) >= UNCUPPED\n",
    ),
    Back(
        "of what does not fit nothing else is tried",
        _DIAGNOSE,
        "    if found.misfit <= MISFIT and not unasked:\n        return ()\n",
        "    return ()\n",
    ),
    Back(
        "a few draws decide unseen",
        "model/fitting.py",
        "    if counts(1.0):\n        return 1.0\n",
        "    return 1.0\n",
    ),
    Back(
        "a misfit widens no error of a diagnosis",
        _POSTERIOR,
        "    wider = max(misfit / WELL, 1.0) ** 2\n",
        "    wider = 1.0\n",
    ),
    Back(
        "a misfit widens no error of a readiness",
        _FIT,
        "    return float(np.sqrt(cost / readings)) if cost > usual else 1.0\n",
        "    return 1.0\n",
    ),
    Back(
        "a cause is named that is likelier than not",
        _DIAGNOSE,
        "    sure = first.chance >= SURE and ",
        "    sure = first.chance >= 0.5 and ",
    ),
    Back("it was never too wet at fitting", _STORIES, "        *_wet(teller),\n", ""),
    Back("the room is always as told", _STORIES, "        *_other_room(teller),\n", ""),
    Back("both faces always have one air", _STORIES, "        *_two_airs(teller),\n", ""),
    Back("no flattening comes back", _STORIES, "        *_sprung(teller),\n", ""),
    Back("nothing is fixed solid", _STORIES, "        *_fixed(teller),\n", ""),
    Back(
        "no stress is locked in",
        _STORIES,
        '        yield teller.tell("locked_in_stress", 0.5 * weight, Departure(locked=locked))\n',
        "        yield from ()\n",
    ),
    Back(
        "ready by its mean alone",
        _READY,
        "        gap = np.maximum(near, np.ptp(run.moisture, axis=-1) / EVEN_WITHIN)\n",
        "        gap = near\n",
    ),
    Back("ready at half a chance", _READY, "SURE: Final = 0.98", "SURE: Final = 0.50"),
    Back(
        "a load does not dampen the air it dries in",
        _DRYING,
        "    if stock.dry_mass is None or shop.air_changed is None:\n        return None\n",
        "    return None\n",
    ),
    Back(
        "a machine is sized without the wood's own water",
        _DRYING,
        "    asked = np.maximum(alone - high, 0.0) * a_point\n",
        "    asked = np.maximum(free - high, 0.0) * a_point\n",
    ),
    Back(
        "a compressor keeps its rating in the cold",
        _MACHINES,
        "    return np.asarray(iced(temperature) * output(temperature, humidity))\n",
        "    return np.asarray(output(temperature, humidity))\n",
    ),
    Back(
        "a machine keeps its rating in dry air",
        _MACHINES,
        "    return np.maximum(ratio, 0.0)\n",
        "    return np.ones_like(ratio)\n",
    ),
    Back(
        "windows drip unsaid",
        _DRYING,
        "        drips = machines.highest_before_dripping(warm, shop.outdoor_temperature[month], "
        "shop.panes)\n",
        "        pass\n",
    ),
    Back(
        "a humidifier is set above what the windows bear",
        _DRYING,
        "    low = np.minimum(np.maximum(wanted - band, 1.0), shop.drips_above)\n",
        "    low = np.maximum(wanted - band, 1.0)\n",
    ),
    Back(
        "what a machine condenses warms nothing",
        _DRYING,
        "        float(np.sum(removed * (latent + machines.CURRENT[0]))),\n",
        "        float(np.sum(removed * machines.CURRENT[0])),\n",
    ),
    Back(
        "a humidistat has no dead band",
        _DRYING,
        "    band = np.where(near, machines.DEAD_BAND, 0.0)\n",
        "    band = np.zeros_like(wanted)\n",
    ),
    Back(
        "no day's loss is too large",
        _DRYING,
        "    chance = fast.chance(skin)\n",
        "    chance = 0.0\n",
    ),
    Back(
        "all woods may dry as fast",
        _SAFE,
        "    return min(own, key=lambda one: one.loss)\n",
        '    return rules["open ring-porous"]\n',
    ),
    Back(
        "thick wood may dry as fast as thin",
        _SAFE,
        "        result: Floats = self.loss * scale**THICKNESS_POWER\n",
        "        result: Floats = self.loss * scale**0.0\n",
    ),
    Back(
        "wet wood is told to be damped",
        _CONDITIONING,
        '        return "leave" if month.equilibrium_at_shop < target else month.means\n',
        "        return month.means\n",
    ),
)

REPAIR = (
    Back(
        "a slab whose core nobody read is worked on",
        _REPAIR,
        "        if not story.core_read and not (sound and self._slid):\n"
        '            return "read-first"\n',
        "",
    ),
    Back(
        "a slab on its way that nobody read has its days",
        _REPAIR,
        "days_within_1 if known and self.resting is not None else None\n",
        "days_within_1 if self.resting is not None else None\n",
    ),
    Back(
        "nothing is ever given up",
        _REPAIR,
        '        if ways.hopeless(story) is not None:\n            return "give-up"\n',
        "",
    ),
    Back(
        "a heart in it is pulled flat",
        _WAYS,
        '    if boxed(story):\n        return _without_force(story, cup, day, "boxed")\n',
        "",
    ),
    Back(
        "a heart in it is held by bars",
        _REPAIR,
        "        if ways.boxed(story) or story.slab_now.length is None:\n",
        "        if story.slab_now.length is None:\n",
    ),
    Back(
        "a cup of the rings is clamped",
        _WAYS,
        '    if what.chance("rings") > 1.0 - UNLIKELY:\n'
        '        return _without_force(story, cup, day, "rings")\n',
        "",
    ),
    Back(
        "what sprang back is flattened again",
        _WAYS,
        "    if story.done.flattened is not None:\n"
        '        return _without_force(story, cup, day, "sprang-back")\n',
        "",
    ),
    Back(
        "a flattening that is refused is a step",
        _WAYS,
        '    if made.verdict not in ("yes", "risky"):\n',
        '    if made.verdict == "never":\n',
    ),
    Back(
        "a damp or uneven slab waits for nothing",
        _REPAIR,
        "        return (off is not None and abs(off) > OFF_ROOM) or "
        "(uneven is not None and uneven > UNEVEN)\n",
        "        return False\n",
    ),
    Back(
        "a cup is skipped that more likely than not goes by itself",
        _REPAIR,
        "        if flat is not None and flat > SURE:\n",
        "        if flat is not None and flat > 0.5:\n",
    ),
    Back(
        "a slab that slid has shrunk",
        _HAPPENED,
        "    slid = grew is not None and most is not None and grew > most\n",
        "    slid = False\n",
    ),
    Back(
        "unlike faces stay so while it waits",
        _REPAIR,
        "        self._alike_now()\n",
        "",
    ),
    Back(
        "what an answer gave comes back surer",
        _EVIDENCE,
        "        reach = (np.asarray(self.high) - np.asarray(self.low)) / (2.0 * TO_DECILE)\n"
        "        mean = (self.mean[2] - self.mean[1]) / (2.0 * TO_DECILE)\n",
        "        reach = (np.asarray(self.high) - np.asarray(self.low)) / (4.0 * TO_DECILE)\n"
        "        mean = (self.mean[2] - self.mean[1]) / (4.0 * TO_DECILE)\n",
    ),
    Back(
        "the error told of a reading counts for nothing",
        _EVIDENCE,
        "            scatter, bias = (one * self.error / whole for one in (scatter, bias))\n",
        "            pass\n",
    ),
)
