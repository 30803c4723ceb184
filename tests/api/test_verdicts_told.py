"""Verdicts in words: each reached, and a case on either side of each chance that turns one."""

from __future__ import annotations

import datetime
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from api.questions.conditioning import tell as conditioning
from api.questions.course import tell as course
from api.questions.diagnosis import tell as diagnosis
from api.questions.fixings import tell as fixings
from api.questions.flattening import tell as flattening
from api.questions.repair import tell as repair
from api.questions.stiffening import tell as stiffening
from api.units import POUND
from model.codes import Note
from model.spread import Figure


def made(**members: Any) -> Any:
    """What a page reads of a result."""
    return SimpleNamespace(**members)


# A verdict is no below 15 %, yes above 85 %, and between it can't be told (rules of the project).
@pytest.mark.parametrize(
    ("once", "steps", "told"),
    [
        (0.149, 0.149, "slab: 15 %."),
        (0.15, 0.149, "15 % in small steps over weeks: do it in steps"),
        (0.15, 0.15, "at once, 15 % in small steps over weeks: risky"),
        (0.99, 0.85, "85 % in small steps over weeks: risky"),
        (0.99, 0.851, "99 %: do not draw it flat"),
    ],
)
def test_whether_the_wood_bears_being_drawn_straight(once: float, steps: float, told: str) -> None:
    held = made(bends=made(breaks=once, breaks_in_steps=steps))
    assert told in stiffening._wood_in_words(held)


def pulled(verdict: str, weakest: str = "thread-draws", **more: Any) -> Any:
    pulls = made(verdict=verdict, tears=0.25, worst=1, anchor=made(weakest=weakest), **more)
    return made(pulls=pulls, stiffeners=made(across=(0.05, 0.4)), notes=())


@pytest.mark.parametrize(
    ("verdict", "weakest", "told"),
    [
        ("hold", "thread-draws", "The fixings hold: chance that the worst of them, at 400 mm"),
        ("without-margin", "edge-splits", "tearing 25 %), but the one at 400 mm"),
        ("may-tear", "bolt-parts", "at 400 mm may tear (chance 25 %): first the bolt"),
        ("will-tear", "head-draws-through", "tears (chance 25 %): first the head"),
    ],
)
def test_whether_the_fixings_hold(verdict: str, weakest: str, told: str) -> None:
    words = stiffening._fixings_in_words(pulled(verdict, weakest), "metric")
    assert told in words
    cures = [" Take longer", " Move it away", " Take a thicker bolt", " Put a larger washer"]
    assert sum(cure in words for cure in cures) == (verdict != "hold")
    assert "show face" not in words
    nothing = made(pulls=None)
    assert stiffening._fixings_in_words(nothing, "metric") == ""
    through = pulled(verdict, weakest)
    through.notes = (Note("through"),)
    assert "comes out of the show face" in stiffening._fixings_in_words(through, "metric")


@pytest.mark.parametrize(
    ("needed", "careful", "apart", "told"),
    [
        (None, None, None, "No number of such bars keeps it within 3 mm"),
        (3, None, None, "3 such bars likely, but no number for sure"),
        (3, 6, 0.4, "3 such bars, 6 to be careful, 400 mm apart."),
        (1, 1, 0.4, "1 such bars, 1 to be careful."),
        (3, 6, None, "6 to be careful."),
    ],
)
def test_how_many_bars_would_do(needed: Any, careful: Any, apart: Any, told: str) -> None:
    held = made(needed=needed, needed_careful=careful, spacing_careful=apart, notes=())
    assert told in stiffening._wanted_in_words(held, "3 mm", "metric")
    held.notes = (Note("cupped-beyond-the-limit"),)
    assert "more than 3 mm today" in stiffening._wanted_in_words(held, "3 mm", "metric")


