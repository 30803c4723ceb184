"""Sentences on readings, readiness, diagnosis, conditioning."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence


def _contradiction(readings: tuple[int, ...], deviations: float, left_out: bool) -> str:
    listed = ", ".join(str(number) for number in readings)
    out = ", and is left out of the fit" if left_out else ""
    return (
        f"Reading {listed} stands more than {deviations:g} standard deviations from what all "
        f"others say{out}: read again."
    )


def _too_little(dated: bool, before: float) -> str:
    return (
        f"Too little to say how fast it dries: {'one date' if dated else 'one reading'} gives the "
        "present state only; the date leans on what the species usually does, within times or "
        f"divided by {before:.1f}."
    )


def _stuck(settles: float, target: float, humidity: float | None) -> str:
    what = "" if humidity is None else f" Air of about {humidity:.0f} % relative humidity would."
    return (
        f"It stands where this air leaves it, near {settles:.1f} %, and will get no nearer to "
        f"{target:.1f} % here.{what}"
    )


def _species_row(row: str, weak: bool) -> str:
    sure = " They are weakly known." if weak else ""
    return (
        f"Corrected to this wood by the meter constants of {row}; a meter set to its wood already "
        f"must not be corrected again (scale: species).{sure}"
    )


_RANGES: Final = "Wood Handbook FPL-GTR-190: conductance 6 to 30 %, dielectric 4 to 30 %"
_THREE: Final = "judgement: three standard deviations"

_MOIST_AIR: Final = "Hyland-Wexler; Wood Handbook FPL-GTR-190 eq. 4-5 (memory)"

NOTES: Final[dict[str, Sentence]] = {
    "heating-over-dries": Sentence(
        "In {months:by_name} the air at the shop's own temperature is already drier than "
        "{target:g} % calls for: more heat over-dries; add moisture or heat less.",
        "",
        _MOIST_AIR,
        1,
    ),
    "heating-not-enough": Sentence(
        "In {months:by_name} heating to {hottest:warmth} does not bring the air down to {target:g} "
        "%: a drying machine, or another season.",
        "",
        _MOIST_AIR,
        1,
    ),
    "times-uncertain": Sentence(
        "Days are uncertain by a factor of about two either way until readings fit the rate.",
        "",
        "judgement across conflicting evidence",
        1,
    ),
    "heat-parts": Sentence(
        "The heat is evaporation, a humidifier's included, and warming the exchanged air only: "
        "what walls, roof and floor lose, warming the wood, and the heat of sorption (some percent "
        "of the evaporation) come on top; losses are often the larger part.",
        "",
        "derived",
    ),
    "mass-unknown": Sentence(
        "Neither length nor weight is given: no water in kilograms.", "/slab/length"
    ),
    "shop-unknown": Sentence(
        "The shop's volume and air change are not given: no heat for ventilation, and the water "
        "the wood itself adds to the air is left out.",
        "/volume",
    ),
    "ventilation-short": Sentence(
        "In the first days the wood adds {rise:.0f} points of humidity to the shop's air at this "
        "air change: ventilate more or expect it to go slower.",
        "/air_changes",
        "derived",
        1,
    ),
    "thickness-unknown": Sentence("No thickness is given, so no days are told.", "/wood"),
    "temperature-assumed": Sentence(
        "The wood's temperature is not given: 20 °C (68 °F) assumed; wood 10 °C (18 °F) warmer "
        "would hold about 1 % less than shown here.",
        "",
        "Wood Handbook FPL-GTR-190: 0.5 % per 5.6 degC",
        1,
    ),
    "species-uncorrected": Sentence(
        "No meter constants of this wood are known, so the reading stays on the Douglas-fir scale; "
        "species differ by 8 % of the reading and more. Calibrate with one oven-dried piece.",
        "",
        "spread of the woods of James 1988, FPL-GTR-6 (memory)",
        1,
    ),
    "species-row": Sentence(
        _species_row,
        "",
        "James 1988, FPL-GTR-6 Table 1 (memory); VTT Publications 420 Table 5 (second-hand)",
        2,
    ),
    "temperature-of-room": Sentence(
        "The wood's temperature is not given: taken as its room's, {temperature:.0f} °C.",
        "",
        "judgement: within 3 K",
        2,
    ),
    "resistance-extrapolated": Sentence(
        "Outside the 7 to 20 % of the resistance table its straight line is carried on.",
        "",
        "James 1988 (memory)",
    ),
    "depth-assumed": Sentence(
        "No depth is given: taken at 0.21 of the thickness, where a parabola has its mean.",
        "",
        "judgement",
        1,
    ),
    "surface-meter": Sentence(
        "Surface meters read the outer layer and scale with density: low confidence.",
        "",
        "practice; Wood Handbook FPL-GTR-190",
        1,
    ),
    "out-of-range": Sentence(
        "Readings outside the instrument's range are not numbers and were left out of the profile.",
        "",
        _RANGES,
        1,
    ),
    "gradient-unknown": Sentence(
        "The readings do not tell shell from core: the gradient is a guess within +/- 4 % M.",
        "",
        "judgement",
        1,
    ),
    "no-reading-of-the-body": Sentence(
        "Too little to say: no reading of the slab's body lies within range.", rank=1
    ),
    "readings-left-out": Sentence(
        "Readings contradict the others by more than their errors allow and are left out of the "
        "profile: read those again.",
        "",
        _THREE,
        1,
    ),
    "readings-contradict": Sentence(
        "Readings contradict each other by more than their errors allow: read those again.",
        "",
        _THREE,
        1,
    ),
    "slab-untold": Sentence(
        "Nothing is told of the slab but its wood: the reading is taken at the depth of the mean, "
        "about a fifth of its thickness. Give the slab with its thickness, and depths say more.",
        "/slab",
        "judgement",
        1,
    ),
    "age-assumed": Sentence(
        "How long ago the ends were cut is not told: a year is taken for how far they have dried.",
        "/age",
        "judgement",
        3,
    ),
    "after-the-log": Sentence(
        "After the log's end the mean of its last {days:g} days, {temperature:.0f} °C and "
        "{humidity:.0f} %, is taken to go on.",
        "/room/log",
        "judgement",
        1,
    ),
    "destination-year": Sentence(
        "The room it goes to holds wood between {driest:.1f} and {dampest:.1f} % through the year; "
        "the mean, {mean:.1f} %, is the target.",
        "/target",
        "Wood Handbook FPL-GTR-190 eq. 4-5",
        1,
    ),
    "readings-out-of-range": Sentence(
        "Outside the instrument's range, so not numbers and left out: reading {readings:list}.",
        "/readings",
        _RANGES,
        1,
    ),
    "too-little": Sentence(
        _too_little,
        "",
        "prior of the species (judgement)",
        1,
    ),
    "little-proof": Sentence(
        "{readings} readings on {dates} dates prove little by themselves: with what the species "
        "usually does the rate was known within times or divided by {before:.2f}, and with them "
        "within {after:.2f}.",
        "",
        "derived",
        1,
    ),
    "faces-drawn": Sentence(
        "What is on the faces is not told: the top is taken as bare and the bottom as anything "
        "from open on sticks to shut on a bench. Tell faces, and the dates become surer.",
        "/faces",
        "judgement",
        1,
    ),
    "depth-drawn": Sentence(
        "No depth of the pins is told: anything from a twentieth of the thickness to its middle is "
        "reckoned with. Shallow pins read too dry while it dries; tell depth.",
        "/readings",
        "judgement",
        1,
    ),
    "contradiction": Sentence(_contradiction, "/readings", "derived", 1),
    "rate-unlike-species": Sentence(
        "The rate fitted is {times:.2g} times the species' figure, far outside its usual range: "
        "wrong species, faces, air or meter scale?",
        "",
        "prior of the species (judgement)",
        1,
    ),
    "re-wetted": Sentence(
        "It took up water between two readings more than the air explains: only the readings from "
        "then on are fitted.",
        "/readings",
        "derived",
        1,
    ),
    "stuck": Sentence(_stuck, "", "derived", 1),
    "not-ready-here": Sentence(
        "In this air it does not come within {within:g} of {target:.1f} % in five years.",
        "",
        "derived",
        1,
    ),
    "rings-and-ends": Sentence(
        "One dimension through the thickness: keep readings clear of the ends.",
        "",
        "judgement",
        3,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "heaters-of-a-shop": Sentence(
        "Heaters, stoves and fuel lines are work for the local code and licensed hands: leave "
        "clear space around them, never leave an open or fuel-fired heater unattended with drying "
        "wood, dust or finishes, and fit smoke and carbon-monoxide alarms.",
        rank=1,
        short="Heaters and fuel lines: licensed hands and local code, clear space, never "
        "unwatched, smoke and carbon monoxide alarms.",
    ),
    "fuel-dampens": Sentence(
        "A fuel heater without a flue puts about as much water into the air as it burns fuel: it "
        "dampens the shop, and it needs fresh air.",
        rank=1,
        short="A fuel heater without a flue dampens the shop and needs fresh air.",
    ),
    "fast-drying-checks": Sentence(
        "Fast drying of thick wood that is still above about 20 % can check and honeycomb it: "
        "raise the temperature slowly.",
        rank=1,
        short="Thick wood above 20 % can check and honeycomb if dried fast: warm it slowly.",
    ),
    "oven": Sentence(
        "An oven at 103 °C with wood in it: small pieces without finish or glue, the room aired, "
        "and somebody by it; they are hot when weighed. No microwave oven: wood chars from within.",
        rank=2,
        short="Oven: small bare pieces, room aired, stay by it, hot to touch; no microwave.",
    ),
    "heavy-unweighed": Sentence(
        "A slab is heavy: turn and carry it with enough people or a hoist.",
        rank=2,
        short="A slab is heavy: turn and carry it with enough people or a hoist.",
    ),
    "drying-faster": Sentence(
        "If you heat or dehumidify to speed it up, follow the heater's instructions and the local "
        "code; never leave a fuel heater unattended.",
        rank=1,
        short="Heaters: instructions and local code first; never leave a fuel heater alone.",
    ),
}
_ENDS: Final = (
    "End and edge readings stand near what the air of the last weeks holds; they speak of about "
    "{zone:end_zone} from that surface and say nothing of the middle."
)
REASONS: Final[dict[str, Sentence]] = {
    "ends": Sentence(_ENDS),
    "ends-below-body": Sentence(
        f"{_ENDS} The body is still well above them: the slab has not reached its shop's air."
    ),
    "ends-agree": Sentence(
        f"{_ENDS} They agree with the body within the error: the slab is about as dry as this air "
        "will make it."
    ),
    "weights-alone": Sentence(
        "Weights alone do not tell how much of them is wood: add its oven-dry weight, or a pin "
        "reading or an oven-dry piece beside one of them."
    ),
    "one-reading": Sentence(
        "One reading is no proof: read again in two weeks at the same depth, or dry a piece."
    ),
    "readings-apart": Sentence(
        "Readings contradict each other and none can be told to be the wrong one: read again."
    ),
    "mean-depth": Sentence("a parabolic profile has its mean at this depth"),
    "other-face": Sentence("the same from the other face tells whether the faces dry alike"),
    "middle": Sentence("the middle against the first tells how much wetter the core is"),
}
REFUSALS: Final[dict[str, Sentence]] = {
    "dry-above-wet": Sentence("oven-dry mass must be positive and not above the wet mass"),
    "reading-too-deep": Sentence("a reading's depth must lie inside the slab's thickness"),
    "less-than-no-moisture": Sentence(
        "the correction leaves less than no moisture: check value and constants"
    ),
}
