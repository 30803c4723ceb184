"""What makes one face of a slab warmer or colder than the air of its room.

A face at a heated floor, over a radiator, in the sun or at an outer wall meets the room's vapour at
a temperature of its own; which places there are and their figures stand in
`model.surroundings.places_at_slab`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# Outdoor monthly means between which heating fades from all through to none [degC]: the same
# shares as a room's own heating has (judgement).
HEATED_UNTIL: Final = 5.0
UNHEATED_FROM: Final = 15.0


def heating_share(outdoors: ArrayLike) -> Floats:
    """Share of a month that is heated, 0 to 1, by its outdoor mean temperature [degC].

    Examples
    --------
    >>> heating_share([-5.0, 10.0, 20.0]).tolist()
    [1.0, 0.5, 0.0]
    """
    outside = np.asarray(outdoors, dtype=np.float64)
    share: Floats = np.clip((UNHEATED_FROM - outside) / (UNHEATED_FROM - HEATED_UNTIL), 0.0, 1.0)
    return share


@dataclass(frozen=True, slots=True)
class LocalWarmth:
    """How a face's temperature stands off its room's air; the parts add up.

    Attributes
    ----------
    by : float
        Constant rise [K]; negative for a colder face.
    source, share : float
        Temperature of something heated [degC], and how far the face is drawn from the room's air
        to it, 0 to 1; in proportion to how much of the month is heated.
    outdoors : float
        How far the face is drawn from the room's air to the outdoors, 0 to 1.
    passed : bool
        Whether the other face shares the rise by what the wood conducts, as on a heated floor.
    other : float
        What of the rise the other face gets, 0 to 1, when the wood's conduction does not decide.
    place : str or None
        Name of the place at the slab; None for a rise told as a figure.
    """

    by: float = 0.0
    source: float = 0.0
    share: float = 0.0
    outdoors: float = 0.0
    passed: bool = False
    other: float = 0.0
    place: str | None = None

    def __post_init__(self) -> None:
        """Check the shares."""
        for name in ("share", "outdoors", "other"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise ValueError(f"{name} must lie within 0 to 1, not {getattr(self, name)}")
        if not (np.isfinite(self.by) and np.isfinite(self.source)):
            raise ValueError("a local warmth needs finite figures")

    @property
    def needs_outdoors(self) -> bool:
        """Whether the rise cannot be told without an outdoor temperature."""
        return self.outdoors > 0.0

    def rise(self, indoors: ArrayLike, outdoors: ArrayLike | None = None) -> Floats:
        """Temperature of the face less that of the room's air [K], in the shape of `indoors`.

        Parameters
        ----------
        indoors, outdoors : array_like
            Temperature of the room's air, and the outdoor mean of the month [degC]. Without an
            outdoor temperature what is heated counts as heated all through.

        Raises
        ------
        ValueError
            When the rise needs an outdoor temperature and none is given.

        Examples
        --------
        A floor held at 27 degC in winter, and the wall behind a cupboard at 0.25 of the way out:

        >>> LocalWarmth(source=27.0, share=1.0).rise([21.0, 24.0], [0.0, 10.0]).tolist()
        [6.0, 1.5]
        >>> LocalWarmth(outdoors=0.25).rise(21.0, -5.0).item()
        -6.5
        """
        inside = np.asarray(indoors, dtype=np.float64)
        if self.needs_outdoors and outdoors is None:
            raise ValueError("a face at an outer wall needs the outdoor temperature")
        total = np.full(inside.shape, self.by)
        if self.share > 0.0:
            heated = 1.0 if outdoors is None else heating_share(outdoors)
            total += heated * self.share * np.maximum(self.source - inside, 0.0)
        if outdoors is not None:
            total += self.outdoors * (np.asarray(outdoors, dtype=np.float64) - inside)
        return total
