"""What the service knows: woods, finishes, climates, limits, and where its formulas come from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import orjson
from flask import Blueprint, Response, request
from marshmallow import ValidationError, validates_schema

from api import asking, limits, places
from api.quantities import Plain, QuantityField, Reading, reading
from api.question import Question, invalid
from api.replies import members
from api.replies.csv import Table
from api.replies.csv import write as write_csv
from api.replies.members import Answer, Units
from api.replies.text import Page, Rows
from api.replies.text import write as write_text
from api.schema import Choice, Name, QuestionShape, Shape, Told, Whole
from api.schema import members as values_of
from api.units import DISTANCE, ELEVATION, PER_PERCENT, PERCENT, STRESS, SYSTEMS, System
from model import MODEL_VERSION, basis
from model.behaviour import shrinkage
from model.properties import finishes, species
from model.properties.finishes import Finish
from model.properties.species import Species, Unmeasured
from model.surroundings import towns
from model.surroundings.climate import Found
from model.surroundings.gazetteer import fold
from model.surroundings.towns import Town

FORMS: Final = ("json", "text", "csv")


@dataclass(frozen=True, slots=True)
class Search:
    """What is looked for in a list."""

    q: str = ""
    limit: int = 0
    latitude: float | None = None
    longitude: float | None = None

    def holds(self, *names: str) -> bool:
        """Whether these names hold every word looked for."""
        held = fold(" ".join(names))
        return all(word in held for word in fold(self.q).split())


@dataclass(frozen=True, slots=True)
class Catalogue:
    """One list of the service at `/v1/<name>`.

    row : the declaration of a row; rows : what is listed for what was asked.
    shown : members of a row that a terminal has room for.
    """

    name: str
    title: str
    summary: str
    shape: QuestionShape
    row: Answer
    rows: Callable[[Search], Sequence[Any]]
    shown: Sequence[str]

    def respond(self) -> Response:
        """Answer a GET request."""
        given = asking.from_query(request.query_string)
        form = asking.negotiated(request, given.pop("format", None), FORMS)
        units = given.get("units")
        how = Reading(units=units if units in SYSTEMS else None, query=True)
        with reading(how):
            try:
                told: Told[Search] = self.shape.load(given)
            except ValidationError as error:
                raise invalid(error, query=True) from error
        return Response(
            self._body(form, self.rows(told.made), how.reply),
            content_type=asking.MEDIA_TYPES[form],
            headers={"Vary": "Accept"},
        )

    def _body(self, form: str, rows: Sequence[Any], system: System) -> bytes:
        if form == "csv":
            return write_csv(Table(self.row.columns(rows), system)).encode()
        units: Units = {}
        told = [self.row.write(one, system, units) for one in rows]
        if form == "json":
            body = {self.name: told, "units": units, "model": MODEL_VERSION}
            return orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE)
        heads = [f"{name} [{units[name]}]" if name in units else name for name in self.shown]
        lines = [[_cell(row.get(name)) for name in self.shown] for row in told]
        parts: list[Rows | str] = [Rows(lines, heads=heads)] if lines else []
        parts += dict.fromkeys(row["attribution"] for row in told if row.get("attribution"))
        page = Page(f"{self.title}: {len(rows)}.", parts)
        return write_text(page, (), (), ()).encode()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 34 else text[:31] + "..."


class ListShape(QuestionShape):
    """A list, or those of its rows whose names hold every word of `q`."""

    makes = Search

    q = Name("words to look for in the names")


class SpeciesShape(ListShape):
    """The woods, or those whose names hold every word of `q`."""

    limit = Whole(
        "most woods to list, first those with a name that begins with `q`; all when left out",
        low=1,
        high=50,
    )


_UNKNOWN: Final = "where its shrinkage is not known"


@dataclass(frozen=True, slots=True)
class Listed:
    """A wood, a group of woods or a wood without figures, as the list tells them."""

    wood: Species | Unmeasured

    def __getattr__(self, name: str) -> Any:
        # What a wood without figures does not have is not known of it.
        return getattr(self.wood, name, None)

    @property
    def known(self) -> str:
        """What kind of row this is."""
        if isinstance(self.wood, Unmeasured):
            return "name alone"
        return "group" if self.wood.members else "wood"

    @property
    def members_told(self) -> str:
        """The woods of a group and how likely each is meant."""
        return "; ".join(f"{one.id} {one.share:.2f}" for one in self.__getattr__("members") or ())

    def movement(self, total: str) -> float | None:
        """Per 1 % of moisture [1/%] at 12 %; None where not known."""
        if isinstance(self.wood, Unmeasured):
            return None
        start = self.wood.shrinkage_starts
        return float(shrinkage.coefficient(getattr(self.wood, total), start, species.MOVEMENT_AT))


class SpeciesRow(Answer):
    """A wood."""

    id = members.Text()
    name = members.Text()
    scientific_name = members.Text()
    other_names = members.Text("with semicolons", of=lambda wood: "; ".join(wood.other_names))
    known = members.Text("wood; group of woods that bear one name; name alone: no shrinkage known")
    group_members = members.Text("woods of a group with their shares", of="members_told")
    radial = members.Number(PERCENT, "shrinkage green to oven-dry", null=_UNKNOWN)
    tangential = members.Number(PERCENT, "shrinkage green to oven-dry", null=_UNKNOWN)
    shrinkage_starts = members.Number(PERCENT, "moisture below which it shrinks", null=_UNKNOWN)
    source_start = members.Text("what that rests on", null=_UNKNOWN)
    radial_movement = members.Number(
        PER_PERCENT,
        "for 1 % of moisture at 12 %",
        of=lambda one: one.movement("radial"),
        null=_UNKNOWN,
    )
    tangential_movement = members.Number(
        PER_PERCENT,
        "for 1 % of moisture at 12 %",
        of=lambda one: one.movement("tangential"),
        null=_UNKNOWN,
    )
    source_movement = members.Text(
        "of a printed movement; empty where there is none", null=_UNKNOWN
    )
    sorption_at_60 = members.Bare("of the common curve, up to 60 % humidity", null=_UNKNOWN)
    sorption_at_90 = members.Bare("of the common curve, from 90 % humidity", null=_UNKNOWN)
    specific_gravity = members.Bare(
        "oven-dry mass over volume at 12 %, relative to water", null="where not known"
    )
    specific_gravity_green = members.Bare("the same over green volume", null="where not known")
    modulus = members.Number(STRESS, "along the grain at 12 %", null="where not known")
    tension_across = members.Number(STRESS, "strength at 12 %", null="where not known")
    shear_along = members.Number(STRESS, "strength at 12 %", null="where not known")
    compression_across = members.Number(STRESS, "strength at 12 %", null="where not known")
    transport_group = members.Text("woods that moisture moves through alike", null=_UNKNOWN)
    transport_factor = members.Bare("on the transport coefficient", null=_UNKNOWN)
    transport_spread = members.Bare("times or divided by which that is known", null=_UNKNOWN)
    fibre_saturation = members.Number(PERCENT, null=_UNKNOWN)
    is_softwood = members.Truth(null=_UNKNOWN)
    confidence = members.Text("how well its shrinkage is known", null=_UNKNOWN)
    source = members.Text(null=_UNKNOWN)
    basis = members.Text(null=_UNKNOWN)
    source_strength = members.Text(null=_UNKNOWN)
    note = members.Text()


@cache
def _woods() -> tuple[tuple[Listed, tuple[str, ...]], ...]:
    """Every wood with its names folded, the groups after them."""
    every: tuple[Species | Unmeasured, ...] = (
        *species.all_species(),
        *species.unmeasured(),
        *species.all_groups(),
    )
    return tuple(
        (
            Listed(wood),
            tuple(
                fold(name)
                for name in (
                    wood.name,
                    *wood.other_names,
                    " ".join((wood.id, wood.name, wood.scientific_name)),
                )
            ),
        )
        for wood in every
    )


def _species_rows(asked: Search) -> list[Listed]:
    """The woods of which a name holds the words looked for."""
    whole = fold(asked.q)
    words = whole.split()
    found = [
        (wood, names)
        for wood, names in _woods()
        if any(all(word in name for word in words) for name in names)
    ]
    if asked.limit:
        found.sort(key=lambda one: not any(name.startswith(whole) for name in one[1]))
        found = found[: asked.limit]
    return [wood for wood, _ in found]


class FinishRow(Answer):
    """A finish or cover."""

    id = members.Text()
    finish = members.Text("what it is, whatever its coats")
    name = members.Text()
    coats = members.Count(null="where coats do not count")
    sd = members.Bare("vapour resistance as metres of still air")
    source = members.Text()
    basis = members.Text()
    note = members.Text()
    other_names = members.Text("with semicolons", of=lambda one: "; ".join(one.other_names))


def _finish_rows(asked: Search) -> list[Finish]:
    return [
        finish
        for finish in finishes.all_finishes()
        if asked.holds(finish.id, finish.name, *finish.other_names)
    ]


class PlacesShape(QuestionShape):
    """A search for towns."""

    makes = Search

    q = Name("what the name begins with; after a comma what its state or country begins with")
    limit = Whole("most towns to list", low=1, high=50, load_default=10)


class PlaceRow(Answer):
    """A town."""

    id = members.Text()
    name = members.Text()
    region = members.Text("state or province; may be empty")
    country = members.Text()
    label = members.Text("the three together, as `climate` of a room takes them")
    latitude = members.Bare("degrees, north positive")
    longitude = members.Bare("degrees, east positive")
    elevation = members.Number(ELEVATION)
    population = members.Count()
    attribution = members.Text(
        "credit that must stay with the names", of=lambda town: towns.ATTRIBUTION
    )


def _place_rows(asked: Search) -> Sequence[Town]:
    return towns.listed().search(asked.q, asked.limit)


class ClimatesShape(QuestionShape):
    """A search for climates."""

    makes = Search

    q = Name("words that name, state or country begin with")
    latitude = Plain("latitude in degrees, north positive; nearest first", low=-90.0, high=90.0)
    longitude = Plain("longitude in degrees, east positive", low=-180.0, high=180.0)
    limit = Whole("most climates to list", low=1, high=100, load_default=20)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _both(self, data: Any, original: Any, **kwargs: Any) -> None:
        given = original.keys() & {"latitude", "longitude"}
        if len(given) == 1:
            raise ValidationError(f"{given.pop()} alone given; give latitude and longitude")


def _metres_away(found: Found) -> float | None:
    return None if found.distance is None else 1000.0 * found.distance


class ClimateRow(Answer):
    """A climate."""

    id = members.Text(of="station.id")
    name = members.Text(of="station.name")
    country = members.Text(of="station.country")
    region = members.Text(of="station.region")
    latitude = members.Bare("degrees, north positive", of="station.latitude")
    longitude = members.Bare("degrees, east positive", of="station.longitude")
    elevation = members.Number(ELEVATION, of="station.elevation")
    years = members.Count("years averaged", of="station.years")
    period = members.Text(of="station.period")
    grade = members.Text("A checked, B usable, C for want of better", of="station.grade")
    source = members.Text(of="station.source")
    attribution = members.Text(
        "credit that must stay with the figures",
        of=lambda found: " ".join(found.station.attribution),
    )
    distance = members.Number(DISTANCE, of=_metres_away, left_out="unless a place is asked")


def _climate_rows(asked: Search) -> Sequence[Found]:
    return places.climates().search(
        asked.q, latitude=asked.latitude, longitude=asked.longitude, limit=asked.limit
    )


class BasisRow(Answer):
    """A formula of the model."""

    id = members.Text()
    title = members.Text()
    expression = members.Text()
    source = members.Text()
    basis = members.Text("how it is known")
    validity = members.Text("where it holds")
    check = members.Text("what outside agrees with it, and how well")


def _basis_rows(asked: Search) -> list[basis.Formula]:
    return [one for one in basis.formulas() if asked.holds(one.id, one.title)]


CATALOGUES: Final = (
    Catalogue(
        "species",
        "Woods",
        "Every wood known, found by any of its names in ten languages, with its shrinkage, "
        "movement, density, stiffness and strength, how well each is known, and its source.",
        SpeciesShape(),
        SpeciesRow(),
        _species_rows,
        ("id", "known", "radial", "tangential", "specific_gravity", "confidence"),
    ),
    Catalogue(
        "finishes",
        "Finishes and covers",
        "Every finish and cover known, its vapour resistance as metres of still air (sd).",
        ListShape(),
        FinishRow(),
        _finish_rows,
        ("id", "name", "coats", "sd"),
    ),
    Catalogue(
        "places",
        "Towns",
        "Towns from 1,000 inhabitants by the beginning of their name, the largest first, for "
        "suggestions while a name is typed.",
        PlacesShape(),
        PlaceRow(),
        _place_rows,
        ("id", "name", "region", "country", "population"),
    ),
    Catalogue(
        "climates",
        "Weather stations",
        "Weather stations by words of their name or nearest to a place; the attribution must be "
        "shown where the figures are.",
        ClimatesShape(),
        ClimateRow(),
        _climate_rows,
        ("id", "region", "country", "grade", "elevation", "distance"),
    ),
    Catalogue(
        "basis",
        "Formulas",
        "Every formula of the model with its source, where it holds, and what checks it.",
        ListShape(),
        BasisRow(),
        _basis_rows,
        ("id", "title", "basis"),
    ),
)


def limits_of(questions: Sequence[Question[Any, Any]], system: System) -> dict[str, Any]:
    """The limits of a request, and of every figure of every question in the units of a system."""
    return {
        "request": {
            "body_bytes": limits.BODY_BYTES,
            "list_length": limits.LIST_LENGTH,
            "log_length": limits.LOG_LENGTH,
            "nesting": limits.NESTING,
            "members": limits.MEMBERS,
            "containers": limits.CONTAINERS,
            "query_parameters": limits.QUERY_PARAMETERS,
            "text_length": limits.TEXT_LENGTH,
            "faults_told": limits.FAULTS,
            "near_names": limits.NEAR_NAMES,
            "arrive_seconds": limits.ARRIVE_SECONDS,
            "wait_seconds": limits.WAIT_SECONDS,
            "answer_seconds": limits.ANSWER_SECONDS,
            "answered_seconds": limits.ANSWERED_SECONDS,
            "batch_questions": limits.BATCH_QUESTIONS,
            "batch_seconds": limits.BATCH_SECONDS,
            "batch_reply_bytes": limits.BATCH_REPLY_BYTES,
        },
        "figures": {
            question.name: {
                member.name: _range(member.field, system)
                for member in values_of(question.shape)
                if isinstance(member.field, QuantityField | Whole)
            }
            for question in questions
        },
        "model": MODEL_VERSION,
    }


def _range(field: QuantityField | Whole, system: System) -> dict[str, Any]:
    if isinstance(field, Whole):
        return {"meaning": field.meaning, "low": field.low, "high": field.high}
    unit = field.dimension.of_system[system]
    low, high = (
        float(f"{bound / unit.factor + unit.zero:.6g}") for bound in (field.low, field.high)
    )
    return {"meaning": field.meaning, "low": low, "high": high, "unit": unit.symbol}


def _system(units: System = "metric") -> System:
    return units


class LimitsShape(Shape):
    """The units to tell the limits in."""

    makes = staticmethod(_system)

    units = Choice("units of the figures' limits", SYSTEMS, component="UnitSystem")


def addresses(questions: Sequence[Question[Any, Any]]) -> Blueprint:
    """The addresses of the catalogues."""
    pages = Blueprint("catalogues", __name__, url_prefix="/v1")
    for catalogue in CATALOGUES:
        pages.add_url_rule(f"/{catalogue.name}", catalogue.name, catalogue.respond)
    shape = LimitsShape()

    @pages.get("/limits")
    def limits_told() -> Response:
        given = asking.from_query(request.query_string)
        form = asking.negotiated(request, given.pop("format", None), ("json",))
        try:
            system: Told[System] = shape.load(given)
        except ValidationError as error:
            raise invalid(error, query=True) from error
        body = limits_of(questions, system.made)
        return Response(
            orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE),
            content_type=asking.MEDIA_TYPES[form],
        )

    return pages
