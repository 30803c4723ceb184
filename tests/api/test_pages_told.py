"""Pages beyond the examples: branches of their words, and what they leave out, on either side."""

from __future__ import annotations

import datetime
from types import SimpleNamespace
from typing import Any

import orjson
import pytest

from api import catalogues
from api.questions import BY_NAME, load, movement, room, settle
from api.questions.diagnosis import tell as diagnosis
from api.questions.fixings import tell as fixings
from api.questions.readiness import tell as readiness
from api.questions.reading import tell as reading
from api.questions.repair import tell as repair
from api.replies.text import Page, Rows
from api.units import System
from model.codes import Note
from model.properties.meters import Corrected
from model.spread import Figure
from tests.api.told import L, N, Reader, middle_of

SLAB = {"species": "white oak", "width": 600, "thickness": 50, "length": 2000, "bark_side": "top"}


def made(**members: Any) -> Any:
    """What a page reads of a result."""
    return SimpleNamespace(**members)


def seen(question: str, body: dict[str, Any], system: System = "metric") -> Reader:
    asked = BY_NAME[question].ask({"units": "metric", "spread": "none", **body})
    told = orjson.loads(BY_NAME[question].write(asked, "json"))
    return Reader(BY_NAME[question].text(asked), told)


def test_movement_tells_of_stress_rings_and_twist_what_stands_in_its_answer() -> None:
    stress = {
        "slice": {"gap": 1, "length": 100},
        "ripped_strip": {"bow": 4, "length": 2000, "breadth": 30},
    }
    see = seen("movement", {"slab": {**SLAB, "stress": stress}, "before": 12, "after": 8})
    planed, growth = see.answer["planed"], see.answer["growth"]
    see.says(rf"alone cups it {L} {planed['shape']} at once", middle_of(planed["amount"]))
    see.says(rf"of up to {N} MPa", growth["stress"])
    see.says(rf"leaves the slab a crook of {L}", abs(growth["crook"]))
    # Those decide: the short text has them too, in their order.
    assert see.page.short is not None
    assert [str(part).split()[0] for part in see.page.short[1:]] == ["It", "The"]
    assert [part for part in see.page.parts if part in see.page.short] == list(see.page.short)

    twisted = {**SLAB, "pith": {"below": 100, "across": 20}}
    see = seen("movement", {"slab": twisted, "before": 12, "after": 8, "spiral_grain": 4})
    out = see.answer["out_of_line"]
    see.says(rf"and twist {N} degrees: a corner rises {L}", abs(out["twist"]), out["corner_rises"])

    inside = {**SLAB, "pith": {"below": -20}}
    see = seen("movement", {"slab": inside, "before": 25, "after": 8})
    rings = see.answer["rings"]
    see.says(rf"opens by about {L} at the nearer face", rings["check_opening"])
    assert see.page.short is not None
    assert "opens by about" in str(see.page.short[1])


@pytest.mark.parametrize(
    ("opening", "rise", "told"),
    [
        (0.001, 0.0, ["opens by about 1.0 mm"]),
        (0.001, 0.002, ["opens by about 1.0 mm", "both edges go 2 mm away"]),
        (0.0, 0.002, ["both edges go 2 mm away"]),
        (0.00004, 0.00004, []),
        (None, None, []),
    ],
)
def test_checks_are_told_where_a_rule_shows_them(
    opening: float | None, rise: float | None, told: list[str]
) -> None:
    moved = made(
        width=made(change=Figure(-0.004), change_by_coefficient=None, after=Figure(0.596)),
        thickness=None, length=None, moisture_before=Figure(12.0), moisture_after=Figure(8.0),
        cupped=made(shape="flat", amount=Figure(0.0)), planing=None, growth=None, crooked=None,
        rings=made(change=-0.004, flat_change=-0.005, check_opening=opening, v_rise=rise),
    )  # fmt: skip
    page = movement._text(made(result=moved, system="metric"))
    assert page.short is not None
    words = [str(part) for part in page.short[1:]]
    assert len(words) == len(told)
    for part, said in zip(words, told, strict=True):
        assert said in part
        assert part in page.parts


