"""What sentences say of their figures, and how much each bears on what somebody does next."""

from __future__ import annotations

import re
from typing import Any, Final

import pytest

from api import words
from api.words.flattening import done
from api.words.repair import STEPS, said
from api.words.sentence import filled, size, warmer, warmth, weight
from model.codes import Said

# Judged once, with a maker in mind who reads a short text alone: it keeps every note that bears on
# the decision (1), and tells its gravest cautions first.  What stands in neither list is of rank 2.
DECIDES: Final = """
    after-the-log air-near-saturation assumed-pith bar-overloaded bark-guessed bark-untold
    bars-draw-flat bars-far-apart bars-slide boxed-heart boxed-heart-held cannot-tell cellar-rough
    checked-overhang checks clear-wood condensation confidence-low contradiction creep
    cupped-beyond-the-limit dehumidifier-stops dehumidifier-too-cold depth-assumed depth-drawn
    destination-year does-not-fit dries-too-fast edge-beyond-fixing edge-distance end-distance
    even-out-first faces-drawn faces-guessed figured-wood finish-off fits-otherwise
    gradient-unknown groove-weakens heat-treated heating-assumed heating-not-enough
    heating-over-dries heating-unsure height-far held-by-core held-by-meter held-by-panes
    insert-judged key-grain key-pith-unknown key-ties-only late little-proof machine-stops
    machine-too-cold machine-too-small may-have-slid may-honeycomb mean-curve moisture-even
    moisture-guessed moisture-unknown near-fibre-saturation no-cup no-end-grain-withdrawal
    no-equilibrium no-history no-point-on-the-fixed-line no-reading-of-the-body not-ready-here
    nothing-told-bends-it-so occupation-assumed out-of-range panes-hold-lower pith-inside
    place-taken plan-at-the-edge rate-unlike-species re-wetted readings-contradict
    readings-left-out readings-out-of-range sawn-in-name set-humidistat slab-untold slid
    sorption-cold-or-hot sorption-damp sorption-stretched species-uncorrected springs-back
    stand-in starts-flat stuck surface-meter temperature-assumed thin-under-show-face
    thread-clipped thread-short through times-uncertain times-weak too-far-past-flat
    too-hot-for-wet-core too-little ventilation-short walls-assumed weak-shrinkage
    weights-and-clamps windows-drip wood-group year-not-found
    clamps drying-faster fast-drying-checks fuel-dampens heaters heaters-of-a-shop no-longer-held
    people structure weights
"""
BACKGROUND: Final = """
    age-assumed built-in-safety finish-taken length load-across log-averaged log-clock log-ends
    log-standing-clock month-mean-cut out-of-line rings-and-ends sea-level series-thinned
    steps-practice stiffness weather-file yearly-theory
    dust
"""


def test_what_bears_on_the_decision_is_what_was_judged_so() -> None:
    ranked = {code: one.rank for code, one in {**words.NOTES, **words.CAUTIONS}.items()}
    assert {code for code, rank in ranked.items() if rank == 1} == set(DECIDES.split())
    assert {code for code, rank in ranked.items() if rank == 3} == set(BACKGROUND.split())
    assert {one.rank for one in {**words.REASONS, **words.REFUSALS}.values()} == {2}


def test_notes_and_cautions_come_by_their_rank() -> None:
    from model.codes import Caution, Note

    notes = words.notes([Note("stiffness"), Note("springs-back"), Note("warmth", hours=2.0)])
    assert [one.rank for one in notes] == [1, 2, 3]
    told = words.short_cautions([Caution("dust"), Caution("oven"), Caution("structure")])
    assert [one.split(":")[0] for one in told] == [
        "Structural or overhead use", "Oven", "Drilling and grooving",
    ]  # fmt: skip


