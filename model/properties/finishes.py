"""What stands between a face of the wood and the air: finishes, covers and the film of air.

A resistance to vapour is told as the thickness of still air that resists alike, sd [m].
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from model.basis import table
from model.codes import Caution, Note
from model.names import Names
from model.names import UnknownName as UnknownName
from model.properties.warmth import LocalWarmth

# kg/(m s Pa); vapour permeability of still air near 20 degC (memory, EN ISO 12572)
STILL_AIR_PERMEABILITY: Final = 2.0e-10
# 1 US perm = 57.2 ng/(m2 s Pa) (definition); 2.0e-10 / 57.2e-12 = 3.5 m of still air (derived)
METRES_PER_PERM: Final = 3.5
# W/(m2 K) per unit and per m/s of air speed, over rho cp D: s = 1/(67 + 90 v) m (memory, EN 15026)
FILM_STILL: Final = 67.0  # 1/m
FILM_PER_SPEED: Final = 90.0  # 1/m per m/s


class UnknownCoats(ValueError):  # noqa: N818 - read as what happened
    """A number of coats for which no resistance is printed.

    Attributes
    ----------
    finish : str
        Id of the finish.
    coats : int
        Coats asked for.
    printed : tuple of int
        Coats for which a figure is known.
    """

    def __init__(self, finish: str, coats: int, printed: tuple[int, ...]) -> None:
        self.finish = finish
        self.coats = coats
        self.printed = printed
        known = " or ".join(str(one) for one in printed) or "one kind only, without coats"
        super().__init__(f"{finish} has no figure for {coats} coats; printed: {known}")


@dataclass(frozen=True, slots=True)
class Finish:
    """A finish or cover; a row of data/finishes.csv.

    Attributes
    ----------
    id, finish, name : str
        Row id, id of the finish whatever its coats, and plain name.
    coats : int or None
        Number of coats the figure stands for; None for a cover.
    sd : float
        Resistance as a thickness of still air [m].
    source, basis, note : str
        Where the figure comes from, how it is known, and what to mind.
    other_names : tuple of str
        Other words for it.
    """

    id: str
    finish: str
    name: str
    coats: int | None
    sd: float
    source: str
    basis: str
    note: str
    other_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Face:
    """How one face of a slab meets the air.

    Attributes
    ----------
    sd : float
        Resistance of finish and cover as a thickness of still air [m].
    wet : bool
        True while water stands on the face: the surface is held at fibre saturation.
    air_speed : float
        Air speed along the face [m/s]; 0 in a room.
    name : str
        What the face is called in an answer.
    finish : Finish or None
        The finish or cover on it; None for water, or for a resistance of its own.
    warmth : LocalWarmth or None
        What makes it warmer or colder than the room's air; None where it is as the air.
    """

    sd: float
    wet: bool = False
    air_speed: float = 0.0
    name: str = "bare"
    finish: Finish | None = None
    warmth: LocalWarmth | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.sd < float("inf"):
            raise ValueError(f"the resistance of a face must be 0 m or more, not {self.sd}")
        if not 0.0 <= self.air_speed < float("inf"):
            raise ValueError(f"air speed must be 0 m/s or more, not {self.air_speed}")

    @property
    def resistance(self) -> float:
        """Vapour resistance Z of film, finish and cover [Pa m2 s/kg].

        Examples
        --------
        >>> f"{Face(0.0).resistance:.3g}"
        '7.46e+07'
        """
        film = 1.0 / (FILM_STILL + FILM_PER_SPEED * self.air_speed)
        return (film + self.sd) / STILL_AIR_PERMEABILITY


@dataclass(frozen=True, slots=True)
class Faces:
    """The two faces of a slab."""

    top: Face
    bottom: Face

    @property
    def alike(self) -> bool:
        """Whether both faces meet the air in the same way."""
        one, other = ((face.resistance, face.wet, face.warmth) for face in (self.top, self.bottom))
        return one == other


@cache
def _rows() -> dict[str, Finish]:
    return {
        row["id"]: Finish(
            id=row["id"],
            finish=row["finish"],
            name=row["name"],
            coats=int(row["coats"]) if row["coats"] else None,
            sd=float(row["sd_m"]),
            source=row["source"],
            basis=row["basis"],
            note=row["note"],
            other_names=_others(row),
        )
        for row in table("finishes.csv")
    }


def _others(row: dict[str, str]) -> tuple[str, ...]:
    """Other words for a finish; they belong to its usual number of coats."""
    return tuple(name for name in row["aliases"].split(";") if name) if row["usual"] == "1" else ()


@cache
def _names() -> Names:
    named = []
    for row in table("finishes.csv"):
        named.append((row["id"], row["id"]))
        if row["usual"] == "1":
            called = (row["finish"], row["name"], *_others(row))
            named += [(row["id"], name) for name in called]
    return Names("finish", named)


def all_finishes() -> tuple[Finish, ...]:
    """Every finish and cover, in the order of data/finishes.csv."""
    return tuple(_rows().values())


def find(text: str, coats: int | None = None) -> Finish:
    """A finish by id, name or trade word, with the number of coats if it is told.

    Parameters
    ----------
    text : str
        For example ``urethane-varnish``, ``Spar varnish``, ``oiled``, ``covered``.
    coats : int, optional
        Number of coats; the usual number for that finish when left out.

    Raises
    ------
    UnknownName
        If no finish is called so; its candidates are near matches.
    UnknownCoats
        If no figure is printed for that number of coats, or a row's own number is contradicted.

    Examples
    --------
    >>> find("shellac").coats, find("shellac", coats=3).sd
    (2, 1.7)
    """
    found = _rows()[_names().find(text)]
    if coats is None or coats == found.coats:
        return found
    alike = [row for row in all_finishes() if row.finish == found.finish]
    chosen = [row for row in alike if row.coats == coats]
    by_its_own_row = found.id != found.finish and _names().find(found.finish) != found.id
    if not chosen or by_its_own_row:
        printed = [found] if by_its_own_row else alike
        raise UnknownCoats(found.id, coats, tuple(row.coats for row in printed if row.coats))
    return chosen[0]


def sd_of_perms(perms: float) -> float:
    """Thickness of still air [m] that lets through as much vapour as a sheet of so many US perms.

    Raises
    ------
    ValueError
        If the perms are not above zero.

    Examples
    --------
    >>> sd_of_perms(7.0)
    0.5
    """
    if not 0.0 < perms < float("inf"):
        raise ValueError(f"perms must be above 0, not {perms}")
    return METRES_PER_PERM / perms


def face(text: str = "bare", coats: int | None = None, air_speed: float = 0.0) -> Face:
    """A face from the word for what is on it: a finish, ``covered``, ``closed`` or ``wet``.

    Examples
    --------
    >>> face("covered").sd, face("wet").wet
    (50.0, True)
    """
    if text.strip().casefold() == "wet":
        return Face(sd=0.0, wet=True, air_speed=air_speed, name="wet")
    found = find(text, coats)
    return Face(sd=found.sd, air_speed=air_speed, name=found.name, finish=found)


def notes(faces: Faces) -> list[Note]:
    """What an answer must say of what is on these faces, once a finish, and of what warms them.

    A fitted resistance is a low estimate: in dry rooms films are tighter, up to three times
    (judgement; the printed tests ran between 30 and 90 % relative humidity).
    """
    told: dict[str, Note] = {}
    for side, face in (("top", faces.top), ("bottom", faces.bottom)):
        if face.warmth is not None:
            told[f"warmth {side}"] = _of_warmth(side, face.warmth)
        finish = face.finish
        if finish is None or finish.sd == 0.0 or finish.id in told:
            continue
        told[finish.id] = Note(
            "finish-fitted" if "fitted" in finish.basis else "finish-taken",
            side=side,
            name=finish.name,
            sd=finish.sd,
            note=finish.note,
            source=finish.source,
            basis=finish.basis,
        )
    return list(told.values())


def _of_warmth(side: str, warmth: LocalWarmth) -> Note:
    """Where a face is warmer or colder than its room."""
    source = warmth.source
    notes = {
        None: Note("face-warmer", side=side, by=warmth.by),
        "heated_floor": Note("face-heated-floor", side=side, source=source),
        "over_radiator": Note("face-over-radiator", side=side, source=source, share=warmth.share),
        "sun_through_glass": Note("face-sun-through-glass", side=side, by=warmth.by),
        "outer_wall": Note("face-outer-wall", side=side, way=warmth.outdoors),
        "closed_carcass": Note("face-closed-carcass", side=side),
    }
    return notes[warmth.place]


def formulas(*faces: Faces | None) -> tuple[str, ...]:
    """Ids in the list of formulas of what warms these faces; empty where nothing does."""
    each = [face for both in faces if both is not None for face in (both.top, both.bottom)]
    return ("face-warmth",) if any(face.warmth is not None for face in each) else ()


def cautions(faces: Faces) -> list[Caution]:
    """What can hurt someone who puts these finishes on."""
    on = (face.finish for face in (faces.top, faces.bottom))
    return [Caution("oily-rags")] if any(one and "oil" in one.name for one in on) else []
