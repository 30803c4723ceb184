"""Sentences on climates, rooms, logs and the air of them."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence, warmth
from model.properties import sorption
from model.surroundings import climate, house, room

_LEAVE_ONE_OUT: Final = "leave-one-out over the listed stations (fitted)"
_MEASURED_HOUSES: Final = "open data set trh-1 by A. Laukkarinen, CC BY 4.0"


_WITHIN: Final = (
    "within {points:.0f} points of relative humidity of these figures, about {moisture:.1f} % of "
    "moisture in the wood."
)


def _beyond(lowest: float, highest: float) -> str:
    ends = dict.fromkeys(warmth(round(end)) for end in (lowest, highest))
    low, high = sorption.VALID_TEMPERATURE
    cold = f", below {warmth(sorption.COLDEST)} as at it" if lowest < sorption.COLDEST else ""
    return (
        f"Air of {' to '.join(ends)} goes beyond the sorption curve, {warmth(low)} to "
        f"{warmth(high)}: the equilibrium there is extrapolated{cold}."
    )


def _height(higher: float) -> str:
    told = (
        f"The place lies {higher:.0f} m above or below its stations: the usual error of the "
        "outdoor equilibrium doubles."
    )
    if higher < climate.HEIGHT_ALARM:
        return told
    return (
        f"{told} From {climate.HEIGHT_ALARM:g} m the climate is a guess: use a station at like "
        "height, outdoor months of your own or a logger."
    )


def _no_elevation(heights: tuple[tuple[str, float], ...]) -> str:
    listed = ", ".join(f"{name} {elevation:.0f} m" for name, elevation in heights)
    return (
        "No elevation was given: nothing is corrected for height, which matters from "
        f"{climate.HEIGHT_WARNING:g} m above or below the stations ({listed})."
    )


def _stations(
    stations: tuple[tuple[str, float, float | None, float], ...], outdoors: float, indoors: float
) -> str:
    listed = "; ".join(
        f"{label} {distance:.0f} km"
        + (f", {height:+.0f} m" if height is not None else "")
        + f", weight {weight:.2f}"
        for label, distance, height, weight in stations
    )
    return (
        f"The climate is the mean of {listed}. Usual error of this choice: {outdoors:.1f} % in the "
        f"equilibrium moisture outdoors, {indoors:.1f} points of humidity indoors."
    )


def _taken(text: str, label: str, id: str, others: tuple[str, ...]) -> str:
    beside = f" Of the same name: {'; '.join(others)}." if others else ""
    return f"'{text}' was taken as {label} [{id}].{beside}"


NOTES: Final[dict[str, Sentence]] = {
    "humidity-cut-high": Sentence(
        "{count} of {all} {what} came out above {limit:g} % relative humidity (up to {most:.0f} "
        "%): water would condense there; {limit:g} % is used.",
        source="limit of the sorption curve, Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
    ),
    "humidity-cut-low": Sentence(
        "{count} of {all} {what} came out below {limit:g} % relative humidity; {limit:g} % is "
        "used.",
        source="judgement",
    ),
    "month-mean-cut": Sentence(
        "The humidity changes so fast from one month to the next that the course through the year "
        f"was cut at {room.LOWEST_HUMIDITY:g} or {room.HIGHEST_OF_DAY:g} %: a month's mean is "
        "moved by up to {by:.2g} points.",
        source="derived",
        rank=3,
    ),
    "sorption-extrapolated": Sentence(_beyond, source="Wood Handbook FPL-GTR-190 eq. 4-5 (memory)"),
    "log-ends": Sentence(
        "The log covers {days:.4g} days; nothing is assumed before or after it.", rank=3
    ),
    "log-year": Sentence(
        "The log covers {days:.4g} days and serves as the room's year: the mean of each day over "
        "all years in it. Another year may differ.",
        "/room/log",
    ),
    "log-blanks": Sentence(
        "{rows} rows of the logger's table held no reading and were left out; {read} were read.",
        "/room/log/csv",
    ),
    "log-standing-clock": Sentence(
        "The logger wrote an hour that {zone} leaves out in spring: its clock does not follow "
        "summer time and is read as standard time all the year.",
        "/room/log/timezone",
        rank=3,
    ),
    "log-clock": Sentence(
        "No timezone was told: the logger's times are taken as they stand, without summer time.",
        "/room/log/timezone",
        rank=3,
    ),
    "log-gap": Sentence(
        "The longest time between two readings is {days:.3g} days: the air is taken to change "
        "steadily in between."
    ),
    "heating-assumed": Sentence(
        "No heating was given: {heat_to:warmth} is assumed.",
        "/room/heat_to",
        "usual indoor design temperature (common practice)",
        1,
    ),
    "occupation-assumed": Sentence(
        "Nothing is said of the people in it: taken as lived in normally, "
        f"{house.VAPOUR_EXCESS['normally']:g} Pa of vapour above outdoors while it freezes there. "
        "With nobody in it the room is drier.",
        "/room/occupied",
        "midpoint of a humidity class of ISO 13788 (memory)",
        1,
    ),
    "outdoor-mean-bias": Sentence(
        "Equilibrium outdoors is that of the month's mean humidity, as in handbooks' tables of "
        "cities, which it meets within 0.5 %. The mean of hourly values would be about 1 % higher, "
        "as damp nights count for more than dry days; no measured wood tells which of the two "
        "thick wood follows, so nothing is added.",
        source="computed from hourly weather files; Wood Handbook FPL-GTR-190 Table 13-1 (memory)",
    ),
    "shed-gain": Sentence(
        "A shed without heating is taken {by:warmer} warmer than outdoors, its vapour as outdoors.",
        source="judgement",
    ),
    "design-curve": Sentence(
        "This method is a design curve of outdoor temperature alone, on the damp side: seven "
        "measured houses were {above} points of humidity drier on average. It keeps its own room "
        "temperature.",
        "/room/method",
        "EN 15026 Annex C, ISO 13788 A.1 (memory); open data set trh-1 by A. Laukkarinen",
    ),
    "free-gain": Sentence(
        "In {months:months} the room is neither heated nor cooled and taken {by:warmer} warmer "
        "than outdoors (sun, people, appliances).",
        source="judgement between an open house (0) and measured ones (4)",
    ),
    "cooling-dries": Sentence(
        "Cooled ({months:months}), the vapour is taken as 4 g/kg + 0.4 of that outdoors, in "
        "proportion in months that stand less than {within:warmer} above the setting without it; a "
        "machine that runs short spells dries less.",
        "/room/cool_to",
        "TenWolde (memory, medium confidence)",
    ),
    "very-cold-months": Sentence(
        "In months below {below:warmth} outdoors the rule is rather dry: seven measured houses, "
        "tight and lived in, stood 8 to 10 points of humidity above it.",
        source=_MEASURED_HOUSES,
    ),
    "place-taken": Sentence(_taken, "/room/climate", rank=1),
    "town-height": Sentence(
        "The height of the town, {height:.0f} m, is that of the towns around it, within about "
        "{error:.0f} m.",
        "/room/climate",
        "GeoNames elevation model; error by leaving one town out",
    ),
    "climate-mended": Sentence(
        "{station}: the humidity of {months:months} did not agree with the stations around and is "
        "set to agree with them.",
        source="comparison of every station with its neighbours; bounds are judgement",
    ),
    "climate-grade": Sentence(
        "{stations:list}: few years, little checked or at odds with the stations around; used "
        "because nothing better is near or "
        "because it was asked by name.",
        source="grade C of the station table",
    ),
    "climate-doubtful": Sentence(
        "{stations:list}: humidity doubtful by 3 to 6 points in some months.",
        source="told with the station table",
    ),
    "stations": Sentence(
        _stations,
        source=_LEAVE_ONE_OUT,
    ),
    "no-elevation": Sentence(_no_elevation, "/room/elevation"),
    "height": Sentence(_height, source=_LEAVE_ONE_OUT),
    "height-far": Sentence(_height, source=_LEAVE_ONE_OUT, rank=1),
    "vapour-from-means": Sentence(
        "The {found} outdoors was found from monthly {given} and temperature, corrected for what "
        "monthly means hide in cold months (16 points of humidity at -12 °C, 5 at -2 °C).",
        source="fitted to the listed stations, +/- 3 points",
    ),
    "weather-file": Sentence(
        "{file}: monthly means of {hours} hours in local standard time (UTC{zone:+g}).",
        source="{source}",
        rank=3,
    ),
    "weather-file-gaps": Sentence("{file}: {hours} hours not measured were left out."),
    "hygrometer": Sentence(
        f"Four in five room hygrometers are right {_WITHIN}", "/room", "judgement"
    ),
    "between-rooms": Sentence(
        f"Four in five rooms of this description lie {_WITHIN}",
        "/room",
        "measured rooms, or judgement where none was measured",
    ),
    "between-years": Sentence(
        f"Four in five years lie {_WITHIN}",
        "/room",
        "measured rooms, or judgement where none was measured",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {
    "heats-above-cooling": Sentence(
        "heat_to must not be above cool_to: {heat_to:warmth} and {cool_to:warmth} given"
    ),
    "humidifies-above-drying": Sentence(
        "humidify_to must not be above dehumidify_to: {humidify_to:g} and {dehumidify_to:g} % given"
    ),
    "nothing-held-outdoors": Sentence("nothing holds the air outdoors: {names} has no use"),
    "temperature-of-its-own": Sentence(
        "{what} has a temperature of its own: heat_to, cool_to have no use"
    ),
    "for-rooms-only": Sentence("method and occupied are for rooms, not for the kind {kind}"),
    "occupied-of-no-use": Sentence("the method {method} has no use for occupied"),
    "balance-of-no-use": Sentence("generation, air_changes and volume are for moisture_balance"),
    "balance-incomplete": Sentence("moisture_balance needs {needed}"),
}