SAYS: Final[list[tuple[str, dict[str, Any], list[str]]]] = [
    # code, its figures, what must be said
    ("assumed-pith", {"pith": 0.08, "near": 0.05, "far": 0.2, "share": 62.4, "bark_side": "top"},
     ["80 mm (3.15 in)", "50 mm", "200 mm", "62 % of the width", "The bark side is the top"]),
    ("wood-group",
     {"name": "oak", "woods": (("white oak", 0.6), ("red oak", 0.4)), "narrower": 0.2},
     ["Oak is", "white oak (60 %)", "red oak (40 %)", "narrows by 20 %"]),
    ("wood-group", {"name": "oak", "woods": (("white oak", 1.0),), "narrower": 0.049},
     ["Say which."]),
    ("wood-group", {"name": "oak", "woods": (("white oak", 1.0),), "narrower": 0.05},
     ["narrows by 5 %"]),
    ("sorption-of-wood",
     {"name": "teak", "at_60": 0.8, "at_90": 0.9, "spread": 0.06, "source": ""},
     ["0.80 of", "0.90 from", "0.06", "Teak"]),
    ("sorption-of-wood",
     {"name": "oak", "at_60": 1.0, "at_90": 1.0, "spread": 0.06, "source": ""},
     ["as much water as most woods, give or take 0.06"]),
    ("sorption-of-wood",
     {"name": "oak", "at_60": 1.0, "at_90": 0.9, "spread": 0.06, "source": ""}, ["0.90 from"]),
    ("moisture-by-readings", {"count": 1}, ["from 1 reading with"]),
    ("moisture-by-readings", {"count": 2}, ["from 2 readings with"]),
    ("moisture-unknown", {"story": "stack", "low": 11.6, "high": 18.4},
     ["It comes from a stack", "12 to 18 %"]),
    ("contradiction", {"readings": (2, 5), "deviations": 3.0, "left_out": True},
     ["Reading 2, 5 ", "more than 3 standard", "left out of the fit"]),
    ("contradiction", {"readings": (2,), "deviations": 2.5, "left_out": False},
     ["more than 2.5 standard", "say. Read"]),
    ("too-little", {"dated": True, "before": 2.24}, ["One date", "2.2 times"]),
    ("too-little", {"dated": False, "before": 2.24}, ["One reading"]),
    ("stuck", {"settles": 9.24, "target": 8.0, "humidity": 38.4},
     ["near 9.2 %", "to 8.0 %", "about 38 % relative"]),
    ("stuck", {"settles": 9.24, "target": 8.0, "humidity": None}, ["8.0 % here."]),
    ("machine-too-small", {"rated": 10.0, "needed": 4.5359237, "above": 7.4},
     ["7 points", "4.5 kg (10.0 lb) a day"]),
    ("machine-too-small", {"rated": 10.0, "needed": None, "above": 7.4}, ["hold. The days"]),
    ("dries-too-fast",
     {"loss": 3.14, "allowed": 2.0, "day": 2.0, "skin": 0.81, "likely": True, "chance": 91.2,
      "printed": False},
     ["It dries", "on day 3:", "3.1 % a day", "at most 2.0 %", "the figure of its kind",
      "0.81 of its strength", "about 91 %"]),
    ("dries-too-fast",
     {"loss": 3.14, "allowed": 2.0, "day": 0.0, "skin": 0.81, "likely": False, "chance": None,
      "printed": True},
     ["It may dry", "on day 1:", "is safe; the skin", "strength. Damper"]),
    ("dries-too-fast",
     {"loss": 3.14, "allowed": None, "day": 0.0, "skin": 0.81, "likely": False, "chance": None,
      "printed": False}, ["3.1 % a day; the skin"]),
    ("species-row", {"row": "red oak", "weak": True}, ["of red oak. They are weakly known."]),
    ("species-row", {"row": "red oak", "weak": False}, ["of red oak. Is your meter"]),
    ("faces-drawn", {"top": True, "bottom": True}, ["on the faces: they are"]),
    ("faces-drawn", {"top": True, "bottom": False}, ["on the top: it is"]),
    ("faces-drawn", {"top": False, "bottom": True}, ["on the bottom: it is"]),
    ("cannot-tell",
     {"first": "rings", "second": "wet_core", "chance": 0.41, "other": 0.29, "measuring": None},
     ["the rings (41 %)", "planing (29 %)."]),
    ("bark-guessed", {"side": "top", "chance": 0.75}, ["the top is likelier (75 %)"]),
    ("fits-otherwise", {"otherwise": "width_wrong", "misfit": 1.26}, ["misfit 1.3"]),
    ("faces-guessed", {"lying": "open", "chance": 0.6}, ["open to the air (60 %)"]),
    ("strip", {"strain": 5e-4, "is_large": True, "moisture_difference": -3.6},
     ["500 millionths", "as large as growth stress", "take 4 %"]),
    ("strip", {"strain": 5e-5, "is_large": False, "moisture_difference": 0.6},
     ["50 millionths", "less than the order", "take 1 %"]),
    ("height", {"higher": 300.0}, ["lies 300 m above", "error outdoors."]),
    ("height-far", {"higher": 599.0}, ["lies 599 m above", "error outdoors."]),
    ("height-far", {"higher": 600.0}, ["error outdoors. From 600 m on the climate is a guess"]),
    ("no-elevation", {"heights": (("Duluth", 433.4),)}, ["from 200 m above", "(Duluth 433 m)"]),
    ("sorption-extrapolated", {"lowest": -40.0, "highest": -12.0},
     ["-40 °C (-40 °F) to -12 °C (10.4 °F)", "-10 °C (14 °F) to 60 °C (140 °F)",
      "stretch, below -20 °C (-4 °F) as at it."]),
    ("sorption-extrapolated", {"lowest": -20.0, "highest": -20.0},
     ["Air of -20 °C (-4 °F) lies", "is a stretch."]),
    ("shed-gain", {"least": 1.5, "most": 3.7, "shaded": False}, ["1.5 to 3.7 °C", "by the sun"]),
    ("shed-gain", {"least": 1.5, "most": 1.5, "shaded": True}, ["1.5 °C (2.7 °F)", "without sun"]),
    ("stations",
     {"stations": (("Duluth", 9.2, -12.4, 0.66), ("Hibbing", 98.0, None, 0.34)),
      "outdoors": 0.64, "indoors": 4.24},
     ["Duluth 9 km, -12 m, weight 0.66; Hibbing 98 km, weight 0.34", "off by 0.6 %",
      "4.2 points"]),
    ("held-by-panes",
     {"setting": 45.0, "months": 1, "least": 31.6, "panes": "double", "assumed": True},
     ["In 1 month the", "reaches 45 %", "double panes bear, down to 32 % (double"]),
    ("dehumidifier-stops", {"setting": 45.0, "months": 3, "reached": 61.6, "sized": True},
     ["In 3 months", "reach 45 %: it takes out no more", "up to 62 %"]),
]  # fmt: skip