def tied(verdict: str = "hold", **more: Any) -> str:
    usual = {
        "capacity": made(weakest="slab-splits"), "tears": 0.25, "verdict": verdict,
        "opening": np.array([0.001]), "needed": 2, "notes": (),
        "by_drying": np.array([60.0]), "demand": np.array([100.0]),
    }  # fmt: skip
    return stiffening._tied_in_words(made(**{**usual, **more}), "metric")


def test_what_keys_do() -> None:
    assert "these hold (chance of giving way 25 %); 2 would be enough" in tied()
    assert "these hold likely (chance of giving way 25 %), without margin" in tied("without-margin")
    assert "may give way (chance 25 %; first the slab splits" in tied("may-tear")
    assert "these give way (chance 25 %" in tied("will-tear")
    # What opens is told where the keys do not hold it, and where a rule shows it.
    assert "check open" not in tied()
    assert "lets the check open, by 1.0 mm at most" in tied("may-tear")
    assert "check open" not in tied("may-tear", opening=np.array([0.00004]))
    assert "as many as fit side by side would not be enough" in tied(needed=None)
    # Drying asks less than half of all: handling does the rest.
    assert "Drying hardly" not in tied(by_drying=np.array([50.0]))
    assert "Drying hardly asks" in tied(by_drying=np.array([49.0]))
    boxed = tied(by_drying=np.array([49.0]), notes=(Note("boxed-heart-held"),))
    assert "Do not both key" in boxed
    assert "Drying hardly" not in boxed


def test_what_bars_are_called_when_there_is_one() -> None:
    def told(count: int, *codes: str) -> str:
        cups = np.array([0.003])
        held = made(
            largest_free=cups, largest_midway=cups, layout=made(count=count), limit=None,
            notes=tuple(Note(code) for code in codes), pulls=None,
            bends=made(breaks=0.0, breaks_in_steps=0.0),
        )  # fmt: skip
        return stiffening._held_in_words(held, "metric")

    assert told(1).startswith("With 1 bar in slots the slab cups 3 mm edges up instead of 3 mm.")
    assert told(2).startswith("With 2 bars in")
    assert "bend for good" not in told(2)
    assert "The bars would bend for good or break" in told(2, "bar-overloaded")


def diagnosed(*codes: str, main: str | None = None) -> str:
    chances = [made(cause="rings", chance=0.41), made(cause="wet_core", chance=0.29)]
    found = made(
        before=Figure(15.9, 14.8, 17.2), main=main, chances=chances,
        notes=tuple(Note(code) for code in codes),
    )  # fmt: skip
    return diagnosis._decision(found)


def test_what_moved_it() -> None:
    start = "It was at about 16 % (15 to 17) moisture before"
    assert diagnosed(main="rings") == f"{start}. The cause: the rings (41 % sure)."
    assert diagnosed("no-cup") == f"{start}; it has no cup to explain."
    assert "if what was seen is right" in diagnosed("does-not-fit")
    assert "Can't tell what bent it. Nothing you told" in diagnosed("nothing-told-bends-it-so")
    assert "the rings (41 %) or a wet core uncovered by planing (29 %)" in diagnosed()
    assert diagnosis._percent(Figure(16.0)) == "16 %"
    assert diagnosis._percent(Figure(16.0, 12.0, float("inf"))) == "16 % or more"


def test_causes_hardly_likely_are_not_named() -> None:
    def rows(*chances: float) -> list[str]:
        found = made(chances=[made(cause="rings", chance=one) for one in chances])
        return [row[1] for row in diagnosis._causes(found).rows]

    assert rows(0.5, 0.02, 0.019) == ["50 %", "2 %"]
    assert rows(0.01, 0.005) == ["1 %"]


def flattened(verdict: str, **more: Any) -> str:
    treatment = made(
        largest_in_year=np.array([0.004]), clamping=None,
        does=Note("plan", wet_face=None, face="top", hours=8.0, warmth=20.0, hold_days=0.0,
                  over_correct=1.0, days=30.0, in_steps=False),
    )  # fmt: skip
    usual = {
        "verdict": verdict, "reasons": (), "proposed": True, "treatment": treatment,
        "helps": 0.6, "breaks": 0.05, "best": "plan", "best_with_loss": "plan",
    }  # fmt: skip
    return flattening._decision(made(**{**usual, **more}), "metric")


