"""Sentences on readings, readiness, diagnosis, conditioning."""

from __future__ import annotations

from typing import Final

from api.units import POUND
from api.words.sentence import Sentence


def _contradiction(readings: tuple[int, ...], deviations: float, left_out: bool) -> str:
    listed = ", ".join(str(number) for number in readings)
    out = ", and is left out of the fit" if left_out else ""
    return (
        f"Reading {listed} lies more than {deviations:g} standard deviations from what all others "
        f"say{out}. Read it again."
    )


def _too_little(dated: bool, before: float) -> str:
    return (
        f"{'One date' if dated else 'One reading'} tells how it is today, not how fast it dries. "
        "The date leans on what the species usually does, known within "
        f"{before:.1f} times either way."
    )


def _stuck(settles: float, target: float, humidity: float | None) -> str:
    what = "" if humidity is None else f" Air of about {humidity:.0f} % relative humidity would."
    return (
        f"It has come to rest in this air, near {settles:.1f} %, and gets no nearer to "
        f"{target:.1f} % here.{what}"
    )


def _too_small(rated: float, needed: float | None, above: float) -> str:
    takes = ""
    if needed is not None:
        takes = f" That takes {needed:.1f} kg ({needed / POUND:.1f} lb) a day as rated."
    return (
        f"The dehumidifier does not keep up with the wood's water and the changed air: it stays up "
        f"to {above:.0f} points above the humidity to hold.{takes} The days told count with it."
    )


def _too_fast(
    loss: float,
    allowed: float | None,
    day: float,
    skin: float,
    likely: bool,
    chance: float | None,
    printed: bool,
) -> str:
    limit = "" if allowed is None else f", where at most {allowed:.1f} % is safe"
    row = "" if printed or allowed is None else " (the figure of its kind of wood)"
    sure = "" if chance is None else f" The chance that it is too fast is about {chance:.0f} %."
    return (
        f"It {'dries' if likely else 'may dry'} faster than is safe against checks, most on day "
        f"{day + 1.0:.0f}: up to {loss:.1f} % a day{limit}{row}; the skin's stress comes to "
        f"{skin:.2g} of its strength.{sure} Damper air or a cover slows it."
    )


def _species_row(row: str, weak: bool) -> str:
    sure = " They are weakly known." if weak else ""
    return (
        f"Corrected to this wood by the meter constants of {row}.{sure} Is your meter set to its "
        "wood already? Then say scale: species, or it is corrected twice."
    )


_RANGES: Final = "Wood Handbook FPL-GTR-190: conductance 6 to 30 %, dielectric 4 to 30 %"
_THREE: Final = "judgement: three standard deviations"

_WINKLER: Final = "Winkler, Christensen & Tomerlin 2011, NREL (printed)"
_MOIST_AIR: Final = "Hyland-Wexler; Wood Handbook FPL-GTR-190 eq. 4-5 (memory)"


def _faces_drawn(top: bool, bottom: bool) -> str:
    if top and bottom:
        side, taken = "the faces", "they are taken as anything from open to shut"
    else:
        side = "the top" if top else "the bottom"
        taken = "it is taken as anything from open to shut"
    return (
        f"You did not say what is on {side}: {taken} on a bench, tops mostly open. Tell faces, and "
        "the dates become surer."
    )