def test_a_note_says_its_figures() -> None:
    for code, figures, wanted in SAYS:
        told = filled(words.NOTES[code].text, figures)
        for part in wanted:
            assert part in told, told


F: Final = re.compile(r"(-?[\d.]+) °C \((-?[\d.]+) °F\)")


@pytest.mark.parametrize("value", [0.0005, 0.003175, 0.00999, 0.0101, 0.0254, 0.1, 1.5])
def test_a_size_is_told_alike_in_both_systems(value: float) -> None:
    found = re.fullmatch(r"([\d.]+) mm \(([\d.]+) in\)", size(value))
    assert found is not None
    assert float(found[1]) == pytest.approx(1e3 * value, abs=0.05 if value < 0.01 else 0.5)
    # Two figures below a centimetre, three above: to a thirtieth at worst.
    assert float(found[2]) == pytest.approx(value / 0.0254, rel=0.05 if value < 0.01 else 0.005)


def test_warmth_and_weight_are_told_alike_in_both_systems() -> None:
    for celsius, fahrenheit in ((-40.0, -40), (0.0, 32), (37.0, 98.6), (100.0, 212)):
        found = F.fullmatch(warmth(celsius))
        assert found is not None
        assert (float(found[1]), float(found[2])) == (celsius, fahrenheit)
    assert warmer(10.0) == "10 °C (18 °F)"
    assert weight(45.359237) == "45 kg (100 lb)"
    assert filled("{a:end_zone}", {"a": 0.3048}) == "305 mm (12 in)"
    assert filled("{a:share} {a:chance}", {"a": 0.256}) == "26 % 26 %"
    assert filled("{a:megapascal}", {"a": 235e6}) == "235 MPa"
    assert filled("{a:months}, {b:months}", {"a": 1, "b": 2}) == "1 month, 2 months"
    assert filled("{a:month}, {b:by_name}", {"a": 1, "b": [12, 2]}) == "January, December, February"


