"""Hypothesis profiles and the header of a run; nothing of the project itself stands here."""

from __future__ import annotations

import os
import shutil

from hypothesis import HealthCheck, settings

# No deadline: the first example of a property pays for building tables, and a shared machine is
# slow at times. derandomize keeps a run repeatable; `thorough` looks further, with new examples.
settings.register_profile(
    "usual",
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "thorough",
    max_examples=1000,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("STILLWOOD_HYPOTHESIS", "usual"))


def pytest_report_header() -> str:
    """Say at the top of a run which programs are not there for the tests to use."""
    used = ("curl", "nginx", "systemd-analyze", "chromium", "chromedriver", "node", "npm")
    missing = [name for name in used if shutil.which(name) is None]
    return f"not installed, their own checks are left out: {', '.join(missing)}" if missing else ""
