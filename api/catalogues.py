"""What the service knows: woods, finishes, climates, limits, and where its formulas come from."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

import orjson
from flask import Blueprint, Response, request
from marshmallow import ValidationError, validates_schema

from api import asking, limits, places
from api.quantities import (
    SYSTEMS,
    Plain,
    QuantityField,
    Reading,
    distance,
    elevation,
    percent,
    reading,
    stress,
)
from api.question import Question, invalid, written
from api.replies.csv import Column, Table
from api.replies.csv import write as write_csv
from api.replies.text import Page, Rows
from api.replies.text import write as write_text
from api.schema import Name, QuestionShape, Whole, members
from model import MODEL_VERSION, basis
from model.properties import finishes, species
from model.surroundings import climate
from model.surroundings.gazetteer import fold

FORMS: Final = ("json", "text", "csv")
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """One list of the service at `/v1/<name>`.

    rows : the rows for what was asked; figures tagged with their kind.
    shown : members of a row that a terminal has room for.
    """

    name: str
    title: str
    summary: str
    shape: QuestionShape
    rows: Callable[[Row], Sequence[Row]]
    shown: Sequence[str]
    row_schema: Mapping[str, Any]

    def respond(self) -> Response:
        """Answer a GET request."""
        given = asking.from_query(request.query_string)
        form = asking.negotiated(request, given.pop("format", None), FORMS)
        units = given.get("units")
        how = Reading(units=units if units in SYSTEMS else None, query=True)
        with reading(how):
            try:
                rows = self.rows(self.shape.load(given))
            except ValidationError as error:
                raise invalid(error, query=True) from error
        symbols: dict[str, str] = {}
        plain = written(rows, how.reply, symbols)
        return Response(
            self._body(form, plain, symbols),
            content_type=asking.MEDIA_TYPES[form],
            headers={"Vary": "Accept"},
        )

    def _body(self, form: str, rows: Sequence[Row], symbols: dict[str, str]) -> bytes:
        if form == "json":
            body = {self.name: rows, "units": symbols, "model": MODEL_VERSION}
            return orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE)
        if form == "csv":
            return write_csv(Table(_columns(rows, symbols), "metric")).encode()
        heads = [f"{name} [{symbols[name]}]" if name in symbols else name for name in self.shown]
        lines = [[_told(row.get(name)) for name in self.shown] for row in rows]
        parts: list[Rows | str] = [Rows(lines, heads=heads)] if lines else []
        parts += dict.fromkeys(row["attribution"] for row in rows if row.get("attribution"))
        page = Page(f"{self.title}: {len(rows)}.", parts)
        return write_text(page, (), (), ()).encode()


def _told(value: Any) -> str:
    if value is None:
        return ""
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 34 else text[:31] + "..."


def _columns(rows: Sequence[Row], symbols: dict[str, str]) -> list[Column]:
    return [
        Column(
            f"{name} [{symbols[name]}]" if name in symbols else name,
            ["" if row.get(name) is None else row[name] for row in rows],
        )
        for name in (rows[0] if rows else ())
    ]


class ListShape(QuestionShape):
    """A list, or those of its rows whose names hold every word of `q`."""

    q = Name("words to look for in the names")


def _having(asked: Row, names: Sequence[str]) -> bool:
    held = fold(" ".join(names))
    return all(word in held for word in fold(asked.get("q", "")).split())


def _species_rows(asked: Row) -> list[Row]:
    return [
        {
            "id": wood.id,
            "name": wood.name,
            "scientific_name": wood.scientific_name,
            "other_names": "; ".join(wood.other_names),
            "radial": percent(wood.radial),
            "tangential": percent(wood.tangential),
            "shrinkage_starts": percent(wood.shrinkage_starts),
            "specific_gravity": wood.specific_gravity,
            "specific_gravity_green": wood.specific_gravity_green,
            "modulus": stress(wood.modulus),
            "tension_across": stress(wood.tension_across),
            "shear_along": stress(wood.shear_along),
            "compression_across": stress(wood.compression_across),
            "transport_group": wood.transport_group,
            "transport_factor": wood.transport_factor,
            "transport_spread": wood.transport_spread,
            "fibre_saturation": percent(wood.fibre_saturation),
            "is_softwood": wood.is_softwood,
            "confidence": wood.confidence,
            "source": wood.source,
            "basis": wood.basis,
            "source_strength": wood.source_strength,
            "note": wood.note,
        }
        for wood in species.all_species()
        if _having(asked, (wood.id, wood.name, wood.scientific_name, *wood.other_names))
    ]


def _finish_rows(asked: Row) -> list[Row]:
    return [
        {**asdict(finish), "other_names": "; ".join(finish.other_names)}
        for finish in finishes.all_finishes()
        if _having(asked, (finish.id, finish.name, *finish.other_names))
    ]


class ClimatesShape(QuestionShape):
    """A search for climates."""

    q = Name("words that name, state or country begin with")
    latitude = Plain("latitude in degrees, north positive; nearest first", low=-90.0, high=90.0)
    longitude = Plain("longitude in degrees, east positive", low=-180.0, high=180.0)
    limit = Whole("most climates to list", low=1, high=100, load_default=20)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _both(self, data: Any, original: Any, **kwargs: Any) -> None:
        given = original.keys() & {"latitude", "longitude"}
        if len(given) == 1:
            raise ValidationError(f"{given.pop()} alone given; give latitude and longitude")


def _climate_rows(asked: Row) -> list[Row]:
    found = places.climates().search(
        asked.get("q", ""),
        latitude=asked.get("latitude"),
        longitude=asked.get("longitude"),
        limit=asked["limit"],
    )
    return [_climate_row(one) for one in found]


def _climate_row(found: climate.Found) -> Row:
    station = found.station
    row: Row = {
        "id": station.id,
        "name": station.name,
        "country": station.country,
        "region": station.region,
        "latitude": station.latitude,
        "longitude": station.longitude,
        "elevation": elevation(station.elevation),
        "years": station.years,
        "period": station.period,
        "grade": station.grade,
        "source": station.source,
        "attribution": " ".join(station.attribution),
    }
    if found.distance is not None:
        row["distance"] = distance(1000.0 * found.distance)
    return row


def _basis_rows(asked: Row) -> list[Row]:
    return [asdict(one) for one in basis.formulas() if _having(asked, (one.id, one.title))]


_TEXTS: Final = {"type": ["string", "null"]}
_FIGURES: Final = {"type": ["number", "null"]}


def _schema(texts: str, figures: str = "", flags: str = "") -> dict[str, Any]:
    properties = {
        **dict.fromkeys(texts.split(), _TEXTS),
        **dict.fromkeys(figures.split(), _FIGURES),
        **{name: {"type": "boolean"} for name in flags.split()},
    }
    return {"type": "object", "properties": properties, "required": ["id"]}


CATALOGUES: Final = (
    Catalogue(
        "species",
        "Woods",
        "Every wood known, with its shrinkage, density, stiffness and strength, each with source.",
        ListShape(),
        _species_rows,
        ("id", "radial", "tangential", "specific_gravity", "confidence"),
        _schema(
            "id name scientific_name other_names transport_group confidence source basis "
            "source_strength note",
            "radial tangential shrinkage_starts specific_gravity specific_gravity_green modulus "
            "tension_across shear_along compression_across transport_factor transport_spread "
            "fibre_saturation",
            "is_softwood",
        ),
    ),
    Catalogue(
        "finishes",
        "Finishes and covers",
        "Every finish and cover known, its vapour resistance as metres of still air (sd).",
        ListShape(),
        _finish_rows,
        ("id", "name", "coats", "sd"),
        _schema("id finish name source basis note other_names", "coats sd"),
    ),
    Catalogue(
        "climates",
        "Climates",
        "Climates by words of their name or nearest to a place; the attribution must be shown "
        "where the figures are.",
        ClimatesShape(),
        _climate_rows,
        ("id", "region", "country", "grade", "elevation", "distance"),
        _schema(
            "id name country region period grade source attribution",
            "latitude longitude elevation years distance",
        ),
    ),
    Catalogue(
        "basis",
        "Formulas",
        "Every formula of the model with its source, where it holds, and what checks it.",
        ListShape(),
        _basis_rows,
        ("id", "title", "basis"),
        _schema("id title expression source basis validity check"),
    ),
)


def limits_of(questions: Sequence[Question], system: str) -> dict[str, Any]:
    """The limits of a request, and of every figure of every question in the units of a system."""
    return {
        "request": {
            "body_bytes": limits.BODY_BYTES,
            "list_length": limits.LIST_LENGTH,
            "log_length": limits.LOG_LENGTH,
            "nesting": limits.NESTING,
            "query_parameters": limits.QUERY_PARAMETERS,
            "text_length": limits.TEXT_LENGTH,
            "faults_told": limits.FAULTS,
            "answer_seconds": limits.ANSWER_SECONDS,
            "batch_questions": limits.BATCH_QUESTIONS,
            "batch_seconds": limits.BATCH_SECONDS,
            "batch_reply_bytes": limits.BATCH_REPLY_BYTES,
        },
        "figures": {
            question.name: {
                member.name: _range(member.field, system)
                for member in members(question.shape)
                if isinstance(member.field, QuantityField | Whole)
            }
            for question in questions
        },
        "model": MODEL_VERSION,
    }


def _range(field: QuantityField | Whole, system: str) -> dict[str, Any]:
    if isinstance(field, Whole):
        return {"meaning": field.meaning, "low": field.low, "high": field.high}
    unit = field.dimension.of_system[system]
    low, high = (
        float(f"{bound / unit.factor + unit.zero:.6g}") for bound in (field.low, field.high)
    )
    return {"meaning": field.meaning, "low": low, "high": high, "unit": unit.symbol}


def addresses(questions: Sequence[Question]) -> Blueprint:
    """The addresses of the catalogues."""
    pages = Blueprint("catalogues", __name__, url_prefix="/v1")
    for catalogue in CATALOGUES:
        pages.add_url_rule(f"/{catalogue.name}", catalogue.name, catalogue.respond)
    shape = QuestionShape()

    @pages.get("/limits")
    def limits_told() -> Response:
        given = asking.from_query(request.query_string)
        form = asking.negotiated(request, given.pop("format", None), ("json",))
        try:
            asked = shape.load(given)
        except ValidationError as error:
            raise invalid(error, query=True) from error
        body = limits_of(questions, asked.get("units", "metric"))
        return Response(
            orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE),
            content_type=asking.MEDIA_TYPES[form],
        )

    return pages