NO_STEP: Final = {"off": None, "to": None, "uneven": None, "near": False}
FLATTEN: Final = {"wet_face": "top", "hours": 8.0, "over_correct": 1.2, "in_steps": True,
                  "hold_days": 49.0, "left": 0.004, "helps": 0.79, "breaks": 0.13}  # fmt: skip
BARS: Final = {"pull": None, "verdict": None, "count": 3, "moment": 63.4}
STEPS_SAY: Final[list[tuple[str, str, dict[str, Any], list[str]]]] = [
    ("leave", "does", {"cup": 0.002, "within": 0.003}, ["2.0 mm", "within the 3.0 mm"]),
    ("read", "does", {"shell": 0.01, "quarter": 0.0125, "half": 0.025, "both": True, "meter": True},
     ["10 mm", "12 mm", "25 mm", "from both faces", "insulated pins"]),
    ("read", "does",
     {"shell": 0.01, "quarter": 0.0125, "half": 0.025, "both": False, "meter": False},
     ["Drill out chips", "from the ends, weigh"]),
    ("mend-air", "why", {"told": False, "chance": 0.21}, ["(21 %)"]),
    ("mend-air", "why", {"told": True, "chance": 0.21}, ["lies warmer"]),
    ("wait", "does", NO_STEP, ["no force on it."]),
    ("wait", "does", {**NO_STEP, "off": 0.49, "uneven": 1.0}, ["no force on it."]),
    ("wait", "does", {**NO_STEP, "off": 0.5, "uneven": 1.04, "to": 8.04},
     ["0.5 % wetter than", "1.0 % apart", "about 8.0 %"]),
    ("wait", "does", {**NO_STEP, "off": -2.31}, ["2.3 % drier than"]),
    ("stack", "does", {**NO_STEP, "near": True}, ["near enough"]),
    ("stack", "does", NO_STEP, ["Stack it on stickers"]),
    ("skip-flattening", "does", {"cup": 0.002, "within": 0.003, "chance": 0.87}, ["(87 % likely)"]),
    ("measure-again", "does", {"within": 0.003, "chance": 0.4}, ["3.0 mm", "(40 % likely"]),
    ("measure-again", "does", {"within": 0.003, "chance": None}, ["within 3.0 mm (0.12 in) it"]),
    ("flatten", "does", FLATTEN,
     ["its top, the round face, damp for 8 hours. Then draw it 20 % past flat", "in four steps",
      "49 days", "4.0 mm"]),
    ("flatten", "does", {**FLATTEN, "wet_face": None, "over_correct": 1.0, "in_steps": False},
     ["Draw it flat with", "at once"]),
    ("flatten", "does", {**FLATTEN, "over_correct": 1.004}, ["draw it flat with"]),
    ("flatten", "does", {**FLATTEN, "over_correct": 1.006}, ["1 % past flat"]),
    ("flatten", "does", {**FLATTEN, "over_correct": 0.996}, ["draw it flat with"]),
    ("flatten", "does", {**FLATTEN, "over_correct": 0.8}, ["by 80 % of its cup"]),
    ("flatten", "why", FLATTEN, ["helps by 79 %", "breaks by 13 %"]),
    ("plane-both", "does", {"rest": 14.0, "left": 0.04}, ["14 days' rest", "40 mm"]),
    ("rip", "does", {"boxed": False, "cup": 0.007, "left": 0.028}, ["thirds", "7.0 mm", "28 mm"]),
    ("rip", "does", {"boxed": True, "cup": 0.007, "left": -0.001}, ["sides of the pith", "0.0 mm"]),
    ("hold-flat", "does", {"cup": 0.004}, ["4.0 mm"]),
    ("give-up", "does", {"why": "twisted", "twist": 0.012, "left": 0.008}, ["12 mm", "8.0 mm"]),
    ("give-up", "does", {"why": "decayed"}, ["decay"]),
    ("fill-check", "does", {"boxed": True}, ["heart"]),
    ("fill-check", "does", {"boxed": False}, ["set keys across it"]),
    ("mill", "does", {"leaves": 0.045}, ["45 mm"]),
    ("mill", "does", {"leaves": None}, ["twice the cup"]),
    ("mend-room", "does", {"off": 3.2, "settles": 11.4}, ["3.2 % wetter", "(11.4 %)"]),
    ("log-air", "does", {"chance": 0.34}, ["(34 % likely)"]),
    ("slots", "does", {"known": False}, ["tell the room"]),
    ("slots", "does", {"known": True, "length": None}, ["needs no slot"]),
    ("slots", "does", {"known": True, "length": 0.013, "across": 0.069, "through": 0.005},
     ["13 mm", "69 mm", "5.0 mm"]),
    ("bars", "does", BARS, ["Each of 3 bars bears 63 N m."]),
    ("bars", "does", {**BARS, "count": 1}, ["The bar bears"]),
    ("bars", "does", {**BARS, "pull": 1490.0, "verdict": None}, ["1.5 kN on the worst fixing."]),
    ("bars", "does", {**BARS, "pull": 1490.0, "verdict": "hold"}, ["fixing: the fixings hold"]),
    ("fit", "does", {"gap": None}, ["how much"]),
    ("fit", "does", {"gap": 0.001, "gap_high": None}, ["1.0 mm"]),
    ("fit", "does", {"gap": 0.001, "gap_high": 0.0014}, ["1.4 mm"]),
    ("fit", "does", {"gap": -0.001, "gap_high": -0.0005}, ["0.0 mm"]),
    ("watch", "does", {"driest": 3, "dampest": 8, "allowed": 0.0005},
     ["in March and August most", "up to 0.5 mm"]),
    ("watch", "does", {"driest": 12, "dampest": 1, "allowed": None},
     ["December and January most of all."]),
    ("watch", "does", {"driest": None, "allowed": None}, ["12 months."]),
]  # fmt: skip


