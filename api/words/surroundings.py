"""Sentences on climates, rooms, logs and the air of them."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence, counted, warmth
from model.properties import sorption
from model.properties.warmth import HEATED_UNTIL, UNHEATED_FROM
from model.surroundings import climate, indoors, places_at_slab, room

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
        f"Air of {' to '.join(ends)} lies beyond what is known of wood, {warmth(low)} to "
        f"{warmth(high)}. The equilibrium there is a stretch{cold}."
    )


def _height(higher: float) -> str:
    told = (
        f"The place lies {higher:.0f} m above or below its stations. That doubles the usual error "
        "outdoors."
    )
    if higher < climate.HEIGHT_ALARM:
        return told
    return (
        f"{told} From {climate.HEIGHT_ALARM:g} m on the climate is a guess: use a station at a "
        "like height, months of your own, or a logger."
    )


def _no_elevation(heights: tuple[tuple[str, float], ...]) -> str:
    listed = ", ".join(f"{name} {elevation:.0f} m" for name, elevation in heights)
    return (
        "You gave no elevation, so nothing is corrected for height. That matters from "
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
        f"The climate is the mean of {listed}. Such a choice is usually off by {outdoors:.1f} % in "
        f"the equilibrium moisture outdoors, and {indoors:.1f} points of humidity indoors."
    )


def _taken(text: str, label: str, id: str, others: tuple[str, ...]) -> str:
    beside = f" Of the same name: {'; '.join(others)}." if others else ""
    return f"You wrote '{text}': taken as {label} [{id}].{beside}"


def _rise(least: float, most: float) -> str:
    """The ends of a rise of temperature in both systems, one where they are alike.

    >>> _rise(1.5, 3.7), _rise(2.0, 2.0)
    ('1.5 to 3.7 °C (2.7 to 6.7 °F)', '2.0 °C (3.6 °F)')
    """
    both = []
    for factor, unit in ((1.0, "°C"), (1.8, "°F")):
        ends = dict.fromkeys(f"{factor * end:.1f}" for end in (least, most))
        both.append(f"{' to '.join(ends)} {unit}")
    return f"{both[0]} ({both[1]})"


def _shed(least: float, most: float, shaded: bool) -> str:
    by = "without sun" if shaded else "by the sun through the year"
    return (
        f"It is taken {_rise(least, most)} warmer than outdoors {by}, with the vapour of outdoors."
    )


def _adrift(months: int, least: float, most: float) -> str:
    return (
        f"In {counted(months)} nothing holds the room's temperature. As in measured houses it is "
        f"taken {_rise(least, most)} above outdoors."
    )


def _panes(setting: float, months: int, least: float, panes: str, assumed: bool) -> str:
    called = f"{panes.replace('_', ' ')} panes"
    taken = f" ({called} are assumed: nothing was said)" if assumed else ""
    return (
        f"In {counted(months)} the windows drip before the air reaches {setting:g} %. It is held "
        f"at what {called} bear, down to {least:.0f} %{taken}. Any more water runs down the panes "
        "and into the walls."
    )


def _stops(setting: float, months: int, reached: float, sized: bool) -> str:
    why = (
        "it takes out no more than fresh air brings in"
        if sized
        else "it takes nothing more out of air so dry and so cool"
    )
    return (
        f"In {counted(months)} the dehumidifier does not reach {setting:g} %: {why}. The air stays "
        f"at up to {reached:.0f} %."
    )


NOTES: Final[dict[str, Sentence]] = {
    "humidity-cut-high": Sentence(
        "{count} of {all} {what} came out above {limit:g} % relative humidity (up to {most:.0f} "
        "%). Water would condense there, so {limit:g} % is used.",
        source="limit of the sorption curve, Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
    ),
    "humidity-cut-low": Sentence(
        "{count} of {all} {what} came out below {limit:g} % relative humidity. {limit:g} % is "
        "used.",
        source="judgement",
    ),
    "month-mean-cut": Sentence(
        "Humidity changes so fast from month to month that its course was cut at "
        f"{room.LOWEST_HUMIDITY:g} or {room.HIGHEST_OF_DAY:g} %. That moves a month's mean by up "
        f"to {{by:.2g}} points.",
        source="derived",
        rank=3,
    ),
    "sorption-extrapolated": Sentence(_beyond, source="Wood Handbook FPL-GTR-190 eq. 4-5 (memory)"),
    "log-ends": Sentence(
        "The log covers {days:.4g} days. Nothing is assumed before or after it.",
        rank=3,
    ),
    "log-year": Sentence(
        "The log covers {days:.4g} days, so it serves as the room's year: each day is the mean "
        "of all years in it. Another year may differ.",
        "/room/log",
    ),
    "log-blanks": Sentence(
        "{rows} rows of the logger's table held no reading and were left out; {read} were read.",
        "/room/log/csv",
    ),
    "log-standing-clock": Sentence(
        "The logger wrote an hour that {zone} skips in spring. Its clock does not follow summer "
        "time, so it is read as standard time all year.",
        "/room/log/timezone",
        rank=3,
    ),
    "log-clock": Sentence(
        "You gave no timezone. The logger's times are taken as they stand, without summer time.",
        "/room/log/timezone",
        rank=3,
    ),
    "log-gap": Sentence(
        "The longest time between two readings is {days:.3g} days. The air is taken to change "
        "steadily in between.",
    ),
    "heating-assumed": Sentence(
        "You did not say how it is heated: {heat_to:warmth} is assumed.",
        "/room/heat_to",
        "six lived-in Finnish houses in winter, open data set trh-1 by A. Laukkarinen, CC BY 4.0",
        1,
    ),
    "heating-unsure": Sentence(
        "You did not say whether it is heated. Where the coldest month is {coldest:warmth} some "
        "rooms are heated and some are not, so the mean of both is told. Heated to "
        "{heat_to:warmth} its coldest month is {heated:warmth}, unheated {unheated:warmth}. The "
        "two are up to {points:.0f} points of humidity apart; the range covers both. Give "
        "heat_to if it is heated.",
        "/room/heat_to",
        "judgement",
        1,
        short="You did not say whether it is heated: the mean of both is told. Give heat_to.",
    ),
    "never-heated": Sentence(
        "You did not say how it is heated. The coldest month outdoors is {coldest:warmth}, above "
        "{above:warmth}: it is taken as never heated.",
        "/room/heat_to",
        "30 groups of uncooled housing, ASHRAE Global Thermal Comfort Database II, CC0",
    ),
    "occupation-assumed": Sentence(
        "You did not say who lives in it. Normal use is assumed, which adds "
        f"{indoors.vapour_excess(0.0):.0f} Pa of vapour when it freezes outdoors. An empty room "
        "is drier.",
        "/room/occupied",
        "fitted to six lived-in Finnish houses, open data set trh-1 by A. Laukkarinen, CC BY 4.0",
        1,
        short="You did not say who lives in it: normal use is assumed. An empty room is drier.",
    ),
    "outdoor-mean-bias": Sentence(
        "Equilibrium outdoors is that of the month's mean humidity. It meets the handbook's "
        "table of cities within 0.5 %. The mean of hourly values would be about 1 % higher, as "
        "damp nights count for more than dry days. No measured wood tells which of the two thick "
        "wood follows, so nothing is added.",
        source="computed from hourly weather files; Wood Handbook FPL-GTR-190 Table 13-1 (memory)",
    ),
    "shed-gain": Sentence(
        _shed,
        source="roof spaces of six Finnish houses, 390 sensor-months, rms 1.1 K, open data set "
        "trh-1 by A. Laukkarinen, CC BY 4.0; sun by latitude, half of that above the air "
        "(judgement)",
    ),
    "sun-not-known": Sentence(
        "You gave no latitude, so the sun on the roof is not known. {taken:.0f} W/m2 is taken "
        "all year, the mean at 45 degrees. With latitude and longitude summers come out warmer "
        "and drier.",
        "/room/latitude",
        "derived, FAO-56 (memory)",
    ),
    "walls-assumed": Sentence(
        "You did not describe its outer walls. Two are assumed: it stands {way:.2g} of the way "
        "from the house's temperature to outdoors.",
        "/room/outer_walls",
        "EN 12831 (memory)",
        1,
    ),
    "cellar-rough": Sentence(
        f"A cellar is taken {{way:.2g}} of the way from the house's temperature to outdoors, "
        f"with {indoors.CELLAR_EXCESS:.0f} Pa more vapour than outdoors. The ground keeps a deep "
        "cellar warmer in winter and colder in summer. That is left out: a logger knows better.",
        "/room/kind",
        "EN 12831 (memory); vapour judgement",
        1,
        short="A cellar is a rough guess: the ground is left out. A logger knows better.",
    ),
    "heated-at-times": Sentence(
        "It is heated {share:share} of the time and cools in between. Temperature and humidity are "
        "means over the time. Thick wood follows the mean; thin wood and faces follow each "
        "heating.",
        "/room/heated_share",
        "judgement",
    ),
    "design-curve": Sentence(
        "This method is a design curve of outdoor temperature alone, on the damp side. Six "
        "measured houses were {above} points of humidity drier on average. It keeps its own room "
        "temperature.",
        "/room/method",
        "EN 15026 Annex C, ISO 13788 A.1 (memory); open data set trh-1 by A. Laukkarinen",
    ),
    "free-gain": Sentence(
        _adrift,
        source="comfort temperature of EN 15251 (memory); 33 groups of uncooled housing within "
        "1.4 K rms, ASHRAE Global Thermal Comfort Database II, CC0",
    ),
    "cooling-dries": Sentence(
        "Cooled ({months:months}), the humidity is taken as 36 %, and 1.25 points more for each "
        "g/kg of vapour outdoors, at most 65 %. That is for the share of the month that cooling "
        "runs. It does not fall with the setting. A fan that always runs, or a unit too large, "
        "leaves it about 5 points damper.",
        "/room/cool_to",
        "fitted to 35 groups of cooled buildings, rms 6 points, mostly offices, ASHRAE Global "
        "Thermal Comfort Database II, CC0; fan: judgement",
    ),
    "very-cold-months": Sentence(
        "No house was measured in months below {below:warmth} outdoors. The vapour added there "
        "is taken as in the coldest months measured.",
        source=_MEASURED_HOUSES,
    ),
    "held-by-panes": Sentence(
        _panes,
        "/room/humidify_to",
        "derived; printed household advice of Minnesota implies the same for double panes",
        1,
    ),
    "humidifier-water": Sentence(
        "The humidifier gives off up to {water:.1f} kg of water a day, in {month:month}.",
        "/room/humidify_to",
        "derived",
    ),
    "dehumidifier-too-cold": Sentence(
        "In {months:months} the place is below {works:warmth}. A dehumidifier with a compressor "
        "ices there and is no use: it is not counted on then. A desiccant one works in the cold.",
        "/room/dehumidifier",
        "judgement; common practice",
        1,
    ),
    "dehumidifier-stops": Sentence(
        _stops,
        "/room/dehumidify_to",
        "Winkler, Christensen & Tomerlin 2011, NREL (printed)",
        1,
    ),
    "dehumidifier-ices": Sentence(
        "In {months:months} the place is below {below:warmth}. The coil ices and must thaw, so "
        "the machine takes out less than its curve says.",
        "/room/dehumidifier",
        "judgement",
    ),
    "place-taken": Sentence(_taken, "/room/climate", rank=1),
    "town-height": Sentence(
        "The height of the town, {height:.0f} m, is that of the towns around it, within about "
        "{error:.0f} m.",
        "/room/climate",
        "GeoNames elevation model; error by leaving one town out",
    ),
    "climate-mended": Sentence(
        "{station}: the humidity of {months:months} did not agree with the stations around. It "
        "is set to agree with them.",
        source="comparison of every station with its neighbours; bounds are judgement",
    ),
    "climate-grade": Sentence(
        "{stations:list}: few years, little checked or at odds with the stations around. It is "
        "used because nothing better is near, or because you named it.",
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
        "The {found} outdoors was worked out from monthly {given} and temperature. It is "
        "corrected for what monthly means hide in cold months: 16 points of humidity at -12 °C, "
        "5 at -2 °C.",
        source="fitted to the listed stations, +/- 3 points",
    ),
    "weather-file": Sentence(
        "{file}: monthly means of {hours} hours in local standard time (UTC{zone:+g}).",
        source="{source}",
        rank=3,
    ),
    "weather-file-gaps": Sentence("{file}: {hours} hours not measured were left out."),
    "face-warmer": Sentence(
        "The {side} face is taken {by:warmer} warmer than the room all year. The same vapour "
        "makes drier air there, by about 6 % of the humidity a degree.",
        "/faces/{side}/warmer_by",
        "derived",
    ),
    "face-heated-floor": Sentence(
        f"The {{side}} face lies on a floor of {{source:warmth}} while it heats. That is all of "
        f"a month below {warmth(HEATED_UNTIL)} outdoors and none from {warmth(UNHEATED_FROM)}. "
        "Heat that goes through the wood warms the other face.",
        "/faces/{side}/place",
        "derived; share of the month judgement; floors walked on stay at 29 °C or less, EN 1264 "
        "(memory)",
    ),
    "face-over-radiator": Sentence(
        "The {side} face is over a radiator of {source:warmth}. While heating runs it is "
        "{share:share} of the way from the room to that, and the other face half as far.",
        "/faces/{side}/place",
        "judgement",
    ),
    "face-sun-through-glass": Sentence(
        "Sun through glass warms the {side} face by {by:warmer}, as a mean of day and year. "
        "While it shines the face is 15 to 25 °C (27 to 45 °F) warmer.",
        "/faces/{side}/place",
        "derived; share taken up judgement",
    ),
    "face-outer-wall": Sentence(
        "The {side} face is at an outer wall, {way:.2g} of the way from the room's temperature "
        "to outdoors. It is colder and damper in winter.",
        "/faces/{side}/place",
        "ISO 13788 (memory)",
    ),
    "face-closed-carcass": Sentence(
        f"The {{side}} face is in a closed carcass. That is taken to keep vapour off it like "
        f"{places_at_slab.CARCASS_RESISTANCE:g} m of still air. Nothing was measured.",
        "/faces/{side}/place",
        "judgement: air changed about once in two hours",
    ),
    "hygrometer": Sentence(
        f"Four in five room hygrometers are right {_WITHIN}",
        "/room",
        "judgement",
        weak="the hygrometer, to {points:.0f} points",
    ),
    "between-rooms": Sentence(
        f"Four in five rooms of this description lie {_WITHIN}",
        "/room",
        "measured rooms, or judgement where none was measured",
        weak="the room's air, to {points:.0f} points of humidity",
    ),
    "between-rooms-and-months": Sentence(
        f"Four in five rooms of this description lie {_WITHIN} A single month of a room strays "
        "from that by {strays:.0f} points more.",
        "/room",
        "six lived-in Finnish houses, widened for other countries (judgement), open data set trh-1 "
        "by A. Laukkarinen, CC BY 4.0; cooled buildings of a town, open data",
        weak="the room's air, to {points:.0f} points of humidity",
    ),
    "between-years": Sentence(
        f"Four in five years lie {_WITHIN}",
        "/room",
        "measured rooms, or judgement where none was measured",
        weak="next year's air, to {points:.0f} points",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {
    "heats-above-cooling": Sentence(
        "heat_to must not be above cool_to: you gave {heat_to:warmth} and {cool_to:warmth}",
    ),
    "humidifies-above-drying": Sentence(
        "humidify_to must not be above dehumidify_to: you gave {humidify_to:g} and "
        "{dehumidify_to:g} %",
    ),
    "nothing-held-outdoors": Sentence(
        "nothing holds the air outdoors: leave out {names}",
    ),
    "temperature-of-its-own": Sentence(
        "{what} has a temperature of its own: leave out heat_to and cool_to",
    ),
    "for-rooms-only": Sentence(
        "method and occupied are for rooms: leave them out for the kind {kind}",
    ),
    "occupied-of-no-use": Sentence(
        "the method {method} does not ask who lives there: leave out occupied",
    ),
    "balance-of-no-use": Sentence(
        "generation is for moisture_balance alone; air_changes and volume are for that, "
        "humidify_to and dehumidifier_rated",
    ),
    "balance-incomplete": Sentence("{what} needs {needed}"),
    "belongs-to": Sentence("{name} belongs to {to}: leave it out, or give that"),
}