def test_whether_flattening_is_worth_it() -> None:
    told = flattened("yes")
    assert "Worth trying, on an offcut first. Best plan found: leave it free to dry 30" in told
    assert "In the year after it cups up to 4 mm edges up." in told
    assert told.endswith("Chance that it helps 60 %, that it splits 5 %.")
    assert "Your plan: " in flattened("risky", proposed=False)
    assert "By your plan it cups up to 4 mm edges up" in flattened("no", proposed=False)
    none = flattened("no")
    assert none.endswith("No plan of water and clamps that was tried does it.")
    assert "Chance" not in none


def test_which_way_leaves_least() -> None:
    assert "least" not in flattened("yes")
    waits = flattened("yes", best="wait", best_with_loss="wait")
    assert waits.endswith("none leaves less than waiting.")
    other = flattened("yes", best="dampen", best_with_loss="rip")
    assert "least is left by: dampen through, dry clamped; of all ways by: rip" in other
    loses = flattened("yes", best_with_loss="dress")
    assert loses.endswith("Of all ways least is left by: dress it flat.")


def test_bars_of_a_plan_say_what_they_bear() -> None:
    def told(breaks: float, pull: float | None = 1000.0, tears: float | None = None) -> list[str]:
        bars = made(
            moment=np.array([64.0]), lasting=np.array([48.0]), breaks=breaks,
            pull=None if pull is None else np.array([pull]), breaks_in_steps=0.02, tears=tears,
        )  # fmt: skip
        plan = made(treatment=made(bars=bars), waiting=made(bars=None))
        return flattening._bars_in_words(plan, "metric")

    [words] = told(0.149)
    assert "each bears up to 64 N m, 48 N m a year on; the fixing" in words
    assert "pulled with up to 1000 N. Chance" in words
    assert words.endswith("splits the slab: 15 %.")
    assert told(0.15)[0].endswith("15 %, 2 % in small steps over weeks.")
    assert "the fixing" not in told(0.0, None)[0]
    assert told(0.0, tears=0.31)[0].endswith("that a fixing tears: 31 %.")


def test_what_a_way_costs() -> None:
    lost = made(thickness_lost=0.006, width_lost=0.012)
    assert flattening._loss(lost, "metric") == " (costs 6 mm of thickness and 12 mm of width)"
    lost.thickness_lost = 0.0
    assert flattening._loss(lost, "metric") == " (costs 12 mm of width)"
    lost.width_lost = 0.0
    assert flattening._loss(lost, "metric") == ""
    assert flattening._short(0.0254 / 4, "us") == "+1/4"
    assert flattening._short(-0.0254 / 4, "us") == "-1/4"
    assert flattening._short(0.0, "us") == "0"
    assert flattening._short(0.0015, "metric") == "+1.5"


def fitted(left: float = 0.02, across: tuple[float, ...] = (0.05, 0.4), **more: Any) -> str:
    slot = made(length=0.02)
    points = tuple(
        made(across=one, slot=slot if index else None) for index, one in enumerate(across)
    )
    planned = made(points=points, nearest=0, fixed=0, fixed_at=0.3, left_under_face=left, notes=())
    for name in ("fixed", "notes"):
        if name in more:
            setattr(planned, name, more.pop(name))
    return fixings._decision(
        made(planned=planned, fixed_solid=None, driest=Figure(6.04), dampest=Figure(10.0), **more),
        "metric",
    )


