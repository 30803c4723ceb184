"""What gunicorn loads: `gunicorn api.wsgi:app`.  A bad setting stops the start with one line."""

from __future__ import annotations

import sys

from api import settings
from api.app import create_app

try:
    app = create_app(settings.read())
except settings.BadSetting as error:
    sys.exit(f"stillwood: {error}")
