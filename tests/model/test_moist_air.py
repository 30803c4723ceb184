"""The question of air: by every measure the same air; what is refused and noted."""

from __future__ import annotations

from typing import Any

import pytest

from model.answers.air import MoistAir, pressure_of, warmed
from model.codes import Refusal


def codes(made: MoistAir) -> list[str]:
    return [note.code for note in made.notes]


# Worked with psychrolib 2.5 (ASHRAE Handbook of Fundamentals 2017) at 101,325 Pa: degC, %, Pa,
# kg/kg, degC, degC.  0.1 %, and 0.1 K of wet bulb, for its own formulas; below freezing its dew
# point is one over ice.
WORKED = (
    (21.0, 45.0, 1119.45, 0.006948, 8.626, 13.876),
    (35.0, 80.0, 4502.26, 0.028920, 31.025, 31.814),
    (5.0, 30.0, 261.75, 0.001611, None, None),
)


@pytest.mark.parametrize(("temperature", "humidity", "vapour", "ratio", "dew", "wet"), WORKED)
def test_every_measure_tells_the_same_air(
    temperature: float,
    humidity: float,
    vapour: float,
    ratio: float,
    dew: float | None,
    wet: float | None,
) -> None:
    by_humidity = pressure_of("relative_humidity", humidity, temperature)
    assert by_humidity == pytest.approx(vapour, rel=1e-3)
    assert pressure_of("vapour_pressure", vapour, temperature) == vapour
    made = warmed(temperature, vapour)
    assert made.relative_humidity == pytest.approx(humidity, rel=1e-3)
    assert made.humidity_ratio == pytest.approx(ratio, rel=1e-3)
    if dew is not None:
        assert pressure_of("dew_point", dew, temperature) == pytest.approx(vapour, rel=1e-3)
        assert made.dew_point == pytest.approx(dew, abs=0.02)
    if wet is not None:
        assert pressure_of("wet_bulb", wet, temperature) == pytest.approx(vapour, rel=0.02)
        assert made.wet_bulb == pytest.approx(wet, abs=0.1)
    assert made.heated is None
    assert made.condensed is None


def refused(measure: Any, figure: float, temperature: float) -> dict[str, Any]:
    with pytest.raises(Refusal) as found:
        pressure_of(measure, figure, temperature)
    return {"code": found.value.said.code, **found.value.said.figures}


def test_no_air_holds_more_than_saturation_nor_next_to_nothing() -> None:
    # Saturation at 20 degC: 2,339 Pa (IAPWS-95); a ten thousandth of it is 0.234 Pa.
    damp = refused("vapour_pressure", 2345.0, 20.0)
    assert damp["code"] == "damper-than-saturated"
    assert damp["saturated"] == pytest.approx(2339.0, abs=1.5)
    assert refused("dew_point", 20.1, 20.0)["code"] == "damper-than-saturated"
    assert pressure_of("dew_point", 20.0, 20.0) == pytest.approx(2339.0, abs=1.5)
    dry = refused("vapour_pressure", 0.233, 20.0)
    assert (dry["code"], dry["driest"], dry["given"]) == ("drier-than-any-air", 0.01, 0.233)
    assert pressure_of("vapour_pressure", 0.235, 20.0) == 0.235
    assert refused("wet_bulb", 5.0, 20.0)["code"] == "drier-than-any-air"


def test_warmed_air_keeps_its_vapour_and_cooled_air_drops_what_it_cannot_hold() -> None:
    vapour = 1119.45
    warm = warmed(21.0, vapour, 30.0)
    assert warm.heated is not None
    assert warm.heated.vapour_pressure == vapour
    assert warm.heated.condensed is None
    assert codes(warm) == ["sea-level"]
    cold = warmed(21.0, vapour, 5.0)
    assert cold.heated is not None
    assert cold.heated.relative_humidity == pytest.approx(100.0)
    # Humidity ratios before (as above) and saturated at 5 degC, 0.005402 (psychrolib 2.5).
    assert cold.heated.condensed == pytest.approx(0.006948 - 0.005402, rel=5e-3)
    assert "condensation" in codes(cold)
    assert cold.heated.equilibrium_moisture is None
    told = next(note for note in cold.notes if note.code == "no-equilibrium")
    assert told.figures == {"heated": True}


@pytest.mark.parametrize(
    ("temperature", "humidity", "note"),
    [
        (20.0, 40.0, None), (-20.5, 40.0, "no-equilibrium"), (-19.5, 40.0, "sorption-stretched"),
        (79.5, 40.0, "sorption-stretched"), (80.5, 40.0, "no-equilibrium"),
        (20.0, 97.0, "sorption-stretched"), (20.0, 99.9, "no-equilibrium"),
    ],
)  # fmt: skip
def test_where_the_sorption_curve_ends(
    temperature: float, humidity: float, note: str | None
) -> None:
    made = warmed(temperature, pressure_of("relative_humidity", humidity, temperature))
    assert codes(made) == ["sea-level", *([note] if note else [])]
    assert (made.equilibrium_moisture is None) is (note == "no-equilibrium")
    if note is not None:
        assert made.notes[1].figures == {"heated": False}
    elif made.equilibrium_moisture is not None:
        # Wood Handbook FPL-GTR-190 Table 4-2 (printed), 70 degF and 40 %: 7.7 %.
        assert made.equilibrium_moisture == pytest.approx(7.7, abs=0.1)
