"""The application: what is registered, in which order, and nothing else."""

from __future__ import annotations

from flask import Flask

from api import (
    access,
    catalogues,
    limits,
    observing,
    openapi,
    pages,
    places,
    problems,
    question,
    service,
    settings,
    tables,
)
from api.questions import QUESTIONS, batch
from model.properties import species
from model.surroundings import weather_files


def create_app(chosen: settings.Settings | None = None) -> Flask:
    """The application with the settings given, or those of the environment."""
    chosen = chosen or settings.read()
    app = Flask("stillwood", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = limits.BODY_BYTES
    app.extensions["stillwood"] = chosen
    try:
        places.offer(weather_files.load_epw(chosen.epw_folder) if chosen.epw_folder else ())
    except ValueError as error:
        raise settings.BadSetting(f"STILLWOOD_EPW_FOLDER: {error}") from error
    # Towns and the indexes of names are read before the workers part.
    places.climates().find("Nice airport")
    species.prepare()
    observing.install(app, chosen)
    problems.install(app)
    access.install(app, chosen)
    app.register_blueprint(service.addresses(QUESTIONS))
    app.register_blueprint(pages.addresses(QUESTIONS))
    app.register_blueprint(question.addresses(QUESTIONS, tables.respond))
    app.register_blueprint(batch.addresses(QUESTIONS))
    app.register_blueprint(catalogues.addresses(QUESTIONS))
    app.register_blueprint(openapi.addresses())
    return app