def test_a_step_says_its_figures() -> None:
    for step, which, figures, wanted in STEPS_SAY:
        told = said(getattr(STEPS[step], which), figures)
        for part in wanted:
            assert part in told, told


PLAN: Final = {"wet_face": "round", "face": "top", "hours": 8.0, "warmth": 22.4, "hold_days": 49.0,
               "over_correct": 1.0, "days": 60.0, "in_steps": True}  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, "keep the round (top) face wet 8 hours at 22 °C (72 °F), then clamp it flat, a step a "
         "week, and dry it held 49 days"),
        ({"over_correct": 1.2, "in_steps": False}, "past flat, to 1.2 times the cup and dry"),
        ({"over_correct": 0.8}, "back by 80 % of the cup,"),
        ({"wet_face": None}, "clamp it flat"),
        ({"hold_days": 0.0}, "leave it free to dry 60 days"),
    ],
)  # fmt: skip
def test_a_plan_of_water_and_clamps_is_told_in_both_scales(
    changed: dict[str, Any], told: str
) -> None:
    assert told in done(Said("plan", **{**PLAN, **changed}))


def test_steps_say_lengths_as_they_are_asked_to() -> None:
    def in_feet(metres: float) -> str:
        return f"{metres / 0.3048:.0f} ft"

    told = said(STEPS["hold-flat"].does, {"cup": 0.6096}, in_feet)
    assert "its 2 ft and" in told
