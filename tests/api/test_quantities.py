"""Units: what may be written, what it means, what is refused; checked against pint."""

from __future__ import annotations

from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import ValidationError

from api import quantities as q
from api import units as u

LENGTH = q.Length("a length", low=0.0, high=10.0)
WARMTH = q.Temperature("a temperature", low=-60.0, high=100.0)
WEIGHT = q.Mass("a mass", low=0.0, high=1000.0)
HUMIDITY = q.RelativeHumidity("a humidity", low=0.0, high=100.0, lists=True)
INCH = 0.0254


def read(field: q.QuantityField, value: Any, units: u.System | None = None) -> Any:
    with q.reading(q.Reading(units=units)):
        return field.deserialize(value)


def refusal(field: q.QuantityField, value: Any, units: u.System | None = None) -> str:
    with pytest.raises(ValidationError) as error:
        read(field, value, units)
    return str(error.value.messages)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("34in", 34.0),
        ("34 in", 34.0),
        ("34 1/2 in", 34.5),
        ("34 1/2in", 34.5),
        ("2-1/4in", 2.25),
        ("5/8in", 0.625),
        ("2 15/16 inches", 2.9375),
        ('34"', 34.0),
        ("34½in", 34.5),
        ("¾in", 0.75),
        ("2'", 24.0),
        ("8ft", 96.0),
        ("8 feet", 96.0),
        ("8ft 2in", 98.0),
        ("8' 2\"", 98.0),
        ("8'-2 1/2\"", 98.5),
        ("34.5IN", 34.5),
        ("1e1in", 10.0),
    ],
)
def test_a_length_in_trade_fractions_is_read(text: str, inches: float) -> None:
    # 1e-12 m: the last bits of a conversion.
    assert read(LENGTH, text) == pytest.approx(inches * INCH, abs=1e-12)


@pytest.mark.parametrize(
    ("field", "text", "si"),
    [
        (LENGTH, "865mm", 0.865),
        (LENGTH, "86.5 cm", 0.865),
        (LENGTH, "1.2m", 1.2),
        (WARMTH, "70F", 190 / 9),
        (WARMTH, "70 °F", 190 / 9),
        (WARMTH, "21C", 21.0),
        (WARMTH, "-10 °C", -10.0),
        (WARMTH, "300K", 26.85),
        (WEIGHT, "12kg", 12.0),
        (WEIGHT, "26lb", 26 * 0.45359237),
        (WEIGHT, "26 1/2 lbs", 26.5 * 0.45359237),
        (HUMIDITY, "45%", 45.0),
        (HUMIDITY, "0.45%", 0.45),
        (HUMIDITY, 45, 45.0),
    ],
)
def test_a_figure_with_its_unit_is_read(field: q.QuantityField, text: Any, si: float) -> None:
    assert read(field, text) == pytest.approx(si, abs=1e-9)


def test_units_give_a_bare_number_its_unit() -> None:
    assert read(LENGTH, 34, "us") == pytest.approx(34 * INCH)
    assert read(LENGTH, "34 1/2", "us") == pytest.approx(34.5 * INCH)
    assert read(LENGTH, 865, "metric") == pytest.approx(0.865)
    assert read(WARMTH, 70, "us") == pytest.approx(190 / 9)


def test_a_bare_number_without_units_is_refused_with_both_ways_to_write_it() -> None:
    text = refusal(LENGTH, 34)
    assert "without a unit" in text
    assert "865mm" in text
    assert "34 1/2 in" in text
    assert "units=metric (mm)" in text
    assert "units=us (in)" in text


def test_a_unit_of_another_dimension_is_refused_by_its_name() -> None:
    text = refusal(LENGTH, "70F")
    assert "`F` is a unit of temperature" in text
    assert "mm, cm, m, in, ft" in text
    assert "no unit known here" in refusal(LENGTH, "3 furlongs")


@pytest.mark.parametrize("value", ["34,5in", "34,5", "1,200 mm"])
def test_a_comma_in_a_figure_is_named(value: str) -> None:
    assert "write a decimal point, and thousands without a mark" in refusal(LENGTH, value)


