"""Hypothesis profiles for every test; nothing of the project itself stands here."""

from __future__ import annotations

import os

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
