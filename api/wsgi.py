"""What gunicorn loads: `gunicorn api.wsgi:app`.  A bad setting stops the start with one line."""

from __future__ import annotations

import sys

from api import pages, settings
from api.app import create_app
from model.behaviour.warm import warm

try:
    app = create_app(settings.read())
except settings.BadSetting as error:
    sys.exit(f"stillwood: {error}")
# Before the workers part: no worker compiles, nor lets the first reader of its pages wait.
warm()
pages.prepared()