@pytest.mark.parametrize("value", [0.45, "0.45", 1, 0.001, "1"])
def test_a_fraction_given_for_a_percent_is_refused_with_the_percent(value: Any) -> None:
    text = refusal(HUMIDITY, value)
    assert "percents are written as percent" in text
    assert f"{100 * float(value):g} %" in text


def test_zero_percent_is_no_slip() -> None:
    assert read(HUMIDITY, 0) == 0.0


@pytest.mark.parametrize(
    "value",
    [
        float("nan"),
        float("inf"),
        "nan",
        "inf in",
        "1/0 in",
        "in",
        "",
        "34 in in",
        "1,200mm",
        "--3in",
        "9" * 80,
        "1e999in",
        True,
        None,
        {},
        [],
        "34 / 2 in",
        "٣٤in",
    ],
)
def test_what_is_no_figure_is_refused(value: Any) -> None:
    refusal(LENGTH, value, "us")


def test_a_figure_outside_its_limits_is_told_both_in_metric_and_us() -> None:
    text = refusal(q.Length("thickness", low=0.003, high=0.3), "2ft")
    assert "`2ft` given" in text
    assert "3 to 300 mm or 0.1182 to 11.81 in" in text


def test_limits_themselves_are_allowed_in_either_system() -> None:
    field = q.Length("thickness", low=0.003, high=0.3)
    assert read(field, 300, "metric") == pytest.approx(0.3)
    assert read(field, 3, "metric") == pytest.approx(0.003)
    assert read(field, str(0.3 / INCH) + "in") == pytest.approx(0.3)


def test_a_list_of_numbers_is_one_array() -> None:
    array = read(q.Temperature("t", low=-60, high=100, lists=True), [32, 70, 212], "us")
    assert np.allclose(array, [0.0, 190 / 9, 100.0])


def test_a_list_with_units_of_its_own_is_read_figure_by_figure() -> None:
    array = read(q.Temperature("t", low=-60, high=100, lists=True), ["70F", "21C"])
    assert np.allclose(array, [190 / 9, 21.0])


def test_every_wrong_figure_of_a_list_is_told_by_its_index() -> None:
    with pytest.raises(ValidationError) as error:
        read(HUMIDITY, [40, 0.45, 50, 130])
    assert list(error.value.messages) == [1, 3]


def test_a_list_too_long_is_refused_by_its_length() -> None:
    assert "100,001 given" in refusal(HUMIDITY, [40] * 100_001)
    assert "list of 0 given" in refusal(HUMIDITY, [])


def test_the_reply_is_in_the_system_the_values_were_written_in() -> None:
    for texts, system in (
        (("34in", "70F"), "us"),
        (("865mm", "21C"), "metric"),
        (("34in", "21C"), "metric"),
        ((), "metric"),
    ):
        with q.reading(q.Reading()) as how:
            for text in texts:
                (WARMTH if text[-1] in "FC" else LENGTH).deserialize(text)
        assert how.reply == system