def test_a_band_is_told_where_both_ends_go_one_way() -> None:
    assert movement._band(Figure(2e-3, 1e-3, 3e-3), "metric") == " (1.0 mm to 3 mm)"
    assert movement._band(Figure(-2e-3, -3e-3, -1e-3), "metric") == " (1.0 mm to 3 mm)"
    assert movement._band(Figure(1e-3, 0.0, 3e-3), "metric") == ""
    assert movement._band(Figure(1e-3, -1e-3, 3e-3), "metric") == ""
    assert movement._band(Figure(1e-3), "metric") == ""
    assert movement._moves(Figure(0.00004), "metric") == "neither grows nor shrinks"
    assert movement._moves(Figure(0.002), "metric") == "grows 2 mm"
    assert movement._moves(Figure(-0.002), "metric") == "shrinks 2 mm"


def sat(**more: Any) -> Any:
    return made(**{"thick_enough": 0.04, "sag": 0.002, "stress": 1e6, "index": 0.5, "breaks": 0.0,
                   **more})  # fmt: skip


def loaded(verdict: str, *, checked: bool = False, **more: Any) -> Page:
    usual = {
        "verdict": verdict, "edge": sat(), "corner": sat(thick_enough=0.06, sag=0.004),
        "load": 1300.0, "limit_of_sag": 0.005, "tips": None, "sag_at_once": 0.0,
        "sag_steady": 0.0, "sag_seasons": 0.0, "sag_along": None,
    }  # fmt: skip
    asked = made(overhang=0.3, checked=checked)
    return load._text(made(result=made(**{**usual, **more}), asked=asked, system="metric"))


def test_what_an_overhang_bears() -> None:
    assert loaded("bears-it").decision == (
        "Out to 300 mm it bears 1300 N anywhere on its edge, corners too."
    )
    assert "not on a corner: there 60.0 mm would" in loaded("not-at-a-corner").decision
    assert "300 mm: 40.0 mm would be thick enough" in loaded("does-not").decision
    assert loaded("bears-it", checked=True).decision.startswith("Nobody sits on")
    assert "which is felt" not in loaded("bears-it", limit_of_sag=0.004).decision
    assert "It gives 4 mm under" in loaded("bears-it", limit_of_sag=0.0039).decision
    assert "tips the top off" in loaded("bears-it", tips=True).decision
    assert "tips the top off" not in loaded("bears-it", tips=False).decision
    short = loaded("bears-it", sag_seasons=0.0003, sag_along=0.00004).short
    assert short is not None
    assert short[-1] == (
        "By its own weight the edge sags 0.3 mm in the end; between its supports it sags less "
        "than a rule shows."
    )


def test_a_year_is_told_where_it_swings() -> None:
    def swings(damp: float) -> bool:
        ends = (made(moisture=Figure(8.0)), made(moisture=Figure(damp)))
        return settle._swings(made(driest=ends[0], dampest=ends[1]))

    assert not swings(8.049)
    assert swings(8.051)
    assert settle._nothing(Figure(0.00004), "metric")
    assert not settle._nothing(Figure(0.00004, 0.0, 0.001), "metric")
    assert settle._nothing(Figure(0.001, 0.0, 0.00004), "metric")
    assert (
        room._decision(aired(7.7, 7.75)) == "This room holds wood at 7.7 % moisture all the year."
    )
    assert "driest 7.7 % in January, dampest 7.8 % in August" in room._decision(aired(7.7, 7.76))
    assert room._decision(aired(7.7, 7.7, log=True)).endswith("all the time.")
    assert "on average over the log" in room._decision(aired(7.0, 8.0, log=True))


def aired(driest: float, dampest: float, *, log: bool = False) -> Any:
    ends = made(month=1, moisture=driest), made(month=8, moisture=dampest)
    return made(driest=ends[0], dampest=ends[1], is_log=log, kind="room", mean_equilibrium=7.7)


