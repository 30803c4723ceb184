"""The application: what is registered, in which order, and nothing else."""

from __future__ import annotations

from flask import Flask

from api import limits, problems, question, service, settings
from api.questions import QUESTIONS


def create_app(chosen: settings.Settings | None = None) -> Flask:
    """The application with the settings given, or those of the environment."""
    chosen = chosen or settings.read()
    app = Flask("stillwood", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = limits.BODY_BYTES
    app.extensions["stillwood"] = chosen
    problems.install(app)
    app.register_blueprint(service.addresses(QUESTIONS))
    app.register_blueprint(question.addresses(QUESTIONS))
    return app
