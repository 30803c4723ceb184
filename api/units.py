"""The units that a caller may write and those of a reply: the one place where they stand.

A *dimension* knows the units a caller may write, the two it replies in (metric and us), and how a
figure of it is written and read.  Inside the service every figure is SI, with temperature in
degrees Celsius and percents in percent, as in model/.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final, Literal

import numpy as np

System = Literal["metric", "us"]
SYSTEMS: Final[tuple[System, ...]] = ("metric", "us")
UNITLESS: Final = "1"  # unit of a bare number, as UCUM writes it; never written by a caller
INCH: Final = 0.0254  # m; definition (international inch, 1959)
POUND: Final = 0.45359237  # kg; definition (international pound, 1959)
GRAVITY: Final = 9.80665  # m/s2; definition (standard gravity)
POUND_FORCE: Final = POUND * GRAVITY  # N
BTU: Final = 1055.056  # J; ISO 31-4 (definition)
# A bare percent is 0 or above 1: what is between is taken for a slip, and written with its sign.
_NUMBERS: Final = ({"type": "number"},)
_PERCENTS: Final = (
    {"type": "number", "maximum": 0},
    {"type": "number", "exclusiveMinimum": 1},
)


@dataclass(frozen=True, slots=True)
class Unit:
    """SI figure = (figure - zero) x factor; `system` is whose unit it is, None for both."""

    symbol: str
    factor: float
    system: System | None
    spellings: tuple[str, ...] = ()
    zero: float = 0.0
    decimals: int = 2


@dataclass(frozen=True, eq=False)
class Dimension:
    """What kind of figure it is: its units, the reply's unit in each system, how to write it.

    `bare` says that a number without unit has one meaning only, so that `units` is not needed.
    `other_forms` are for fields whose range the first one is not in.
    """

    name: str
    units: tuple[Unit, ...]
    metric: str
    us: str
    forms: str
    bare: bool = False
    other_forms: tuple[str, ...] = ()

    @cached_property
    def spellings(self) -> dict[str, Unit]:
        """Unit by spelling; any case will do where it cannot be mistaken."""
        exact = {text: unit for unit in self.units for text in (unit.symbol, *unit.spellings)}
        exact.pop(UNITLESS, None)
        loose = {text.lower(): unit for text, unit in exact.items()}
        return loose | exact

    @cached_property
    def of_system(self) -> dict[str, Unit]:
        """The unit of a bare number and of the reply in each system."""
        by_symbol = {unit.symbol: unit for unit in self.units}
        return {"metric": by_symbol[self.metric], "us": by_symbol[self.us]}

    @property
    def component(self) -> str:
        """Name of the schema of its figures in the OpenAPI document."""
        return "".join(word.capitalize() for word in self.name.split())

    @property
    def schema(self) -> dict[str, Any]:
        """JSON Schema of its figures, as numbers and as texts."""
        text = {"type": "string", "pattern": pattern(self), "maxLength": _LONGEST_FIGURE}
        bare = "" if self.bare else "; a number alone is in the unit of `units`"
        if self.name == "percent":
            bare = "; a number alone is 0 or above 1: half a percent is `0.5%`"
        return {
            "description": f"{self.name}, such as {self.forms}{bare}",
            "anyOf": [*(_PERCENTS if self.name == "percent" else _NUMBERS), text],
        }

    def find(self, spelling: str) -> Unit | None:
        """The unit of that spelling, None if this dimension has none."""
        return self.spellings.get(spelling) or self.spellings.get(spelling.lower())

    def write(self, value: Any, system: System) -> Any:
        """A figure or an array in the unit of a system, rounded to what it can hold."""
        unit = self.of_system[system]
        if isinstance(value, float):
            return round(float(value) / unit.factor + unit.zero, unit.decimals) + 0.0
        return np.round(np.asarray(value) / unit.factor + unit.zero, unit.decimals) + 0.0


LENGTH = Dimension(
    "length",
    (
        Unit("mm", 0.001, "metric", ("millimetre", "millimetres", "millimeter", "millimeters")),
        Unit("cm", 0.01, "metric", ("centimetre", "centimetres", "centimeter", "centimeters")),
        Unit("m", 1.0, "metric", ("metre", "metres", "meter", "meters")),
        Unit("in", INCH, "us", ("inch", "inches", '"', "″", "”", "in."), decimals=4),
        Unit("ft", 12 * INCH, "us", ("foot", "feet", "'", "′", "’", "ft.")),
    ),
    "mm",
    "in",
    "865mm or 34 1/2 in",
    other_forms=("50mm or 2in", "4.8mm or 3/16 in"),
)
ELEVATION = Dimension(
    "height above the sea",
    (
        Unit("m", 1.0, "metric", ("metre", "metres", "meter", "meters"), decimals=0),
        Unit("ft", 12 * INCH, "us", ("foot", "feet", "'", "′"), decimals=0),
    ),
    "m",
    "ft",
    "430m or 1400ft",
)
DISTANCE = Dimension(
    "distance over land",
    (Unit("km", 1000.0, "metric", decimals=1), Unit("mi", 1609.344, "us", decimals=1)),
    "km",
    "mi",
    "120km or 75mi",
)
AIR_LAYER = Dimension(
    "thickness of still air",
    LENGTH.units,
    "m",
    "m",
    "1.2 or 1.2m",
    bare=True,
)
TEMPERATURE = Dimension(
    "temperature",
    (
        Unit("°C", 1.0, "metric", ("C", "ºC", "degC", "deg C", "celsius")),
        Unit("°F", 5 / 9, "us", ("F", "ºF", "degF", "deg F", "fahrenheit"), zero=32.0),
        Unit("K", 1.0, "metric", ("kelvin",), zero=273.15),
    ),
    "°C",
    "°F",
    "21C or 70F",
)
TEMPERATURE_RISE = Dimension(
    "difference of temperature",
    (
        Unit("K", 1.0, "metric", ("°C", "C", "ºC", "degC", "kelvin")),
        Unit("°F", 5 / 9, "us", ("F", "ºF", "degF")),
    ),
    "K",
    "°F",
    "3K or 5F",
)
TRANSMITTANCE = Dimension(
    "thermal transmittance",
    (
        Unit("W/(m2 K)", 1.0, "metric", ("W/m2K", "W/(m2K)", "W/m²K", "W/(m²K)")),
        Unit(
            "Btu/(h ft2 °F)",
            BTU / 3600 / (12 * INCH) ** 2 * 9 / 5,
            "us",
            ("Btu/(h ft2 F)", "Btu/hft2F"),
        ),
    ),
    "W/(m2 K)",
    "Btu/(h ft2 °F)",
    "0.5W/m2K or 0.09Btu/hft2F",
)
RADIATION = Dimension(
    "radiation",
    (
        Unit("W/m2", 1.0, "metric", ("W/m²", "W/m^2"), decimals=0),
        Unit("Btu/(h ft2)", BTU / 3600 / (12 * INCH) ** 2, "us", ("Btu/hft2",), decimals=1),
    ),
    "W/m2",
    "Btu/(h ft2)",
    "600W/m2 or 190Btu/hft2",
)
MASS = Dimension(
    "mass",
    (
        Unit("kg", 1.0, "metric", ("kilogram", "kilograms"), decimals=3),
        Unit("g", 0.001, "metric", ("gram", "grams")),
        Unit("lb", POUND, "us", ("lbs", "pound", "pounds"), decimals=3),
        Unit("oz", POUND / 16, "us", ("ounce", "ounces")),
    ),
    "kg",
    "lb",
    "12kg or 26lb",
    other_forms=("0.5kg or 1.1lb",),
)
PRESSURE = Dimension(
    "vapour pressure",
    (
        Unit("Pa", 1.0, "metric", decimals=1),
        Unit("hPa", 100.0, "metric", ("mbar",)),
        Unit("kPa", 1000.0, "metric"),
        # 13,595.1 kg/m3 of mercury at 0 degC x standard gravity x one inch (definition).
        Unit("inHg", 13595.1 * GRAVITY * INCH, "us", ("in Hg",)),
    ),
    "Pa",
    "Pa",
    "1200Pa, 1.2kPa or 0.354inHg",
)
FORCE = Dimension(
    "force",
    (
        Unit("N", 1.0, "metric", ("newton", "newtons"), decimals=1),
        Unit("kN", 1000.0, "metric"),
        Unit("lbf", POUND_FORCE, "us", ("lb", "lbs"), decimals=1),
    ),
    "N",
    "lbf",
    "450N or 100lbf",
)
MOMENT = Dimension(
    "moment",
    (
        Unit("N m", 1.0, "metric", ("Nm", "N·m"), decimals=1),
        Unit("lbf ft", 12 * INCH * POUND_FORCE, "us", ("ft lb", "ft-lb", "lb ft"), decimals=1),
    ),
    "N m",
    "lbf ft",
    "300Nm or 220 ft-lb",
)
MOMENT_PER_LENGTH = Dimension(
    "moment for a length",
    (
        Unit("N m/m", 1.0, "metric", decimals=1),
        Unit("lbf ft/ft", POUND_FORCE, "us", decimals=1),
    ),
    "N m/m",
    "lbf ft/ft",
    "2300N m/m",
)
MASS_PER_AREA = Dimension(
    "mass on an area",
    (
        Unit("kg/m2", 1.0, "metric", decimals=4),
        Unit("lb/ft2", POUND / (12 * INCH) ** 2, "us", decimals=4),
    ),
    "kg/m2",
    "lb/ft2",
    "1.2kg/m2",
)
STRESS = Dimension(
    "stress",
    (
        Unit("MPa", 1e6, "metric", ("N/mm2",), decimals=3),
        Unit("GPa", 1e9, "metric"),
        Unit("psi", POUND_FORCE / INCH**2, "us", decimals=1),
        Unit("ksi", 1000 * POUND_FORCE / INCH**2, "us"),
    ),
    "MPa",
    "psi",
    "9.5MPa or 1380psi",
    other_forms=("12GPa or 1740ksi",),
)
# Of replies alone: no question takes a strain, so it is not among the dimensions read below.
MICROSTRAIN = Dimension(
    "strain", (Unit("µm/m", 1e-6, None, decimals=4),), "µm/m", "µm/m", "400µm/m", bare=True
)
SECOND_MOMENT = Dimension(
    "second moment of area",
    (
        Unit("mm4", 1e-12, "metric", ("mm^4", "mm⁴"), decimals=0),
        Unit("cm4", 1e-8, "metric", ("cm^4", "cm⁴")),
        Unit("in4", INCH**4, "us", ("in^4", "in⁴"), decimals=4),
    ),
    "mm4",
    "in4",
    "120000mm4 or 0.29in4",
)
AREA = Dimension(
    "area",
    (
        Unit("mm2", 1e-6, "metric", ("mm^2", "mm²"), decimals=1),
        Unit("cm2", 1e-4, "metric", ("cm^2", "cm²")),
        Unit("in2", INCH**2, "us", ("in^2", "in²", "sq in"), decimals=4),
    ),
    "mm2",
    "in2",
    "240mm2 or 0.37in2",
)
VOLUME = Dimension(
    "volume",
    (
        Unit("m3", 1.0, "metric", ("m^3", "m³"), decimals=2),
        Unit("ft3", (12 * INCH) ** 3, "us", ("ft^3", "ft³", "cu ft"), decimals=1),
    ),
    "m3",
    "ft3",
    "60m3 or 2100ft3",
)
SPEED = Dimension(
    "speed of air",
    (
        Unit("m/s", 1.0, "metric"),
        Unit("ft/min", 12 * INCH / 60, "us", ("fpm",), decimals=0),
    ),
    "m/s",
    "ft/min",
    "0.5m/s or 100ft/min",
)
ENERGY = Dimension("heat", (Unit("kWh", 3.6e6, None),), "kWh", "kWh", "12 kWh", bare=True)
ENERGY_PER_DAY = Dimension(
    "heat in a day", (Unit("kWh/d", 3.6e6 / 86_400, None),), "kWh/d", "kWh/d", "12 kWh/d", bare=True
)
MASS_PER_DAY = Dimension(
    "mass in a day",
    (
        Unit("kg/d", 1.0 / 86_400, "metric", decimals=3),
        Unit("lb/d", POUND / 86_400, "us", decimals=3),
    ),
    "kg/d",
    "lb/d",
    "12kg/d or 26lb/d",
)
PERCENT = Dimension("percent", (Unit("%", 1.0, None),), "%", "%", "45 or 45%", True, ("8 or 8%",))
DAYS = Dimension(
    "time in days",
    (
        Unit("d", 1.0, None, ("day", "days"), decimals=1),
        Unit("h", 1 / 24, None, ("hour", "hours")),
        Unit("wk", 7.0, None, ("week", "weeks")),
    ),
    "d",
    "d",
    "35 or 5 weeks",
    bare=True,
)
HOURS = Dimension(
    "time in hours",
    (
        Unit("h", 1.0, None, ("hour", "hours"), decimals=1),
        Unit("d", 24.0, None, ("day", "days")),
    ),
    "h",
    "h",
    "8 or 8h",
    bare=True,
)
HUMIDITY_RATIO = Dimension(
    "humidity ratio", (Unit("g/kg", 0.001, None, decimals=3),), "g/kg", "g/kg", "7.1", bare=True
)
PER_PERCENT = Dimension(
    "share for 1 % of moisture", (Unit("1/%", 1.0, None, decimals=5),), "1/%", "1/%", "0.0034", True
)
PLAIN = Dimension(
    "number", (Unit("1", 1.0, None, decimals=4),), "1", "1", "1.5", True, ("0.6", "-0.05")
)
DIMENSIONS: Final = (
    LENGTH,
    ELEVATION,
    DISTANCE,
    AIR_LAYER,
    TEMPERATURE,
    MASS,
    PRESSURE,
    FORCE,
    MOMENT,
    MOMENT_PER_LENGTH,
    MASS_PER_AREA,
    STRESS,
    SECOND_MOMENT,
    AREA,
    VOLUME,
    SPEED,
    PERCENT,
    DAYS,
    HOURS,
    HUMIDITY_RATIO,
    PER_PERCENT,
    TEMPERATURE_RISE,
    TRANSMITTANCE,
    RADIATION,
    PLAIN,
    MICROSTRAIN,
    ENERGY,
    ENERGY_PER_DAY,
    MASS_PER_DAY,
)
_DECIMAL: Final = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_MIXED: Final = r"(?:[0-9]+(?:\s+|\s*-\s*))?[0-9]+/[0-9]+"
_NUMBER: Final = rf"(?:{_MIXED}|{_DECIMAL})"
_ONE = re.compile(rf"([+-]?{_NUMBER})\s*(.*)", re.DOTALL)
_FEET_AND_INCHES = re.compile(
    rf"({_NUMBER})\s*(?:ft\.?|foot|feet|'|′|’)[\s-]*({_NUMBER})\s*(?:in\.?|inch|inches|\"|″|”)",
    re.IGNORECASE,
)
_VULGAR = re.compile("[¼-¾⅐-⅞]")
# Characters that a regular expression of ECMA escapes, and under its flag u no others.
_ECMA_SYNTAX: Final = re.compile(r"[\^$\\.*+?()\[\]{}|/]")
_LONGEST_FIGURE: Final = 60  # characters; `123 15/16 inches` has 16


def number(text: str) -> float:
    """A decimal number, a fraction or a mixed number as a shop writes it.

    >>> number("34 1/2"), number("2-1/4"), number("-0.5"), number("5/8")
    (34.5, 2.25, -0.5, 0.625)
    """
    if "/" not in text:
        return float(text)
    sign = -1.0 if text.startswith("-") else 1.0
    *whole, fraction = re.split(r"[\s-]+", text.lstrip("+-"))
    top, bottom = fraction.split("/")
    if int(bottom) == 0:
        raise ValueError("a fraction over 0")
    return sign * (sum(map(int, whole)) + int(top) / int(bottom))


def split(text: str) -> tuple[float, str]:
    """A figure and the spelling of its unit, "" if it has none; raises ValueError if it is neither.

    >>> split("34 1/2in"), split("8ft 2in"), split("70 °F")
    ((34.5, 'in'), (98.0, 'in'), (70.0, '°F'))
    """
    if len(text) > _LONGEST_FIGURE:
        raise ValueError("too long for a figure")
    text = _VULGAR.sub(_spelled_out, text).strip()
    both = _FEET_AND_INCHES.fullmatch(text)
    if both is not None:
        return 12.0 * number(both[1]) + number(both[2]), "in"
    one = _ONE.fullmatch(text)
    if one is None:
        raise ValueError("not a figure")
    return number(one[1]), one[2]


def _spelled_out(fraction: re.Match[str]) -> str:
    """One character such as a half as ` 1/2`; NFKC writes it with the fraction slash U+2044."""
    return " " + unicodedata.normalize("NFKC", fraction[0]).replace("\u2044", "/")


def pattern(dimension: Dimension) -> str:
    """Regular expression (ECMA) of the text forms of a dimension's figures."""
    figure = r"((\d+[ -]+)?\d+/[1-9]\d*|(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,2})?)"
    spellings = [text for unit in dimension.units for text in (unit.symbol, *unit.spellings)]
    known = sorted((text for text in spellings if text != UNITLESS), key=len, reverse=True)
    units = "|".join(_ECMA_SYNTAX.sub(r"\\\g<0>", text) for text in known)
    one = rf"[+-]?{figure}\s*({units})?" if units else rf"[+-]?{figure}"
    if dimension is LENGTH:
        one = rf"""({one}|{figure}\s*(ft|')\s*{figure}\s*(in|"))"""
    return rf"^\s*{one}\s*$"