def size(narrowest: float, widest: float) -> Any:
    return made(now=0.6, settled=Figure(0.598), narrowest=Figure(narrowest), narrowest_month=3,
                widest=Figure(widest), widest_month=8)  # fmt: skip


def test_sizes_of_a_year_are_told_where_they_differ() -> None:
    names = ("narrowest", "widest")
    assert len(settle._size_rows(size(0.598, 0.598009), names, "metric")) == 2
    rows = settle._size_rows(size(0.597, 0.599), names, "metric")
    assert [row[:2] for row in rows[2:]] == [
        ["narrowest, March", "597.0 mm"], ["widest, August", "599.0 mm"],
    ]  # fmt: skip


def ready(verdict: str, **more: Any) -> Page:
    day = datetime.date(2026, 5, 4)
    found = {
        "verdict": verdict, "present": made(mean=Figure(9.0), top=Figure(8.0), core=Figure(10.0),
                                            bottom=Figure(8.0)),
        "chance_soon": 0.4, "withheld": (), "ready_in": None, "settles_here": Figure(9.44),
        "humidity_needed": None, "against_species": 0.854, "rate_factor": 1.96,
    }  # fmt: skip
    result = made(
        found=made(**{**found, **more}), target=made(within=more.pop("within", 1.0), moisture=8.04),
        as_of=day, sure_on=more.pop("sure_on", None),
        date=lambda days: None if days is None else day + datetime.timedelta(days=round(days)),
    )  # fmt: skip
    return readiness.page(made(result=result))


def test_whether_a_slab_is_ready() -> None:
    assert ready("ready", ready_in=Figure(0.0)).decision == (
        "Ready: it holds 9.0 %; the chance that it is within 1 point of 8.0 % and even through its "
        "thickness in two weeks or before is 40 %."
    )
    assert "within 2 points of 8.0 %" in ready("ready", ready_in=Figure(0.0), within=2.0).decision
    untold = ready("cannot_tell").decision
    assert "it seems to hold 9.0 %. It may come within 1 point of 8.0 % here or never" in untold
    why = ready("cannot_tell", withheld=(Note("one-reading"),)).decision
    assert "One reading is no proof" in why
    assert "here or never" not in why
    never = ready("no").decision
    assert never.endswith("it holds 9.0 % and would settle near 9.4 % here.")
    drier = ready("no", humidity_needed=37.5).decision
    assert drier.endswith("Air of about 38 % humidity would bring it there.")
    probably = ready("probably", ready_in=Figure(0.0)).decision
    assert probably.endswith(
        "within 1 point of 8.0 %. Chance that it is so within two weeks: 40 %."
    )
    sure = ready("probably", ready_in=Figure(0.0), sure_on=datetime.date(2026, 6, 1)).decision
    assert sure.endswith("weeks: 40 %; 98 % by 2026-06-01.")
    assert ready("probably", ready_in=Figure(0.0), chance_soon=None).decision.endswith("8.0 %.")
    later = ready("probably", ready_in=Figure(30.0)).decision
    assert "in about 4 weeks, probably around 2026-06-03." in later
    assert later.endswith("Chance that it is ready within two weeks: 40 %.")
    assert "two weeks" not in ready("probably", ready_in=Figure(30.0), chance_soon=None).decision
    assert "0.85 times as fast" in str(ready("no").parts[-1])


def corrected(number: int, **more: Any) -> Any:
    usual = {"kind": "pin", "place": "top", "moisture": 9.96, "error": 0.86, "range": "within"}
    return made(**{**usual, **more}, number=number)


def read(readings: list[Corrected], *, contradicting: tuple[int, ...] = ()) -> Page:
    profile = made(contradicting=contradicting, **{
        name: Figure(9.81, 8.84, 10.78)
        for name in ("mean", "top", "core", "bottom", "core_less_faces", "top_less_bottom")
    })  # fmt: skip
    following = [made(depth=0.01, from_end=0.3, place="top")]
    found = made(following=following, profile=profile, corrected=readings, ends=None)
    return reading.page(made(result=made(found=found, told=lambda one: one), system="metric"))


