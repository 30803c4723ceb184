"""How the loops that follow moisture and section through time are compiled.

By numba, once: the machine code lies in `__pycache__` beside the source it was made of and is
loaded from there, also where nothing may be written.  `python -m model.behaviour.warm` makes it.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar

import numba
import numpy as np
from numba.core import caching
from numpy.typing import ArrayLike, NDArray

Function = TypeVar("Function", bound=Callable[..., Any])

# No sums reordered, nothing fused: the same figures on every processor.
OPTIONS: Final[dict[str, Any]] = {
    "nogil": True,
    "error_model": "numpy",
    "boundscheck": False,
}


class BesideTheSource(caching.InTreeCacheLocator):
    """Where a function's machine code lies: a folder need not be writable to be read."""

    def ensure_cache_path(self) -> None:
        """Make the folder where that is possible."""
        os.makedirs(self.get_cache_path(), exist_ok=True)  # type: ignore[no-untyped-call]

    def get_source_stamp(self) -> tuple[bytes, bytes]:
        """What the code was made of: its source, and how this file says to compile."""
        source = super().get_source_stamp()  # type: ignore[no-untyped-call]
        return source, hashlib.sha256(Path(__file__).read_bytes()).digest()


def _kept(folder: Path) -> bool:
    """Whether machine code made now can be kept, or was kept before."""
    try:
        folder.mkdir(exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return any(folder.glob("*.nbi"))
    return True


# For any processor of the kind, not this very one: what was compiled with an image runs where the
# image does, and loops of one number after the other gain nothing from wider registers (measured).
numba.config.CPU_NAME = "generic"  # type: ignore[attr-defined]
numba.config.CPU_FEATURES = ""  # type: ignore[attr-defined]
numba.config.CACHE_LOCATOR_CLASSES = f"{__name__}.BesideTheSource"  # type: ignore[attr-defined]
_KEPT: Final = _kept(Path(__file__).resolve().parent / "__pycache__")


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
    result = np.empty(shape or array.shape)
    result[...] = array
    return result