def test_where_the_slab_is_fixed() -> None:
    between = "the slab will go between 6.0 and 10.0 % moisture."
    assert fitted() == f"Fix the point at 50 mm and slot the others, up to 20 mm long: {between}"
    assert f"needs no slot; {between}" in fitted(across=(0.05,))
    assert "needs a slot 0.0 mm long" in fitted(across=(0.05,), fixed=None)
    assert "No fixing stands at 300 mm" in fitted(fixed=None)
    assert "up to 20 mm long, and hold" in fitted(fixed=None)
    assert "comes out of the show face" in fitted(left=0.0)
    assert "show face" not in fitted(left=0.001)
    thin = fitted(left=0.004, notes=(Note("thin-under-show-face"),))
    assert "Only 4.0 mm is left under the show face" in thin


@pytest.mark.parametrize(
    ("wood", "crush", "first", "told"),
    [
        (0.5, 0.5, "fixings-sideways", ""),
        (0.51, 0.5, "fixings-sideways", "and the wood may split."),
        (0.5, 0.51, "fixings-pulled", "and the wood may crush."),
        (0.6, 0.6, "wood-splits", "the wood would split and crush."),
        (0.6, 0.1, "wood-crushes", "the wood would split."),
    ],
)
def test_fixing_solid_is_advised_against(wood: float, crush: float, first: str, told: str) -> None:
    solid = made(wood_index=np.array([wood]), crush_index=np.array([crush]), first=first)
    slot = made(length=0.02)
    planned = made(points=(made(across=0.05, slot=None), made(across=0.4, slot=slot)), nearest=0,
                   fixed=0, fixed_at=0.05, left_under_face=0.02, notes=())  # fmt: skip
    fitted_solid = made(planned=planned, fixed_solid=solid, driest=Figure(6.0), dampest=Figure(9.0))
    words = fixings._decision(fitted_solid, "metric")
    assert words.endswith(told or "% moisture.")


def steps(**more: Any) -> str:
    words = made(does="Wait", why="It evens out.", until="Two looks agree.")
    step = made(only_if="", code="wait", earliest=False, does=made(figures={}))
    lasts = more.pop("lasts", None)
    for name, value in more.items():
        setattr(step, name, value)
    one = made(step=step, words=words, lasts=lasts, on=datetime.date(2026, 1, 20))
    return repair._step(one, "metric", full=False)


def test_a_step_says_how_long_it_lasts() -> None:
    assert steps() == "Wait Go on: two looks agree."
    assert steps(lasts=Figure(1.9)) == "Wait Go on: two looks agree."
    assert "About 2 days, from 20 January 2026." in steps(lasts=Figure(2.0))
    assert "About 2 days. Go" in steps(lasts=Figure(2.0), earliest=True)
    assert "About 20 days, 10 to 20, from" in steps(lasts=Figure(20.0, 10.0, 20.4))
    assert "About 3 weeks, 1 to 3 weeks, from" in steps(lasts=Figure(21.0, 10.0, 21.0))
    assert "It evens out." in steps(code="rip")
    assert steps(only_if="cup-left").startswith("If a cup is left: Wait")


def test_the_cup_of_the_year_may_go_either_way() -> None:
    def told(low: float, high: float) -> list[str]:
        signed = Figure(0.001, low, high)
        cup = made(amount=Figure(0.001, low, high), shape="edges up")
        return repair._yearly(made(larger=made(signed=signed, cupped=cup)), "metric")

    assert told(-0.003, 0.002) == ["up to 3 mm either way", ""]
    assert told(-0.001, 0.002) == ["up to 2 mm either way", ""]
    assert told(0.0, 0.002) == ["1.0 mm edges up", "0.0 to 2.0"]
    assert told(0.0005, 0.002)[1] == "0.5 to 2.0"


def year(driest: float, **more: Any) -> Any:
    usual = {"means": "heat", "heat_to": Figure(25.0), "humidity": Figure(36.0), "month": 9,
             "equilibrium_at_shop": 8.5, "equilibrium_at_hottest": driest}  # fmt: skip
    return made(**{**usual, **more})