def test_readings_beyond_forty_are_counted() -> None:
    for count, more in ((40, ""), (41, "and 1 more; see the JSON form.")):
        page = read([corrected(n) for n in range(count)])
        tables = [part for part in page.parts if isinstance(part, Rows)]
        assert len(tables[1].rows) == 40
        assert (more in page.parts) == bool(more)
        assert page.short is not None
        assert [len(part.rows) for part in page.short if isinstance(part, Rows)] == [4, 40, 1]
    assert "contradict the others" in read([], contradicting=(1,)).decision
    assert "contradict" not in read([]).decision


def test_a_reading_is_called_by_what_was_read() -> None:
    assert reading._what(corrected(1)) == "pin, top"
    assert reading._what(corrected(1, kind="oven_dry")) == "oven-dry"
    assert reading._what(corrected(1, kind="sample_board")) == "sample board"
    page = read([corrected(1, moisture=None, range="above")])
    table = next(part for part in page.parts if isinstance(part, Rows) and part.title)
    assert table.rows[0] == ["pin, top", "", "above its range"]


def happened(
    *codes: str, chances: tuple[float, ...] = (0.5, 0.3, 0.151, 0.149), **more: Any
) -> str:
    causes = ("rings", "wet_core", "uneven_faces", "two_airs", "springback")
    diagnosed = made(
        notes=tuple(Note(code) for code in codes),
        chances=[made(cause=c, chance=p) for c, p in zip(causes, chances, strict=False)],
    )  # fmt: skip
    usual = {"slid": False, "diagnosis": diagnosed, "cause": None, "chance": lambda cause: 0.9}
    what = made(**{**usual, **more})
    story = made(seen=made(gap_grew=0.012))
    return " ".join(repair._happened(made(happened=what, story=story), "metric"))


def test_what_happened_is_told_as_far_as_it_is_known() -> None:
    assert happened() == (
        "Can't tell yet what happened: the rings (50 %) or a wet core uncovered by planing (30 %) "
        "or unlike faces (15 %)."
    )
    assert happened(chances=(0.2,) * 5).count("(20 %)") == 3
    assert happened(chances=(0.15, 0.149)).endswith("the rings (15 %).")
    assert happened(chances=(0.149,)) == "Can't tell what happened."
    assert happened(cause="rings") == "The cause is most likely the rings (90 %)."
    assert "measure again" in happened("does-not-fit", cause="rings")
    assert "Nothing you told" in happened("nothing-told-bends-it-so", cause="rings")
    assert happened(slid=True) == (
        "The slab slid: the gap grew 12 mm, more than its wood can shrink."
    )
    assert happened(diagnosis=None) == "Too little is told to say what happened."
    assert repair._happened(made(happened=None), "metric") == []


def test_looks_and_readings_have_days_of_their_own_in_a_calendar() -> None:
    def step(code: str, day: int, *, lasts: float | None = 7.0, earliest: bool = False,
             only_if: str = "") -> Any:  # fmt: skip
        does = made(figures={"looks": (30.4, 91.0)})
        words = made(title=code, does=code, why="", until="")
        return made(
            step=made(code=code, does=does, earliest=earliest, only_if=only_if), words=words,
            on=datetime.date(2026, 1, day), lasts=None if lasts is None else Figure(lasts),
        )  # fmt: skip

    told = made(steps=[
        step("stand", 1), step("wait", 8, lasts=None),
        step("rip", 9, lasts=0.4, only_if="cup-left"), step("fit", 10, earliest=True),
        step("watch", 11), step("watch", 12, earliest=True),
    ])  # fmt: skip
    slab = made(species=made(name="oak"), width=0.6)
    entries = repair.calendar(made(result=told, system="metric", asked=made(slab=slab)))
    assert [(one.title, one.day.isoformat(), one.days, one.uncertain) for one in entries] == [
        ("stand (oak, 600 mm wide)", "2026-01-01", 7, False),
        ("wait (oak, 600 mm wide)", "2026-01-08", 1, False),
        ("rip (oak, 600 mm wide)", "2026-01-09", 1, True),
        ("Read it (oak, 600 mm wide)", "2026-01-22", 1, False),
        ("Read it (oak, 600 mm wide)", "2026-02-05", 1, False),
        ("Look again (oak, 600 mm wide)", "2026-02-10", 1, False),
        ("Look again (oak, 600 mm wide)", "2026-04-12", 1, False),
    ]


