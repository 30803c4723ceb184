"""Compiles the loops before they are asked for: `python -m model.behaviour.warm`.

Done when the environment or the image is made, and again, from what was kept, before a server
takes questions: a worker compiles nothing.
"""

from __future__ import annotations

import numpy as np

from model.behaviour import section, transport
from model.behaviour.section import Timber
from model.properties.finishes import Face, Faces
from model.surroundings.air_series import Air


def warm() -> None:
    """Run every compiled loop once."""
    one = np.ones(1)
    mesh = transport.grid(0.02, 5)
    wood = transport.Wood(one, 0.05, 0.6, 30.0, one)
    air = Air(np.zeros(1), np.full(1, 20.0), np.full(1, 40.0))
    run = transport.run(wood, mesh, 12.0, air, Faces(Face(0.0), Face(0.0)), 0.0, 1.0)
    timber = Timber(0.003 * one, 30.0, 30.0, 1e9 * one, 60.0 * one, 8.0 * one)
    section.sweep(timber, mesh, run.moisture, section.unstressed(run.moisture[0]))


if __name__ == "__main__":
    warm()
