"""How the loops that follow moisture and section through time are compiled.

By numba, once: the machine code lies in `__pycache__` beside the source it was made of and is loaded
from there, also where nothing may be written.  `python -m model.behaviour.compiled` makes it.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from typing import Any, Final, TypeVar

import numba
import numpy as np
from numba.core import caching
from numpy.typing import ArrayLike, NDArray

Function = TypeVar("Function", bound=Callable[..., Any])

# Without reordering of sums: the same figures on every processor, to rounding.
OPTIONS: Final = {"nogil": True, "error_model": "numpy", "boundscheck": False, "fastmath": {"contract"}}


class BesideTheSource(caching.InTreeCacheLocator):  # type: ignore[misc]
    """Where a function's machine code lies: a folder need not be writable to be read."""

    def ensure_cache_path(self) -> None:
        """Make the folder where that is possible."""
        os.makedirs(self.get_cache_path(), exist_ok=True)


def _kept(folder: str) -> bool:
    """Whether machine code made now can be kept, or was kept before."""
    try:
        os.makedirs(folder, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return os.path.isdir(folder) and any(name.endswith(".nbi") for name in os.listdir(folder))
    return True


numba.config.CACHE_LOCATOR_CLASSES = f"{__name__}.BesideTheSource"
_KEPT: Final = _kept(os.path.join(os.path.dirname(os.path.abspath(__file__)), "__pycache__"))


def compiled(function: Function) -> Function:
    """Compile a function of numbers and arrays when it is first called, and keep what it became."""
    result: Function = numba.njit(cache=_KEPT, **OPTIONS)(function)
    return result


def inlined(function: Function) -> Function:
    """Compile a part of such a function into wherever it is called."""
    result: Function = numba.njit(forceinline=True, **OPTIONS)(function)
    return result


def plain(values: ArrayLike, *shape: int) -> NDArray[np.float64]:
    """An array of the one kind that compiled functions are given: a copy, broadcast to a shape.

    Another kind - read-only, in another order - would have them compiled anew.
    """
    array = np.asarray(values, dtype=np.float64)
    return np.array(np.broadcast_to(array, shape) if shape else array, order="C")