def test_marks_of_a_chart_stand_on_the_days_of_the_steps() -> None:
    question = BY_NAME["repair"]
    for number in (1, 2):
        told = question.ask({**question.examples[number].body, "spread": "none"})
        assert question.chart is not None
        chart = question.chart(told)
        steps = orjson.loads(question.write(told, "json"))["answer"]["steps"]
        assert chart.starts is not None
        dated = [one for one in steps if "begins" in one]
        assert [mark for _, mark in chart.marks] == [str(one["number"]) for one in dated]
        for (day, _), one in zip(chart.marks, dated, strict=True):
            on = chart.starts + datetime.timedelta(days=round(day))
            assert abs((on - datetime.date.fromisoformat(one["begins"])).days) <= 1
        if number == 1:  # no room: the axis goes a month beyond the last step
            [line] = chart.panels[0].lines
            assert line.x == [0.0, chart.marks[-1][0] + 30.0]
            assert line.y == [0.0, 0.0]


def test_holes_that_are_round_stand_in_a_sheet_by_what_passes_through() -> None:
    body = {
        "moisture": 9,
        "moisture_range": {"driest": 6, "dampest": 10},
        "spread": "none",
        "slab": SLAB,
        "positions": [300, 550],
        "fastener": {"kind": "wood_screw", "diameter": 6, "thread": 30, "shank": 8},
    }
    question = BY_NAME["fixings"]
    told = question.ask({"units": "metric", **body})
    assert question.table is not None
    columns = {one.name: list(one.values) for one in question.table(told).columns}
    assert columns["fixed"] == [1, 0]
    # The hole of the fixed one is as wide as the shank, which stands in its middle; washers are
    # three times as wide (practice).
    assert columns["slot_length"][0] == pytest.approx(0.008)
    assert columns["slot_width"][0] == pytest.approx(0.008)
    assert columns["shank_from_inner_end"][0] == pytest.approx(0.004)
    assert columns["washer"][0] == pytest.approx(0.024)
    assert columns["slot_length"][1] > columns["slot_width"][1] >= 0.008
    assert fixings._rule(0.0254 * 0.75, "us") == "3/4 in"
    assert fixings._fine(0.0254 * 0.75, "us") == "3/4 (0.750)"
    assert fixings._fine(0.0123, "metric") == "12.3 mm"


def test_a_sheared_key_tells_the_least_pull() -> None:
    found = made(
        before=Figure(12.0), now=Figure(9.0), main="rings", shares=[], options=[], notes=(),
        chances=[made(cause="rings", chance=1.0)], telling=[],
        cupped=made(amount=Figure(0.004), shape="edges up"),
        key_force=Figure(5000.0, 4448.2216, 6000.0),
    )  # fmt: skip
    page = diagnosis.page(made(result=made(found=found), system="metric"))
    # 4448.2216 N are 1000 lbf (definition).
    assert page.parts[-1] == ("The key sheared, so it was pulled with at least 4.4 kN (1000 lbf).")
    found.key_force = Figure(5000.0)
    assert "key" not in str(diagnosis.page(made(result=made(found=found), system="metric")).parts)


def test_cells_of_a_list_are_short() -> None:
    assert catalogues._cell("x" * 34) == "x" * 34
    assert catalogues._cell("x" * 35) == "x" * 31 + "..."
    assert catalogues._cell(0.25) == "0.25"
    assert catalogues._cell(None) == ""