NOTES: Final[dict[str, Sentence]] = {
    "heating-over-dries": Sentence(
        "In {months:by_name} the shop's air is already too dry for {target:g} %, and more heat "
        "dries it further. Add moisture or heat less.",
        "",
        _MOIST_AIR,
        1,
    ),
    "heating-not-enough": Sentence(
        "In {months:by_name} heating to {hottest:warmth} does not bring the air down to "
        "{target:g} %. Use a drying machine, or wait for another season.",
        "",
        _MOIST_AIR,
        1,
    ),
    "times-uncertain": Sentence(
        "Days may be half or double until readings fit the rate.",
        "",
        "judgement across conflicting evidence",
        1,
        weak="days, to a factor of 2",
    ),
    "heat-parts": Sentence(
        "The heat is that of evaporation, a humidifier's included, and of warming the changed "
        "air. What walls, roof and floor lose comes on top and is often the larger part. So do "
        "warming the wood and the heat of sorption (some percent of the evaporation).",
        "",
        "derived",
    ),
    "mass-unknown": Sentence(
        "You gave neither length nor weight, so no water is told in kilograms.",
        "/slab/length",
    ),
    "shop-unknown": Sentence(
        "You gave no volume and air change of the shop. Heat for ventilation is not told, and "
        "the water the wood adds to the air is left out.",
        "/volume",
    ),
    "ventilation-short": Sentence(
        "In the first days the wood makes the shop's air {rise:.0f} points damper at this air "
        "change. Ventilate more, or expect it to go slower.",
        "/air_changes",
        "derived",
        1,
    ),
    "thickness-unknown": Sentence(
        "You gave no thickness, so no days are told.",
        "/wood",
    ),
    "machine-too-cold": Sentence(
        "In {months:months} the shop is below {works:warmth}, where a dehumidifier with a "
        "compressor is no use: none is counted on then. A desiccant one works in the cold.",
        "/dehumidifier/kind",
        "judgement; common practice",
        1,
    ),
    "machine-ices": Sentence(
        "In {months:months} the shop is below {below:warmth}: the coil ices and must be thawed, so "
        "the machine takes out less than its curve says.",
        "/dehumidifier/kind",
        "judgement",
    ),
    "machine-stops": Sentence(
        "In {months:months} a dehumidifier with a compressor takes out nothing more at "
        "{floor:.0f} % relative humidity, damper than the target asks.",
        "/dehumidifier/kind",
        _WINKLER,
        1,
    ),
    "machine-too-small": Sentence(
        _too_small,
        "/dehumidifier/rated",
        _WINKLER,
        1,
    ),
    "set-humidistat": Sentence(
        "Never switched off, the dehumidifier would dry the shop to {reached:.0f} % relative "
        "humidity, which brings wood to {moisture:.1f} %: set a humidistat to {setting:.0f} %.",
        "/dehumidifier/rated",
        _WINKLER,
        1,
    ),
    "panes-hold-lower": Sentence(
        "In {months:months} the windows would drip before the target's humidity is reached: it is "
        "held at what they bear, {least:.0f} % at least.",
        "/panes",
        "derived; printed household advice of Minnesota implies the same for double panes",
        1,
    ),
    "windows-drip": Sentence(
        "With the wood's own water in the air the windows drip for {days:.0f} days: ventilate, dry "
        "the air, or bring in less wood at a time.",
        "/panes",
        "derived",
        1,
    ),
    "air-near-saturation": Sentence(
        "The wood's own water brings the shop's air to {humidity:.0f} % relative humidity: mould "
        "and dripping are likely. Ventilate more, dry the air, or bring in less wood.",
        "/air_changes",
        "derived; common practice",
        1,
    ),
    "dries-too-fast": Sentence(
        _too_fast,
        "/moisture",
        "largest safe loss of a day: Wengert, FPL-GTR-118 (printed), by group and thickness "
        "judgement",
        1,
    ),
    "may-honeycomb": Sentence(
        "Dried faster than is safe above 50 %, wood can split inside where nobody sees it "
        "(honeycomb).",
        "/moisture",
        "causes printed, FPL-GTR-118",
        1,
    ),
    "too-hot-for-wet-core": Sentence(
        "Until its core is at {until:g} % this wood should stand no warmer than {hottest:warmth}: "
        "hot and wet inside it can split there (honeycomb).",
        "/hottest",
        "AH-188 (memory)",
        1,
    ),
    "loss-extrapolated": Sentence(
        "The safe loss of a day is printed for stock 25 and 50 mm (1 and 2 in) thick; for this "
        "thickness it is carried on by the power of 1.32.",
        "/slab/thickness",
        "judgement",
    ),
    "temperature-assumed": Sentence(
        "You did not say how warm the wood was: 20 °C (68 °F) is assumed. Wood 10 °C (18 °F) "
        "warmer would hold about 1 % less than told.",
        "",
        "Wood Handbook FPL-GTR-190: 0.5 % per 5.6 degC",
        1,
    ),
    "species-uncorrected": Sentence(
        "No meter constants of this wood are known, so the reading stays on the Douglas-fir "
        "scale. Woods differ by 8 % of the reading and more. Calibrate with one oven-dried "
        "piece.",
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
        "You did not say how warm the wood was: it is taken as its room, {temperature:.0f} °C.",
        "",
        "judgement: within 3 K",
        2,
    ),
    "resistance-extrapolated": Sentence(
        "The table of resistance covers 7 to 20 %. Outside, its straight line is carried on.",
        "",
        "James 1988 (memory)",
    ),
    "depth-assumed": Sentence(
        "You did not say how deep you read: 0.21 of the thickness is taken, where a parabola has "
        "its mean.",
        "",
        "judgement",
        1,
    ),
    "surface-meter": Sentence(
        "Surface meters read the outer layer and follow density: trust them little.",
        "",
        "practice; Wood Handbook FPL-GTR-190",
        1,
    ),
    "out-of-range": Sentence(
        "Readings outside the instrument's range are not numbers and were left out.",
        "",
        _RANGES,
        1,
    ),
    "gradient-unknown": Sentence(
        "The readings do not tell faces from core. The difference is a guess within +/- 4 % M.",
        "",
        "judgement",
        1,
    ),
    "no-reading-of-the-body": Sentence(
        "No reading of the slab's body lies within range: too little to say.",
        rank=1,
    ),
    "readings-left-out": Sentence(
        "Some readings contradict the others by more than their errors allow and are left out. "
        "Read those again.",
        "",
        _THREE,
        1,
    ),
    "readings-contradict": Sentence(
        "Some readings contradict each other by more than their errors allow. Read those again.",
        "",
        _THREE,
        1,
    ),
    "slab-untold": Sentence(
        "You told nothing of the slab but its wood. The reading is taken at the depth of the "
        "mean, about a fifth of the thickness. Give the slab's thickness, and depths say more.",
        "/slab",
        "judgement",
        1,
    ),
    "age-assumed": Sentence(
        "You did not say how long ago the ends were cut. A year is taken for how far they have "
        "dried.",
        "/age",
        "judgement",
        3,
    ),
    "after-the-log": Sentence(
        "After the log's end the mean of its last {days:g} days is taken to go on: "
        "{temperature:.0f} °C and {humidity:.0f} %.",
        "/room/log",
        "judgement",
        1,
    ),
    "destination-year": Sentence(
        "The room it goes to holds wood between {driest:.1f} and {dampest:.1f} % through the "
        "year. The mean, {mean:.1f} %, is the target.",
        "/target",
        "Wood Handbook FPL-GTR-190 eq. 4-5",
        1,
    ),
    "readings-out-of-range": Sentence(
        "Outside the instrument's range, so left out: reading {readings:list}.",
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
        "{readings} readings on {dates} dates prove little by themselves. The rate is known "
        "within {after:.2g} times either way; by the species alone it was {before:.2g}.",
        "",
        "derived",
        1,
    ),
    "held-by-meter": Sentence(
        "It may be ready, but the meter is not known well enough to say so: the chance that it is "
        "near enough within 14 days is {chance:.0%}. One piece weighed and oven-dried beside a "
        "reading would tell.",
        source="derived",
        rank=1,
    ),
    "held-by-core": Sentence(
        "The chance that it is even enough within 14 days is {chance:.0%}: read the middle and a "
        "shell on the same day, which would tell.",
        source="derived",
        rank=1,
    ),
    "faces-drawn": Sentence(
        _faces_drawn,
        "/faces",
        "judgement",
        1,
    ),
    "depth-drawn": Sentence(
        "You did not say how deep the pins went. Anything from a twentieth of the thickness to "
        "its middle is counted. Shallow pins read too dry while it dries: tell depth.",
        "/readings",
        "judgement",
        1,
    ),
    "contradiction": Sentence(_contradiction, "/readings", "derived", 1),
    "rate-unlike-species": Sentence(
        "The rate fitted is {times:.2g} times the species' figure, far outside its usual range. "
        "Are species, faces, air or meter scale wrong?",
        "",
        "prior of the species (judgement)",
        1,
    ),
    "re-wetted": Sentence(
        "It took up more water between two readings than the air explains. Only the readings "
        "from then on are fitted.",
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
        "Only the thickness is followed: keep readings clear of the ends.",
        "",
        "judgement",
        3,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "heaters-of-a-shop": Sentence(
        "Heaters, stoves and fuel lines are work for the local code and licensed hands. Leave "
        "clear space around them. Never leave an open or fuel-fired heater unattended with "
        "drying wood, dust or finishes. Fit smoke and carbon monoxide alarms.",
        rank=1,
        short="Heaters and fuel lines: licensed hands and local code, clear space, never "
        "unwatched, smoke and carbon monoxide alarms.",
    ),
    "fuel-dampens": Sentence(
        "A fuel heater without a flue puts about as much water into the air as it burns fuel. It "
        "dampens the shop, and it needs fresh air.",
        rank=1,
        short="A fuel heater without a flue dampens the shop and needs fresh air.",
    ),
    "fast-drying-checks": Sentence(
        "Thick wood still above about 20 % can check and honeycomb if it dries fast. Raise the "
        "temperature slowly.",
        rank=1,
        short="Thick wood above 20 % can check and honeycomb if dried fast: warm it slowly.",
    ),
    "oven": Sentence(
        "Wood in an oven at 103 °C (217 °F): small pieces without finish or glue, the room "
        "aired, somebody by it. They are hot when weighed. No microwave oven: wood chars from "
        "within.",
        rank=2,
        short="Oven: small bare pieces, room aired, stay by it, hot to touch; no microwave.",
    ),
    "heavy-unweighed": Sentence(
        "A slab is heavy: turn and carry it with enough people or a hoist.",
        rank=2,
        short="A slab is heavy: turn and carry it with enough people or a hoist.",
    ),
    "drying-faster": Sentence(
        "If you heat or dehumidify to speed it up, follow the heater's instructions and the "
        "local code. Never leave a fuel heater unattended.",
        rank=1,
        short="Heaters: instructions and local code first; never leave a fuel heater alone.",
    ),
}
_ENDS: Final = (
    "End and edge readings follow the air of the last weeks. They speak of about {zone:end_zone} "
    "from that surface and say nothing of the middle."
)
REASONS: Final[dict[str, Sentence]] = {
    "ends": Sentence(_ENDS),
    "ends-below-body": Sentence(
        f"{_ENDS} The body is still well above them: the slab has not settled to its shop's air."
    ),
    "ends-agree": Sentence(
        f"{_ENDS} They agree with the body: the slab is about as dry as this air will make it."
    ),
    "weights-alone": Sentence(
        "Weights alone do not tell how much of them is wood. Add its oven-dry weight, or a pin "
        "reading or an oven-dry piece beside one of them.",
    ),
    "one-reading": Sentence(
        "One reading is no proof. Read again in two weeks at the same depth, or dry a piece.",
    ),
    "readings-apart": Sentence(
        "Readings contradict each other, and none can be told to be the wrong one. Read again.",
    ),
    "mean-depth": Sentence("a parabolic profile has its mean at this depth"),
    "other-face": Sentence("the same from the other face tells whether the faces dry alike"),
    "middle": Sentence("the middle against the first tells how much wetter the core is"),
}
REFUSALS: Final[dict[str, Sentence]] = {
    "dry-above-wet": Sentence(
        "oven-dry mass must be positive and not above the wet mass",
    ),
    "reading-too-deep": Sentence(
        "a reading's depth must lie inside the slab's thickness",
    ),
    "less-than-no-moisture": Sentence(
        "the correction leaves less than no moisture: check value and constants",
    ),
}