PINT = {
    "in": "inch",
    "ft": "foot",
    "mi": "mile",
    "°C": "degC",
    "°F": "degF",
    "K": "kelvin",
    "lb": "pound",
    "oz": "ounce",
    "inHg": "inch_Hg_32F",
    "lbf": "force_pound",
    "N m": "newton * meter",
    "lbf ft": "force_pound * foot",
    "N m/m": "newton * meter / meter",
    "lbf ft/ft": "force_pound * foot / foot",
    "kg/m2": "kg / m**2",
    "lb/ft2": "pound / foot**2",
    "µm/m": "micrometer / meter",
    "kWh/d": "kWh / day",
    "kg/d": "kg / day",
    "lb/d": "pound / day",
    "ksi": "kip_per_square_inch",
    "mm4": "mm**4",
    "cm4": "cm**4",
    "in4": "inch**4",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "in2": "inch**2",
    "m3": "m**3",
    "ft3": "foot**3",
    "ft/min": "foot/minute",
    "d": "day",
    "h": "hour",
    "wk": "week",
    "g/kg": "g/kg",
    "W/(m2 K)": "W / m**2 / kelvin",
    "Btu/(h ft2 °F)": "Btu / hour / foot**2 / delta_degF",
    "W/m2": "W / m**2",
    "Btu/(h ft2)": "Btu / hour / foot**2",
}
SI = {
    u.TEMPERATURE: "degC",
    u.MASS: "kg",
    u.PRESSURE: "Pa",
    u.FORCE: "N",
    u.MOMENT: "N * m",
    u.MOMENT_PER_LENGTH: "N",
    u.MASS_PER_AREA: "kg / m**2",
    u.MICROSTRAIN: "",
    u.ENERGY: "J",
    u.ENERGY_PER_DAY: "W",
    u.MASS_PER_DAY: "kg / s",
    u.STRESS: "Pa",
    u.SECOND_MOMENT: "m**4",
    u.AREA: "m**2",
    u.VOLUME: "m**3",
    u.SPEED: "m/s",
    u.DAYS: "day",
    u.HOURS: "hour",
    u.HUMIDITY_RATIO: "",
    u.TEMPERATURE_RISE: "delta_degC",
    u.TRANSMITTANCE: "W / m**2 / kelvin",
    u.RADIATION: "W / m**2",
}
# The same symbol stands for a temperature and for a difference.
DIFFERENCES = {"K": "delta_degC", "°F": "delta_degF"}


@pytest.mark.parametrize(
    ("dimension", "unit"),
    [
        (dimension, unit)
        for dimension in u.DIMENSIONS
        for unit in dimension.units
        if unit.symbol not in ("%", "1", "1/%")
    ],
    ids=lambda value: getattr(value, "symbol", None) or getattr(value, "name", ""),
)
def test_the_table_of_units_agrees_with_pint(dimension: u.Dimension, unit: u.Unit) -> None:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    registry.define("inch_Hg_32F = 13595.1 * 9.80665 * 0.0254 * pascal")
    if unit.symbol == "inHg":
        # pint's inch_Hg_32F rounds the density of mercury; 1e-5 covers both roundings.
        assert unit.factor == pytest.approx(
            registry.Quantity(1, "inch_Hg").to("Pa").magnitude, rel=1e-5
        )
    name = PINT.get(unit.symbol, unit.symbol)
    if dimension is u.TEMPERATURE_RISE:
        name = DIFFERENCES[unit.symbol]
    other = registry.Quantity(37.5, name).to(SI.get(dimension, "m")).magnitude
    assert (37.5 - unit.zero) * unit.factor == pytest.approx(other, rel=1e-9)


@given(
    st.sampled_from([d for d in u.DIMENSIONS if not d.bare]),
    st.sampled_from(["metric", "us"]),
    st.floats(0.01, 99.0),
)
def test_a_written_figure_reads_back_as_itself(
    dimension: u.Dimension, system: u.System, value: float
) -> None:
    unit = dimension.of_system[system]
    si = (value - unit.zero) * unit.factor
    written = dimension.write(si, system)
    figure, spelling = u.split(f"{written:.6f} {unit.symbol}")
    assert dimension.find(spelling) is unit
    # Half of the last decimal that the reply keeps.
    assert figure == pytest.approx(value, abs=0.5000001 * 10**-unit.decimals)


@given(st.integers(0, 400), st.integers(0, 31), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_shop_fraction_is_read_exactly(whole: int, top: int, bottom: int) -> None:
    text = f"{whole} {top}/{bottom}in"
    assert u.split(text) == (whole + top / bottom, "in")


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_and_never_fails(text: str) -> None:
    with q.reading(q.Reading(units="us")):
        try:
            value = LENGTH.deserialize(text)
        except ValidationError:
            return
    assert 0.0 <= value <= 10.0 + 1e-6


def test_written_arrays_and_numbers_round_alike() -> None:
    assert u.LENGTH.write(0.8636, "us") == 34.0
    assert u.LENGTH.write(np.array([0.8636]), "us").tolist() == [34.0]
    # No minus zero: a change of nothing reads as 0.
    assert str(u.LENGTH.write(-1e-9, "metric")) == "0.0"