def decided(month: Any, *, now: float = 12.0, begin: str = "heat", target: float = 8.0) -> str:
    found = made(months=[month] * 12, now=now, heat_alone=made(), begin_with=begin)
    asked = made(starts=datetime.date(2026, 9, 25), target=target, hottest=50.0)
    answered = made(result=found, asked=asked, system="metric")
    return conditioning._decision(answered, "8 %")


def test_how_a_shop_holds_a_moisture() -> None:
    assert decided(year(5.0)).startswith("In September heating the shop to 25 °C holds 8 %")
    assert "own temperature hold 36 % relative humidity." in decided(year(5.0))
    assert decided(year(5.0, humidity=None)).endswith("without a drying machine.")
    assert "holds it there" in decided(year(5.0), now=8.0)
    dry = decided(year(5.0, means="humidify", heat_to=None))
    assert "too dry for 8 %: it holds 8.5 %" in dry
    assert dry.endswith("in time, or hold 36 % relative humidity.")
    hot = decided(year(9.1, means="dehumidify", heat_to=None))
    assert "heating to 50 °C comes only to 9.1 %" in hot
    leaves = decided(year(5.0, means="leave"), begin="leave")
    assert "dries it to 8 % with no machine: take it out in time." in leaves
    assert "brings it up to 8 %" in decided(year(5.0), now=6.0, begin="leave")
    assert "From then on hold 36 %" in decided(year(5.0), begin="leave")


def paced(*verdicts: tuple[str, float | None], timed: bool = True) -> str:
    plans = [made(pace=made(verdict=verdict, chance=chance)) for verdict, chance in verdicts]
    return conditioning._too_fast(made(heat_alone=plans[0], held=plans[1], timed=timed))


def test_drying_too_fast_is_told_of_the_worse_plan() -> None:
    assert paced(("safe", 3.0), ("safe", 5.0)) == ""
    assert "may dry faster than is safe against checks (chance 40 %)" in (
        paced(("safe", 3.0), ("cannot_tell", 40.0))
    )
    assert "It dries faster than is safe against checks (chance 90 %)" in (
        paced(("too_fast", 90.0), ("cannot_tell", 40.0))
    )
    assert "It dries faster than is safe against checks: dry" in (
        paced(("too_fast", None), ("safe", 1.0))
    )
    assert paced(("too_fast", 90.0), ("safe", 1.0), timed=False) == ""
    assert conditioning.mass_words(POUND, "us") == "1.00 lb"


def stressed(index: float) -> str:
    one = made(largest_index=Figure(index), largest_index_face="top", largest_index_day=3.0)
    return course._verdict(made(stays=[one]))


def test_stress_warns_from_six_tenths() -> None:
    from model.behaviour.section import WARN_INDEX

    assert "Sound wood should not check." in stressed(WARN_INDEX - 0.01)
    assert f"From {WARN_INDEX:g} on expect hair checks" in stressed(WARN_INDEX)


@pytest.mark.parametrize(
    ("largest", "last", "told"),
    [
        # A tenth more than at the end and a tenth of a millimetre are worth a sentence.
        (0.0110, 0.010, False),
        (0.0112, 0.010, True),
        (-0.0112, 0.010, True),
        (0.0010, 0.0009, False),
        (0.0012, 0.0009, True),
    ],
)
def test_the_largest_cup_is_told_where_it_is_not_the_last(
    largest: float, last: float, told: bool
) -> None:
    shape = "edges up" if largest > 0 else "edges down"
    stay = made(
        last=44.0, mean=Figure(9.0), width=Figure(0.6), cup=Figure(last),
        cupped=made(shape="edges up"), largest_cup=Figure(largest), largest_cup_day=12.0,
        most_cupped=made(cupped=made(shape=shape)),
    )  # fmt: skip
    words = course._decision(made(stays=[stay]), "metric")
    assert ("Its largest cup is" in words) == told
    if told:
        assert f"{shape}, about day 12." in words
