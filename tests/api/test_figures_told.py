"""Every figure that a text tells stands in the answer as JSON, in the unit that it tells.

Every example is asked once and read in both systems of units; a figure in a table that nothing
here reads is a fault too.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, Final

import orjson
import pytest

from api.question import Question
from api.questions import air as of_air
from api.questions import equilibrium as of_equilibrium
from api.questions import load as of_load
from api.questions import movement as of_movement
from api.questions import room as of_room
from api.questions import settle as of_settle
from api.questions.conditioning.tell import page as page_of_conditioning
from api.questions.course.tell import page as page_of_course
from api.questions.diagnosis.tell import page as page_of_diagnosis
from api.questions.fixings.tell import page as page_of_fixings
from api.questions.flattening.tell import page as page_of_flattening
from api.questions.readiness.tell import page as page_of_readiness
from api.questions.reading.tell import page as page_of_reading
from api.questions.repair.tell import page as page_of_repair
from api.questions.stiffening.tell import page as page_of_stiffening
from api.replies.text import MONTHS, Numbered
from tests.api.examples import answered, every_example
from tests.api.told import (
    DAYS,
    NUMBER,
    L,
    N,
    Reader,
    agrees,
    agrees_as_chance,
    agrees_as_time,
    ends_of,
    figure,
    middle_of,
    signed,
)


def equilibrium(see: Reader) -> None:
    told = see.answer
    if isinstance(told.get("mean"), list):
        for number in range(len(told["mean"])):
            for column, name in enumerate(("mean", "drying", "wetting"), start=2):
                agrees(see.cell("", number, column), told[name][number])
            agrees(see.cell("", number, 1), see.asked["relative_humidity"][number])
        return
    told = told.get("relative_humidity", told)
    for row, name in enumerate(("mean", "drying", "wetting")):
        agrees(see.cell("", row, 1), told[name])
    see.says(rf"about {N} %", told["mean"])
    see.says(rf"{N} °[CF]", see.asked["temperature"])


def air(see: Reader) -> None:
    for column, told in enumerate((see.answer, see.answer.get("heated", {})), start=1):
        for name, figure_of_air in told.items():
            if name != "heated":
                title = name.replace("_", " ")
                agrees(see.cell("", see.at("", title), column), figure_of_air)
    see.says(rf"Air of {N} °", see.answer["temperature"])
    see.says(rf"and {N} % relative humidity brings wood to {N} %",
             see.answer["relative_humidity"], see.answer["equilibrium_moisture"])  # fmt: skip
    if "heated" in see.answer:
        then = see.answer["heated"]
        see.says(rf"to {N} °[CF] it has {N} % and brings wood to {N} %", then["temperature"],
                 then["relative_humidity"], then["equilibrium_moisture"])  # fmt: skip


def room(see: Reader) -> None:
    for number, told in enumerate(see.answer["months"]):
        assert see.rows("")[number][0] == MONTHS[told["month"] - 1]
        figures = [told["temperature"], told["relative_humidity"], told["equilibrium_moisture"]]
        if outdoor := told.get("outdoor"):
            figures += [outdoor["temperature"], outdoor["relative_humidity"]]
        for column, one in enumerate(figures, start=1):
            agrees(see.cell("", number, column), one)
    see.says(rf"holds wood at {N} %", see.answer["equilibrium_moisture"])
    driest, dampest = see.answer["driest"], see.answer["dampest"]
    if dampest["moisture"] - driest["moisture"] > 0.05:
        see.says(rf"driest {N} % in {MONTHS[driest['month'] - 1]}", driest["moisture"])
        see.says(rf"dampest {N} % in {MONTHS[dampest['month'] - 1]}", dampest["moisture"])
    else:
        assert "all the year" in see.prose


def movement(see: Reader) -> None:
    told = see.answer
    for name in ("width", "thickness", "length"):
        if name in told:
            row = see.at("", name)
            agrees(see.cell("", row, 1), middle_of(told[name]["after"]))
            see.row("", name, told[name]["change"], of=2, likely=3)
    before, after = (middle_of(told["moisture"][when]) for when in ("before", "after"))
    see.says(rf"From {N} % to {N} % moisture", before, after)
    change = told["width"]["change"]
    see.says(rf"shrinks {L} \({L} to {L}\)", -change["value"], -change["high"], -change["low"])
    cup = told["cup"]["amount"]
    if cup["low"] * cup["high"] > 0.0:
        see.says(rf"cups {L} {told['cup']['shape']} \({L} to {L}\)", cup["value"], *ends_of(cup))
    else:
        see.says(rf"cups {L} {told['cup']['shape']}[,.]", cup["value"])
    by_hand = told["handbook"]["width"]
    see.says(rf"coefficient \({N} for 1 %\)", by_hand["coefficient"])
    agrees(see.said(r"gives (.*?) for the width"), by_hand["change"])
    if "rings" in told:
        agrees(see.said(r"pith the width changes (.*?), against"), told["rings"]["change"])
        agrees(see.said(r"against (.*?) by the plain"), told["rings"]["flat_change"])
    if "out_of_line" in told:
        see.says(rf"it may bow {L}", told["out_of_line"]["bow"])
        agrees(see.said(r"and crook (.*?)(?:, and twist|\.$|\. )"), told["out_of_line"]["crook"])


def settle(see: Reader) -> None:
    told = see.answer
    year = told["settled"]
    swings = middle_of(year["dampest"]["moisture"]) - middle_of(year["driest"]["moisture"]) > 0.05
    see.row("Moisture", "mean of the year", year["mean"])
    see.row("Moisture", "within 1 %", told["days_to"]["within_1"])
    see.row("Moisture", "within 1/2 %", told["days_to"]["within_half"])
    see.says(rf"settles to about {N} % moisture", middle_of(year["mean"]))
    sizes = {"Width": ("width", "narrowest", "widest"),
             "Thickness": ("thickness", "thinnest", "thickest")}  # fmt: skip
    for title, (name, least, most) in sizes.items():
        size = told[name]
        see.row(title, "now", size["now"])
        see.row(title, "settled, mean", size["settled"])
        if swings:
            for end in (least, most):
                see.row(title, f"{end}, {MONTHS[size[f'{end}_month'] - 1]}", size[end])
    edges = {
        "fitted today: it grows": "today_grows",
        "fitted today: it draws": "today_shrinks",
        "fitted at its mean": "settled_grows",
        "fitted at its narrowest": "narrowest_grows",
    }
    for title, name in edges.items():
        if swings or name != "narrowest_grows":
            see.row("At each edge", title, told["edge"][name])
    way, end = told["cup"]["on_the_way"], told["cup"]["yearly"]
    see.row("Cup", "on the way", way["amount"], likely=3)
    if way["shape"] != "flat":
        agrees(see.rows("Cup")[0][0], middle_of(way["day"]))
    if swings:
        for month in ("driest", "dampest"):
            see.row("Moisture", month, year[month]["moisture"])
            named = MONTHS[year[month]["month"] - 1]
            assert see.rows("Moisture")[see.at("Moisture", month)][3] == named
            see.says(rf"{N} % in {named}", middle_of(year[month]["moisture"]))
        for one in (end, end["other_end"]):
            see.row("Cup", f"every year, {MONTHS[one['month'] - 1]}", one["amount"], likely=3)
        see.says(rf"leave {L} \(up to {L}\) at each edge",
                 *(told["edge"]["settled_grows"][one] for one in ("value", "high")))  # fmt: skip
        see.says(rf"when it is narrowest, leave {L} \(up to {L}\)",
                 *(told["edge"]["narrowest_grows"][one] for one in ("value", "high")))  # fmt: skip
    else:
        see.row("Cup", "settled", end["amount"], likely=3)
    if told["fit_to_work"]["ready"]:
        see.says(rf"draws back by {L}", middle_of(told["edge"]["today_shrinks"]))
    else:
        see.says(rf"Not ready: it is {N} points wetter", told["fit_to_work"]["distance"])
        wait = see.said(r"air on all sides, (about .*?), before")
        agrees_as_time(wait, told["days_to"]["within_1"])


def course(see: Reader) -> None:
    told, last = see.answer, see.answer["stays"][-1]
    for number, stay in enumerate(told["stays"]):
        agrees(see.cell("", number, 1), stay["last_day"])
        agrees(see.cell("", number, 2), middle_of(stay["mean"]))
        agrees(see.cell("", number, 3), middle_of(stay["width"]))
        for column, name in ((4, "cup"), (5, "largest_cup")):
            cell, cup = see.cell("", number, column), stay[name]
            if cup["shape"] == "flat":
                assert cell == "flat"
            else:
                assert cell.endswith(cup["shape"].removeprefix("edges "))
                agrees(cell, middle_of(cup["amount"]))
        agrees(see.cell("", number, 6), middle_of(stay["largest_index"]["index"]))
    end = "At the end"
    see.row(end, "moisture", last["mean"])
    see.row(end, "width", last["width"])
    see.row(end, "thickness", last["thickness"])
    see.row(end, f"cup, {last['cup']['shape']}", last["cup"]["amount"])
    see.says(rf"After {N} days the slab is at {N} %", last["last_day"], middle_of(last["mean"]))
    see.says(rf", {L} wide", middle_of(last["width"]))
    see.says(rf"cupped {L}, {last['cup']['shape']}", middle_of(last["cup"]["amount"]))
    worst = max((one["largest_index"] for one in told["stays"]),
                key=lambda one: middle_of(one["index"]))  # fmt: skip
    see.says(rf"index is {N} at most, {worst['face']} face", middle_of(worst["index"]))
    agrees(see.said(r"at most, [a-z]+ face, (.*?)[.,]"), worst["day"])
    most = max((one["largest_cup"] for one in told["stays"]),
               key=lambda one: middle_of(one["amount"]))  # fmt: skip
    if "Its largest cup" in see.prose:
        see.says(rf"Its largest cup is {L}, {most['shape']}, about day {N}\.",
                 middle_of(most["amount"]), most["day"])  # fmt: skip
    else:
        assert middle_of(most["amount"]) <= 1.2 * middle_of(last["cup"]["amount"])
    see.says(rf"ends dry first, {L} deep", told["ends"]["zone"])
    see.says(rf"leaves {N} % of that drying", 100.0 * told["ends"]["left_by_coat"])
    if "What holds it" in " ".join(str(part) for part in see.page.parts):
        moments = [middle_of(one["largest_moment"]) for one in told["stays"]]
        see.says(rf"bears up to {N} ", max(map(abs, moments)))


def fixings(see: Reader) -> None:
    told = see.answer
    for number, one in enumerate(told["positions"]):
        agrees(see.cell("Slots", number, 0), one["across"])
        assert ("fixed" in see.cell("Slots", number, 0)) == one["fixed"]
        agrees(see.cell("Slots", number, 1), middle_of(one["moves_in"]))
        agrees(see.cell("Slots", number, 2), *ends_of(one["moves_in"]))
        agrees(see.cell("Slots", number, 3), middle_of(one["moves_out"]))
        for column, name in ((4, "slot_length"), (5, "shank_from_inner_end")):
            cell = see.cell("Slots", number, column)
            if one[name] is None:
                assert cell in ("round hole", "")
            else:
                twice = [one[name]] * (1 + cell.count("("))
                agrees(cell, *twice)
    held = told["withdrawal"]
    bears = min(one["withdrawal"] for one in told["positions"])
    names = {"the weakest": bears, "allowable (NDS)": held["allowable"],
             "mean of tests": held["mean_of_tests"]["least"],
             "EN 1995, characteristic": held["en1995_characteristic"],
             "EN 1995, design": held["en1995_design"],
             "hardwood tests": held["hardwood_tests_characteristic"]}  # fmt: skip
    for name, value in names.items():
        cell = see.cell("Drawn", see.at("Drawn", name), 1)
        if value is None:
            assert cell == "none"
        else:
            agrees(cell, value)
    place = told["place"]
    for name, values in {"from the edge": [place["from_edge"]], "from the end": [place["from_end"]],
                         "apart": [place["apart"]],
                         "pilot hole": [place["pilot_least"], place["pilot_most"]],
                         "left under": [told["left_under_face"]]}.items():  # fmt: skip
        agrees(see.cell("Where", see.at("Where", name), 1), *values)
    for one in told["other_holdings"]:
        row = see.at("Other ways", one["name"])
        agrees(see.cell("Other ways", row, 1), one["travel_in"])
        agrees(see.cell("Other ways", row, 2), one["travel_out"])
        enough = see.cell("Other ways", row, 3)
        assert (enough == "yes") == one["suffices"]
        if not one["suffices"]:
            agrees(enough, one["size_needed"])
    solid = told["fixed_solid"]
    rows = {"force along": solid["force"], "the same without set": solid["force_without_set"],
            "splits at 1": solid["index"]["wood_splits"],
            "crushes at 1": solid["index"]["wood_crushes"],
            "fixings yield": solid["index"]["fixings_sideways"],
            "fixings pull out": solid["index"]["fixings_pulled"]}  # fmt: skip
    for name, one in rows.items():
        see.row("If all were", name, one)
    see.says(rf"yields sideways at about {N} ", solid["fixing_yields"])
    lengths = [one["slot_length"] for one in told["positions"] if one["slot_length"] is not None]
    [across] = [one["across"] for one in told["positions"] if one["fixed"]]
    see.says(rf"Fix the point at {L} and slot the others, up to {L} long", across, max(lengths))
    see.says(rf"between {N} and {N} %", middle_of(told["moisture"]["driest"]),
             middle_of(told["moisture"]["dampest"]))  # fmt: skip
    washers = {one["washer"] for one in told["positions"] if one["washer"] is not None}
    see.says(rf"Washers at least {L}", *washers)


def stiffening(see: Reader) -> None:
    if "bars" in see.answer:
        _bars(see)
    if "keys" in see.answer:
        _keys(see)


def _bars(see: Reader) -> None:
    told = see.answer
    cups = told["cup"]
    for name, member in (("free", "free"), ("at the bars", "at_bars"),
                         ("between the bars", "between_bars")):  # fmt: skip
        see.row("Largest cup", name, cups[member]["amount"], likely=3)
    see.row("Largest cup", "yearly swing, free", cups["yearly_swing_free"], likely=3)
    see.row("Largest cup", "yearly swing, between", cups["yearly_swing_between_bars"], likely=3)
    moment = told["moment"]
    forces = {"the same without set": moment["without_set"], "the same, lasting": moment["lasting"],
              "stress in the bar": told["bars"]["largest_stress"],
              "stress index of the skin, free": told["stress_index"]["free"],
              "stress index of the skin, held": told["stress_index"]["held"],
              "bending stress": told["bending"]["stress"],
              "that over a low": told["bending"]["index"]}  # fmt: skip
    for name, one in forces.items():
        see.row("Forces", name, one)
    # A moment may go either way: its size has a band of its own, which no member tells.
    largest = see.at("Forces", "largest moment")
    agrees(see.cell("Forces", largest, 1), abs(middle_of(moment["largest"])))
    low, high = (figure(one) for one in NUMBER.findall(see.cell("Forces", largest, 2)))
    assert low <= abs(middle_of(moment["largest"])) <= high
    assert high >= 0.99 * max(map(abs, ends_of(moment["largest"])))
    pull = told["pull"]
    pulls = {"pull on the worst": pull["largest"], "by hand": pull["by_rule"],
             "it may bear": pull["allowable"], "pull over that": pull["of_allowable"]}  # fmt: skip
    for name, one in pulls.items():
        see.row("Fixings", name, one)
    agrees(see.cell("Fixings", see.at("Fixings", "steel washer"), 1), pull["washer_thickness"])
    agrees_as_chance(see.cell("Fixings", see.at("Fixings", "chance"), 1), pull["chance_tears"])
    points = see.said(r"Pull on each: (.*?)\.").split(", ")
    for told_of, force in zip(points, pull["by_point"], strict=True):
        agrees(told_of.split(" at ")[0], force)
    worst = points[pull["worst"]].split(" at ")[1]
    assert f"the worst of them, at {worst}, tears" in see.prose
    breaks = told["bending"]["chance_breaks"]
    agrees_as_chance(see.said(r"splits the slab: ((?:under |over )?\d+ %)"), breaks)
    solid = told["fixed_solid"]
    see.says(rf"up to {N} (?:lbf|N) would build", middle_of(solid["force"]))
    see.says(rf"stress index {N};", middle_of(solid["wood_index"]))
    see.says(rf"yields sideways at about {N} ", solid["fixing_yields"])
    needed = told["needed"]
    see.says(rf"{N} such bars, {N} to be careful, {L} apart", needed["bars"],
             needed["bars_careful"], needed["spacing_careful"])  # fmt: skip
    see.says(rf"With {N} bars", told["bars"]["count"])
    left, free = cups["between_bars"]["amount"], cups["free"]["amount"]
    see.says(rf"the slab cups {L} \(up to {L}\) {cups['between_bars']['shape']} instead of {L}",
             left["value"], left["high"], free["value"])  # fmt: skip


def _keys(see: Reader) -> None:
    keys = see.answer["keys"]
    bears = keys["capacity"]
    rows = {"waist": bears["neck"], "wings": bears["wing_shear"],
            "slab shears": bears["slab_shear"], "slab crushes": bears["bearing"],
            "slab splits": bears["splitting"], "to rely on": bears["allowable"],
            "asked of each": keys["demand"], "of somebody": keys["sat_on"],
            "asked over": keys["index"], "check could open": keys["opening"],
            "at the other face": keys["opening_other_face"]}  # fmt: skip
    for name, one in rows.items():
        see.row("Keys", name, one)
    see.says(rf"; {N} would be enough", keys["needed"])


def flattening(see: Reader) -> None:
    told = see.answer
    ways = [told["result"], *told["alternatives"]]
    scale = 1.0  # of a cup in the table: inches or millimetres, as in JSON
    for number, way in enumerate(ways):
        agrees(see.cell("Side by side", number, 1), way["days"])
        cup = signed(way["largest_in_year"])
        # Fractions of an inch or tenths of a millimetre: `+1/4` has no unit of its own.
        unit = " in" if see.tables[0].title.startswith("Side by side: cup in inches") else ""
        agrees(see.cell("Side by side", number, 2) + unit, scale * middle_of(cup))
        if ends_of(cup):
            agrees(see.cell("Side by side", number, 3) + unit, *ends_of(cup))
        if way["bending_index"] is not None:
            agrees_as_chance(see.cell("Side by side", number, 4), way["chance_breaks"])
        if held := way.get("cup_after_year_with_bars"):
            agrees(see.cell("Side by side", number, 5) + unit, middle_of(signed(held)))
        losses = [way[name] for name in ("thickness_lost", "width_lost") if way[name] > 0.0]
        if losses:
            costs = see.said(rf"{re.escape(way['words'])} \(costs (.*?)\)\.")
            for cost, lost in zip(costs.split(" and "), losses, strict=True):
                agrees(cost, lost)
    clamped = told["result"]["clamping"]
    see.row("Clamping", "moment per", clamped["moment"])
    see.row("Clamping", "the same at the end", clamped["moment_at_the_end"])
    see.row("Clamping", "force at each", clamped["force_per_clamp"])
    row = see.at("Clamping", "cauls apart")
    agrees(see.cell("Clamping", row, 1), clamped["caul_spacing"])
    agrees(see.cell("Clamping", row, 2), clamped["cauls"])
    # A load of kN on a square metre is 1e-3 MPa; of 144 square inches in a square foot.
    row = see.at("Clamping", "or an even load")
    each = 144.0 if "lb/ft2" in see.rows("Clamping")[row][0] else 1e3
    load = figure(see.cell("Clamping", row, 1)) / each
    assert load == pytest.approx(
        middle_of(clamped["even_load"]), abs=0.0505 * (1 if each < 1e3 else 0.02)
    )
    if ends_of(clamped["even_load"]):
        ends = [figure(one) / each for one in NUMBER.findall(see.cell("Clamping", row, 2))]
        assert ends == pytest.approx(list(ends_of(clamped["even_load"])), abs=0.0505)
    see.says(rf"takes up about {N} ", middle_of(told["water"]["taken_up"]))
    agrees(see.said(r"to a depth of (.*?)(?:\. |\.$)"), told["water"]["depth"])
    agrees_as_chance(see.said(r"Chance that it helps (.*?),"), told["chance_helps"])
    agrees_as_chance(see.said(r"that it splits (.*?)\."), told["chance_breaks"])
    left = told["result"]["largest_in_year"]
    see.says(rf"cups up to {L} {left['shape']}", middle_of(left["amount"]))
    if told["verdict"] != "no":
        see.says(rf"Cauls {L} apart, {N} ", clamped["caul_spacing"],
                 middle_of(clamped["force_per_clamp"]))  # fmt: skip
    for name, way in (("the plan", ways[0]), ("waiting alone", ways[1])):
        if bars := way.get("bars"):
            words = rf"After {name} the bars pull flat what is left: each bears up to {N} .*?, {N} "
            see.says(words, middle_of(bars["moment"]), middle_of(bars["moment_after_year"]))
            pulled = rf"After {name} .*?is pulled with up to {N} "
            see.says(pulled, middle_of(bars["pull"]))
            chance = see.said(rf"After {name} .*?splits the slab: (.*?)[,;.]")
            agrees_as_chance(chance, bars["chance_breaks"])


def load(see: Reader) -> None:
    told = see.answer
    for name in ("edge", "corner"):
        row, one = see.at("Under", name), told[name]
        agrees(see.cell("Under", row, 1), one["stress"])
        agrees(see.cell("Under", row, 2), one["index"])
        agrees_as_chance(see.cell("Under", row, 3), one["chance_breaks"])
        agrees(see.cell("Under", row, 4), one["sag"])
    own = told["own_weight"]
    agrees(see.said(r"the edge sags (.*?) at once"), own["at_once"])
    agrees(see.said(r"at once, (.*?) in steady"), own["in_steady_air"])
    agrees(see.said(r"steady air and (.*?) with seasons"), own["with_seasons"])
    if "along" in own:
        agrees(see.said(r"along the grain it sags (.*?) in the end"), own["along"])
    agrees(see.said(r"(\d+) (?:lbf|N) "), told["force"])
    if told["verdict"] == "not at a corner":
        agrees(see.said(r"corner: there (.*?) would"), told["corner"]["thick_enough"])
    else:
        agrees(see.said(r"stands out .*?: (.*?) would be"), told["edge"]["thick_enough"])
        agrees(see.said(r"of the edge, (.*?) for a corner"), told["corner"]["thick_enough"])
        see.says(rf"It gives {L} under", told["corner"]["sag"])


def reading(see: Reader) -> None:
    told = see.answer
    names = {
        "mean": "mean",
        "top face": "top",
        "middle": "core",
        "bottom face": "bottom",
        "middle less faces": "core_less_faces",
        "top less bottom": "top_less_bottom",
    }
    for name, member in names.items():
        row = [one[0] for one in see.rows("")].index(name)
        agrees(see.cell("", row, 1), middle_of(told[member]))
        agrees(see.cell("", row, 2), *ends_of(told[member]))
    for number, one in enumerate(told["readings"]):
        agrees(see.cell("Readings", number, 1), middle_of(one["moisture"]))
        # One deviation: of a normal spread the 10th and 90th percentile are 1.2816 from the mean.
        error = (one["moisture"]["high"] - one["moisture"]["low"]) / 2.0 / 1.2816
        agrees(see.cell("Readings", number, 2), error)
    for number, one in enumerate(told["next"]):
        agrees(see.cell("Read next", number, 0), one["depth"])
        agrees(see.cell("Read next", number, 1), one["from_end"])
    see.says(
        rf"The slab holds {N} % \({N} to {N}\)", middle_of(told["mean"]), *ends_of(told["mean"])
    )


def readiness(see: Reader) -> None:
    told = see.answer
    for name, member in (("mean", "mean"), ("top face", "top"), ("middle", "core"),
                         ("bottom face", "bottom")):  # fmt: skip
        see.row("On ", name, told["present"][member])
    assert see.tables[0].title == f"On {told['as_of']}"
    ends = [told["ready_on"][end] for end in ("low", "value", "high")]
    for number, day in enumerate(ends):
        assert see.cell("Ready on", number, 1) == (day or "open")
    rate = told["drying_rate"]
    see.says(rf"{N} times as fast .*? factor of {N}\.", rate["against_species"],
             rate["known_within"])  # fmt: skip
    see.says(rf"settle near {N} %", middle_of(told["settles_here"]))
    mean = told["present"]["mean"]
    see.says(rf"it holds {N} % \({N} to {N}\)", mean["value"], *ends_of(mean))
    see.says(rf"within 1 point of {N} %", told["target"])
    agrees_as_time(see.said(r"in (about .*?), probably around"), told["ready_in"])
    assert f"probably around {told['ready_on']['value']}" in see.prose
    agrees_as_chance(see.said(r"ready within two weeks: (.*?)\."), 0.01 * told["chance_soon"])


def diagnosis(see: Reader) -> None:
    told = see.answer
    if "causes" not in told:
        see.says(rf"was at {N} % \({N} to {N}\)", told["before"]["value"], *ends_of(told["before"]))
        return
    for number, row in enumerate(see.rows("Causes")):
        assert row
        agrees(see.cell("Causes", number, 1), told["causes"][number]["chance"])
    for number, one in enumerate(told["parts"]):
        agrees(see.cell("What bends", number, 1), one["share"]["value"])
        agrees(see.cell("What bends", number, 2), *ends_of(one["share"]))
        told_cup(see.cell("What bends", number, 3), one["cup"])
    for number, one in enumerate(told["still_to_come"]):
        told_cup(see.cell("Still to come", number, 1), one["cup_after_month"])
        told_cup(see.cell("Still to come", number, 2), one["cup_after_year"])
        agrees(see.cell("Still to come", number, 3), middle_of(one["width_change"]))
    see.says(rf"at about {N} % \({N} to {N}\)", told["before"]["value"], *ends_of(told["before"]))
    see.says(rf"cup by this: {L} {told['cup']['shape']}", told["cup"]["amount"]["value"])
    see.says(rf"; moisture {N} % \({N} to {N}\)", told["now"]["value"], *ends_of(told["now"]))
    chances = [one["chance"] for one in told["causes"]]
    if told["main"] is not None:
        see.says(rf"\({N} % sure\)", chances[0])
    else:
        see.says(rf"\({N} %\) or .*? \({N} %\)", *chances[:2])


def told_cup(cell: str, cup: dict[str, Any]) -> None:
    if cup["shape"] == "flat":
        assert cell == "flat"
    else:
        assert cell.endswith(cup["shape"])
        agrees(cell, middle_of(cup["amount"]))


def conditioning(see: Reader) -> None:
    told = see.answer
    for number, one in enumerate(told["months"]):
        cells = see.rows("To hold")[number]
        assert cells[0] == MONTHS[one["month"] - 1]
        figures = {2: one["heat_to"], 3: one["relative_humidity"],
                   4: one["equilibrium_moisture"]["at_shop"], 5: one["ventilation_heat"],
                   6: one["machine_water"]}  # fmt: skip
        for column, value in figures.items():
            cell = see.cell("To hold", number, column)
            if value is None or (column == 2 and one["means"] == "humidify"):
                assert cell == ""
            else:
                agrees(cell, middle_of(value))
    title = "What it takes"
    rows = see.rows(title)
    agrees(see.cell(title, see.at(title, "water to carry away"), 1), told["water"])
    begins = [see.at(title, name) for name in ("by heat alone", "humidity held")] + [len(rows)]
    for plan, first, last in ((told["heat_alone"], *begins[:2]), (told["held"], *begins[1:])):
        air_of = plan.get("air", {})
        current = middle_of(plan["current"]) if plan["current"] is not None else None
        told_of = {"given off": plan["water_first_day"], "heat, to": plan["heat"],
                   "air of the first day": air_of.get("first_day"),
                   "to take out": air_of.get("largest"), "a dehumidifier": air_of.get("rated"),
                   "current": current, "left in a year": plan["driest"],
                   "dries too fast": plan["pace"]["chance"]}  # fmt: skip
        agrees_as_time(see.cell(title, first, 1), plan["days_to"]["within_1"])
        for row in range(first + 1, last):
            [name] = [name for name in told_of if rows[row][0].strip().startswith(name)]
            agrees(see.cell(title, row, 1), told_of[name])
    starts = int(see.asked["starts"][5:7])
    month = told["months"][starts - 1]
    if told["begin_with"] == "heat":
        see.says(rf"heating the shop to {N} °", middle_of(month["heat_to"]))
        see.says(rf"temperature hold {N} % relative", middle_of(month["relative_humidity"]))
    else:
        see.says(rf"own air, which holds {N} %", month["equilibrium_moisture"]["at_shop"])


def repair(see: Reader) -> None:
    told = see.answer
    if told["verdict"] == "repair":
        see.says(rf"\({N} %\)\. By itself", told["causes"][0]["chance"])
        cup = told["cup_left"]
        see.says(rf"a cup of {L} {cup['shape']}", cup["amount"]["value"])
        agrees(see.said(r"a cup of [^()]*\((.*?)\) within"), *ends_of(cup["amount"]))
        see.says(rf"year: {N} % likely", 100.0 * told["flat_by_itself"])
    steps = [one for part in see.page.parts if isinstance(part, Numbered) for one in part.items]
    for step, one in zip(steps, told["steps"], strict=True):
        lasts = one.get("lasts")
        if lasts is not None and middle_of(lasts) >= 2.0:
            found = re.search(r"About (\d+) (day|week)s(?:, (\d+) to (\d+)( weeks)?)?,", step)
            assert found is not None, step
            agrees(found[1], middle_of(lasts) / DAYS[found[2]])
            for cell, end in zip((found[3], found[4]), ends_of(lasts), strict=bool(ends_of(lasts))):
                if end is not None and cell is not None:
                    agrees(cell, end / (7.0 if found[5] else 1.0))
            assert (found[3] is None) == (not ends_of(lasts))
            year, month, day = map(int, one["begins"].split("-"))
            assert f"from {day} {MONTHS[month - 1]} {year}." in step
    if after := told.get("after"):
        title = "After"
        for name in ("driest", "dampest"):
            see.row(title, f"{name}, {MONTHS[after[name]['month'] - 1]}", after[name]["moisture"])
        see.row(title, "each edge grows by", after["edge_grows"])
        ends = ends_of(after["cup"]["amount"])
        assert ends[0] < 0.0 < ends[1]
        agrees(see.cell(title, see.at(title, "cup of the year"), 1), max(-ends[0], ends[1]))
    else:
        assert not see.tables


# By what makes the page of a question.
READERS: Final[dict[Any, Callable[[Reader], None]]] = {
    of_air.QUESTION.text: air,
    of_equilibrium.QUESTION.text: equilibrium,
    of_load.QUESTION.text: load,
    of_movement.QUESTION.text: movement,
    of_room.QUESTION.text: room,
    of_settle.QUESTION.text: settle,
    page_of_conditioning: conditioning,
    page_of_course: course,
    page_of_diagnosis: diagnosis,
    page_of_fixings: fixings,
    page_of_flattening: flattening,
    page_of_reading: reading,
    page_of_readiness: readiness,
    page_of_repair: repair,
    page_of_stiffening: stiffening,
}


@pytest.mark.parametrize("system", ["us", "metric"])
@every_example
def test_every_figure_of_a_text_stands_in_the_answer(
    question: Question[Any, Any], number: int, system: Any
) -> None:
    told = answered(question, number, system)
    see = Reader(question.text(told), orjson.loads(question.write(told, "json")))
    READERS[question.text](see)
    assert not see.left()
