"""Questions that should be answered, made by chance over the whole range that is allowed.

They are built from the schemas themselves, so that a new field is tried without a word here.  What
no schema says (heating below cooling, points on the slab) stands in a function beside the name of
its shape.  One number makes one question: `sound("settle", 17)` is the same on every machine.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from random import Random
from typing import Any, Final

from api import places
from api.quantities import QuantityField
from api.questions import QUESTIONS
from api.schema import Choice, Date, Either, Flag, Name, Part, Rows, Shape, Whole
from api.shapes.faces import FinishName
from api.shapes.log import Times
from api.shapes.room import ClimateName
from api.shapes.slab import SpeciesName
from api.units import Unit
from model.properties import finishes, species

Object = dict[str, Any]
SHAPES: Final = {question.name: question.shape for question in QUESTIONS}
# Lightest and heaviest, least and most mobile, and what the examples speak of.
WOODS: Final = (
    "balsa",
    "ipe",
    "American elm",
    "teak",
    "western redcedar",
    "coast Douglas-fir",
)
FIRST: Final = datetime.date(2025, 1, 1)


class Chance:
    """A question in the making: chance, and the units its bare numbers have."""

    def __init__(self, name: str, number: int) -> None:
        self.random = Random(f"{name} {number}")
        self.units = self.random.choice(("metric", "us", None))
        self.woods = [each.id for each in species.all_species()]
        self.climates = [each.id for each in places.climates().stations]
        self.finishes = [each.id for each in finishes.all_finishes()]

    def often(self, share: float) -> bool:
        return self.random.random() < share

    def figure(
        self, field: QuantityField, low: float | None = None, high: float | None = None
    ) -> Any:
        """A figure of a field as a caller may write it, within narrower limits if given."""
        low = field.low if low is None else max(low, field.low)
        high = field.high if high is None else min(high, field.high)
        kind = self.random.random()
        if kind < 0.12:
            si = low
        elif kind < 0.24:
            si = high
        elif low > 0.0 and high / low > 30.0:
            si = math.exp(self.random.uniform(math.log(low), math.log(high)))
        else:
            si = self.random.uniform(low, high)
        return self.write(field, si)

    def write(self, field: QuantityField, si: float) -> Any:
        dimension = field.dimension
        if dimension.bare or (self.units is not None and self.often(0.5)):
            value = _in(dimension.of_system[self.units or "metric"], si)
            # A bare percent up to 1 is taken for a slip.
            if not (dimension.name == "percent" and 0.0 < value <= 1.0):
                return value if self.often(0.7) else repr(value)
        units = [unit for unit in dimension.units if unit.symbol != "1"]
        unit = self.random.choice(units)
        spelling = self.random.choice((unit.symbol, *unit.spellings))
        return f"{_in(unit, si)!r}{self.random.choice(('', ' '))}{spelling}"

    def any_of(self, shape: Shape, *left_out: str) -> Object:
        """An object of a shape: what is required, and some of the rest."""
        return {
            field.data_key or name: self.value(field)
            for name, field in shape.load_fields.items()
            if name not in left_out
            and (field.data_key or name) not in left_out
            and (field.required or self.often(0.35))
        }

    def some(self, shape: Shape, *names: str, share: float = 1.0) -> Object:
        """The members of these names."""
        return {name: self.value(self.field(shape, name)) for name in names if self.often(share)}

    def field(self, shape: Shape, name: str) -> Any:
        return next(f for own, f in shape.load_fields.items() if (f.data_key or own) == name)

    def value(self, field: Any) -> Any:
        """A value of any field."""
        if isinstance(field, QuantityField):
            if not field.alone or (field.lists and self.often(0.3)):
                count = self.random.randint(field.lengths[0], max(field.lengths[0], 4))
                return [self.figure(field) for _ in range(count)]
            return self.figure(field)
        if isinstance(field, Part):
            return self.object(field.shape)
        if isinstance(field, Either):
            return self.object(field.shape) if self.often(0.3) else self.value(field.one)
        if isinstance(field, Rows):
            count = self.random.randint(field.shortest, max(field.shortest, min(field.longest, 4)))
            return [self.object(field.shape) for _ in range(count)]
        return self.plain(field)

    def plain(self, field: Any) -> Any:
        """A value of a field without unit."""
        chosen = self.random.choice
        if isinstance(field, SpeciesName):
            return chosen(WOODS) if self.often(0.5) else chosen(self.woods)
        if isinstance(field, ClimateName):
            return chosen(self.climates)
        if isinstance(field, FinishName):
            return chosen(self.finishes)
        if isinstance(field, Choice):
            return chosen(field.choices)
        if isinstance(field, Whole):
            whole = (field.low, field.high, self.random.randint(field.low, field.high))
            return chosen(whole)
        if isinstance(field, Flag):
            return self.often(0.5)
        if isinstance(field, Date):
            return self.date()
        if isinstance(field, Name):
            return chosen(("a", "Tisch im Lesesaal", "卓", "<b>&amp;", "x" * 200))
        assert isinstance(field, Times), f"{type(field).__name__} is not known here"
        raise AssertionError("times are made with their log")

    def date(self, after: int = 0, before: int = 700) -> str:
        return (FIRST + datetime.timedelta(self.random.randint(after, before))).isoformat()

    def object(self, shape: Shape) -> Object:
        """An object of a shape, by the rules of `_RULES` where it has some."""
        for kind in type(shape).__mro__:
            if kind.__name__ in _RULES:
                return _RULES[kind.__name__](self, shape)
        return self.any_of(shape)

    def ordered(self, shape: Shape, lesser: str, greater: str) -> Object:
        """Two figures of a shape, the first not above the second."""
        lower, upper = self.field(shape, lesser), self.field(shape, greater)
        ends = sorted(self.random.uniform(lower.low, lower.high) for _ in range(2))
        return {lesser: self.write(lower, ends[0]), greater: self.write(upper, ends[1])}


def _in(unit: Unit, si: float) -> float:
    return si / unit.factor + unit.zero


def _room(chance: Chance, shape: Shape) -> Object:
    way = chance.random.choice(("climate", "climate", "outdoor", "months", "steady", "near"))
    if way == "months":
        return chance.some(shape, "months")
    if way == "steady":
        return chance.some(shape, "temperature", "relative_humidity")
    if way == "near":
        near = chance.random.choice(places.climates().stations)
        room: Object = {"latitude": near.latitude, "longitude": near.longitude}
    else:
        room = chance.some(shape, way)
    kind = chance.random.choice(("room", "room", "heated_shop", "shed", "outdoors_covered"))
    method = chance.plain(chance.field(shape, "method")) if chance.often(0.3) else "vapour_excess"
    if kind == "outdoors_covered":
        return room | {"kind": kind}
    if chance.often(0.3):
        room |= chance.ordered(shape, "humidify_to", "dehumidify_to")
    if kind == "shed":
        return room | {"kind": kind}
    if kind == "heated_shop":
        return room | {"kind": kind} | chance.ordered(shape, "heat_to", "cool_to")
    room["method"] = method
    if method in ("vapour_excess", "moisture_balance"):
        room |= chance.ordered(shape, "heat_to", "cool_to") if chance.often(0.6) else {}
    if method == "vapour_excess":
        room |= chance.some(shape, "occupied", share=0.5)
    if method == "moisture_balance":
        room |= chance.some(shape, "generation", "air_changes", "volume")
    return room


def _outdoor(chance: Chance, shape: Shape) -> Object:
    mean = chance.random.uniform(-30.0, 30.0)
    swing = chance.random.uniform(0.0, 25.0)
    warmth = chance.field(shape, "temperature")
    year = [mean - swing * math.cos(math.tau * month / 12.0) for month in range(12)]
    return {
        "temperature": [chance.write(warmth, each) for each in year],
        **chance.some(shape, "relative_humidity"),
    }


def _slab(chance: Chance, shape: Shape) -> Object:
    slab = chance.any_of(shape, "grain", "ring_angle", "pith")
    slab |= chance.some(shape, *chance.random.choice(([], ["grain"], ["ring_angle"], ["pith"])))
    if "pith" in slab:
        below = chance.field(chance.field(shape, "pith").shape, "below")
        slab["pith"]["below"] = chance.figure(below, low=0.0)
    return slab | chance.some(shape, "length")


def _brought(chance: Chance, shape: Shape) -> Object:
    # No more than the thinnest slab bears, 3 mm: of a slice 0.1 mm over 100, of a prong 1 mm thick.
    if chance.often(0.5):
        slice_ = chance.field(shape, "slice").shape
        return {"slice": {"gap": chance.write(chance.field(slice_, "gap"), 1e-4)}}
    prong = chance.field(shape, "prong").shape
    sizes = {"bends": -1e-4, "length": 0.1, "thickness": 0.001}
    return {
        "prong": {
            name: chance.write(chance.field(prong, name), size) for name, size in sizes.items()
        }
    }


def _moisture(chance: Chance, shape: Shape) -> Object:
    if chance.often(0.6):
        return chance.some(shape, "shell", "core")
    rows = chance.field(shape, "depths").shape
    depth, held = chance.field(rows, "depth"), chance.field(rows, "moisture")
    # The thinnest slab is 3 mm thick, so that these lie in any slab.
    return {
        "depths": [
            {"depth": chance.write(depth, 0.001 * row), "moisture": chance.figure(held)}
            for row in range(chance.random.randint(1, 4))
        ]
    }


def _face(chance: Chance, shape: Shape) -> Object:
    way = chance.random.choice(("finish", "sd", "perms"))
    return chance.some(shape, way) | chance.some(shape, "air_speed", share=0.4)


def _figures(chance: Chance, shape: Shape) -> Object:
    made = chance.any_of(shape, "radial", "tangential")
    return made | chance.ordered(shape, "radial", "tangential")


def _bar(chance: Chance, shape: Shape) -> Object:
    if chance.often(0.2):
        bar = chance.some(shape, "second_moment", "modulus", "area")
    else:
        bar = chance.some(shape, "section", "width", "height")
        if bar["section"] in ("angle", "channel", "tee"):
            width = chance.random.uniform(0.02, 0.1)
            for name, size in (("width", width), ("height", width), ("wall", 0.1 * width)):
                bar[name] = chance.write(chance.field(shape, name), size)
        if bar["section"] == "timber":
            bar |= chance.some(shape, "species")
    names = [own for own in shape.load_fields if own in ("count", "fastener")]
    return bar | chance.some(shape, *names, share=0.5)


def _fastener(chance: Chance, shape: Shape) -> Object:
    return chance.any_of(shape, "depth")


def _range(chance: Chance, shape: Shape) -> Object:
    return chance.ordered(shape, "driest", "dampest")


def _meter(chance: Chance, shape: Shape) -> Object:
    if chance.often(0.3):
        return {"kind": "surface", **chance.some(shape, "value")}
    way = chance.random.choice(("value", "resistance"))
    pin = chance.some(shape, way) | chance.some(shape, "temperature", "compensated", share=0.5)
    return pin | chance.some(shape, "scale", share=0.3)


def _oven(chance: Chance, shape: Shape) -> Object:
    wet, dry = (chance.field(shape, name) for name in ("wet", "dry"))
    mass = chance.random.uniform(0.01, 10.0)
    share = chance.random.uniform(1.0, 2.5)
    return {"dry": chance.write(dry, mass), "wet": chance.write(wet, mass * share)}


def _board(chance: Chance, shape: Shape) -> Object:
    fields = [chance.field(shape, name) for name in ("start_weight", "weight", "section_moisture")]
    dry, then, now = chance.random.uniform(0.5, 50.0), *chance.random.choices(range(2, 120), k=2)
    masses = [dry * (1.0 + then / 100.0), dry * (1.0 + now / 100.0), float(then)]
    return {
        name: chance.write(field, si)
        for name, field, si in zip(
            ("start_weight", "weight", "section_moisture"), fields, masses, strict=True
        )
    }


def _key(chance: Chance, shape: Shape) -> Object:
    key = chance.any_of(shape, "wing", "thickness", "waist")
    waist = chance.random.uniform(0.004, 0.1)
    sizes = {"waist": waist, "wing": 1.5 * waist, "thickness": 0.003}
    return key | {
        name: chance.write(chance.field(shape, name), size) for name, size in sizes.items()
    }


def _cup(chance: Chance, shape: Shape) -> Object:
    amount = chance.field(shape, "amount")
    return {"amount": chance.figure(amount, low=1e-4, high=2e-3), **chance.some(shape, "shape")}


def _stay(chance: Chance, shape: Shape) -> Object:
    stay = chance.any_of(shape, "days", "from_date", "to_date", "dress", "wet_face", "held", "room")
    stay |= chance.some(shape, "room")
    stay["days"] = chance.figure(chance.field(shape, "days"), high=400.0)
    if chance.often(0.3):
        stay["held"] = chance.random.choice(("free", "flat"))
    if chance.often(0.2) and "wet_face" in dict(shape.load_fields):
        face = chance.field(shape, "wet_face").shape
        stay["wet_face"] = {**chance.some(face, "face"), "hours": 8}
        stay["days"] = 30
    return stay


def _plan(chance: Chance, shape: Shape) -> Object:
    plan = chance.some(shape, "temperature", share=0.4)
    if chance.often(0.7):
        plan |= chance.some(shape, "wet_face") | chance.some(shape, "hours", "days", share=0.5)
    return plan


def _seen(chance: Chance, shape: Shape) -> Object:
    return chance.some(shape, "day", "cup")


_RULES: Final[dict[str, Callable[[Chance, Shape], Object]]] = {
    "RoomShape": _room,
    "OutdoorShape": _outdoor,
    "SlabShape": _slab,
    "BroughtShape": _brought,
    "MoistureShape": _moisture,
    "FaceShape": _face,
    "SpeciesFigures": _figures,
    "BarShape": _bar,
    "FastenerShape": _fastener,
    "RangeShape": _range,
    "MeterShape": _meter,
    "OvenDryShape": _oven,
    "SampleBoardShape": _board,
    "KeyShape": _key,
    "CupShape": _cup,
    "StayShape": _stay,
    "SpellShape": _stay,
    "PlanShape": _plan,
    "SeenShape": _seen,
}


def _equilibrium(chance: Chance, body: Object, shape: Shape) -> None:
    for name in ("relative_humidity", "moisture"):
        body.pop(name, None)
    body["temperature"] = chance.figure(chance.field(shape, "temperature"))
    body |= chance.some(shape, chance.random.choice(("relative_humidity", "moisture")))


def _air(chance: Chance, body: Object, shape: Shape) -> None:
    for name in ("dew_point", "wet_bulb", "vapour_pressure"):
        body.pop(name, None)
    body |= chance.some(shape, "relative_humidity")


def _course(chance: Chance, body: Object, shape: Shape) -> None:
    body |= chance.some(shape, "starts")
    body.pop("profiles", None)


def _fixings(chance: Chance, body: Object, shape: Shape) -> None:
    body.pop("moisture_range" if chance.often(0.6) else "room", None)
    if not {"moisture_range", "room"} & body.keys():
        body |= chance.some(shape, "room")
    positions = chance.field(shape, "positions")
    # The narrowest slab is 10 mm wide.
    body["positions"] = [chance.write(positions, 0.001 * place) for place in (0, 4, 9.5)]
    for name in ("fixed_at", "recess"):
        body.pop(name, None)


def _stiffening(chance: Chance, body: Object, shape: Shape) -> None:
    if not {"bars", "keys"} & body.keys() or "limit" in body:
        body |= chance.some(shape, "bars")


def _load(chance: Chance, body: Object, shape: Shape) -> None:
    slab = chance.field(shape, "slab").shape
    body["slab"]["width"] = chance.write(chance.field(slab, "width"), 0.5)
    body["overhang"] = chance.figure(chance.field(shape, "overhang"), high=0.25)
    for name in ("groove", "span"):
        body.pop(name, None)


def _reading(chance: Chance, body: Object, shape: Shape) -> None:
    # Of a slab, or of a wood alone.
    told = chance.random.choice(("slab", "species"))
    for name in ("slab", "species"):
        body.pop(name, None)
    body |= chance.some(shape, told)
    if not {"readings", "oven_dry", "sample_boards"} & body.keys():
        body |= chance.some(shape, "readings")


def _readiness(chance: Chance, body: Object, shape: Shape) -> None:
    rows = chance.field(shape, "readings").shape
    held, day = chance.random.uniform(6.0, 40.0), 0
    readings = []
    for _ in range(chance.random.randint(1, 6)):
        row = {"date": chance.date(day, day + 20)}
        day += chance.random.randint(21, 60)
        row["value"] = chance.write(chance.field(rows, "value"), held)
        held = max(2.0, held * chance.random.uniform(0.8, 1.05))
        readings.append(row)
    body["readings"] = readings
    for name in ("today", "dry_weight"):
        body.pop(name, None)


def _diagnosis(chance: Chance, body: Object, shape: Shape) -> None:
    for name in (
        "fixings",
        "gap",
        "stays",
        "days",
        "from_date",
        "to_date",
        "room",
        "ripped_strip",
        "keys",
        "dress",
    ):
        body.pop(name, None)
    slab = body["slab"]
    width = chance.random.uniform(0.05, 3.0)
    slab["width"] = chance.write(chance.field(chance.field(shape, "slab").shape, "width"), width)
    after = width * chance.random.uniform(0.97, 1.005)
    body["width_after"] = chance.write(chance.field(shape, "width_after"), after)
    body["moisture"] = chance.figure(chance.field(shape, "moisture").one, 4.0, 20.0)
    body |= {**chance.some(shape, "room"), "from_date": chance.date()}
    body["days"] = chance.random.randint(1, 800)
    if "seen" in body:
        body["seen"] = [{"day": 1, "width": slab["width"]}]


def _conditioning(chance: Chance, body: Object, shape: Shape) -> None:
    body.pop("wood" if chance.often(0.7) else "slab", None)
    if not {"wood", "slab"} & body.keys():
        body |= chance.some(shape, "slab")
    for name in ("volume", "air_changes"):
        body.pop(name, None)


def _repair(chance: Chance, body: Object, shape: Shape) -> None:
    for name in ("since", "bars", "wanted", "done"):
        body.pop(name, None)
    slab = chance.field(shape, "slab").shape
    sizes = {
        "width": chance.random.uniform(0.1, 1.5),
        "thickness": chance.random.uniform(0.02, 0.1),
    }
    for name, size in sizes.items():
        body["slab"][name] = chance.write(chance.field(slab, name), size)
    body["starts"] = chance.date(701, 800)
    if "room" in body and chance.often(0.7):
        body["since"] = chance.date()
    if "moisture" in body:
        body["moisture"] = chance.figure(chance.field(shape, "moisture").one, 4.0, 20.0)
    if "seen" in body:
        seen = chance.field(shape, "seen").shape
        after = sizes["width"] * chance.random.uniform(0.97, 1.005)
        body["seen"]["width_after"] = chance.write(chance.field(seen, "width_after"), after)


_LAST: Final[dict[str, Callable[[Chance, Object, Shape], None]]] = {
    "equilibrium": _equilibrium,
    "air": _air,
    "course": _course,
    "fixings": _fixings,
    "stiffening": _stiffening,
    "load": _load,
    "reading": _reading,
    "readiness": _readiness,
    "diagnosis": _diagnosis,
    "conditioning": _conditioning,
    "repair": _repair,
}


def sound(name: str, number: int) -> Object:
    """A question that should be answered."""
    chance, shape = Chance(name, number), SHAPES[name]
    body = chance.any_of(shape, "units", "detail")
    if "spread" in shape.load_fields and chance.often(0.5):
        body["spread"] = "none"
    if name in _LAST:
        _LAST[name](chance, body, shape)
    return body | ({"units": chance.units} if chance.units else {})
