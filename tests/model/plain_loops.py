"""The compiled loops as plain Python, so that a test can ask for one part of a step."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from types import ModuleType
from typing import Any

from model.behaviour import compiled, moisture_steps, shared_air


def plain(function: Any) -> Any:
    """The Python function that a compiled one was made of."""
    return getattr(function, "py_func", function)


def steps_in_python() -> Any:
    """`moisture_steps` with nothing compiled; itself where numba is switched off."""
    if plain(moisture_steps.follow) is moisture_steps.follow:
        return moisture_steps
    kept = compiled.compiled, compiled.inlined
    compiled.compiled = compiled.inlined = lambda function: function
    try:
        assert moisture_steps.__file__ is not None
        spec = spec_from_file_location("steps_in_python", moisture_steps.__file__)
        assert spec is not None
        assert spec.loader is not None
        module: ModuleType = module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        compiled.compiled, compiled.inlined = kept
    module.balanced = plain(shared_air.balanced)  # type: ignore[attr-defined]
    return module
