"""Sentences on what holds a slab: fixings, bars, keys."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence

NOTES: Final[dict[str, Sentence]] = {
    "built-in-safety": Sentence(
        "What a fixing may bear for good is 4.5 to 5.7 times below the mean of tests. The "
        "European characteristic value is what 95 of 100 exceed, before its own safety factors.",
        "/fastener",
        "NDS ch. 12; EN 1995-1-1 8.7.2",
        3,
    ),
    "insert-judged": Sentence(
        "No code covers threaded inserts. The wood-screw formula on the outer thread, times 0.8, "
        "stands in. Pull one out of an offcut of the slab before you trust it.",
        "/fastener/kind",
        "judgement",
        1,
        short="No code covers threaded inserts: pull one out of an offcut before you trust it.",
    ),
    "no-end-grain-withdrawal": Sentence(
        "The NDS gives no value for pulling this fixing out of end grain. Drive it into side "
        "grain, or use a lag screw or a cross-dowel.",
        "/fastener/grain",
        "NDS 12.2",
        1,
    ),
    "wet-service": Sentence(
        "The wood is above {above:.0f} % when the fixing is driven or in use. Its value is cut "
        "to {wet:g} of the dry one.",
        "/moisture",
        "NDS table 11.3.3 (memory)",
    ),
    "thread-short": Sentence(
        "Only {thread:size} of thread is in the slab. The NDS asks for {diameters:g} diameters, "
        "{least:size}.",
        "/fastener/thread",
        "NDS 12.1 (memory)",
        1,
    ),
    "no-point-on-the-fixed-line": Sentence(
        "No fixing stands on the fixed line; the nearest is {off:size} away. To fix that one "
        "solid, ask again with the fixed line there: every slot counts from it.",
        "/fixed_at",
        "common practice, no source",
        1,
    ),
    "edge-distance": Sentence(
        "A fixing stands {edge:size} from the edge. Keep {least:size} or more, or the edge may "
        "split.",
        "/positions/{index}",
        "EN 1995-1-1 tables 8.2 and 8.6 (memory); the NDS asks for less",
        1,
    ),
    "through": Sentence("The hole comes out of the show face.", "/fastener/thread", "geometry", 1),
    "thin-under-show-face": Sentence(
        "Only {left:size} of wood is left under the show face. With less than {least:size} the "
        "hole may show or break through.",
        "/fastener/thread",
        "common practice, no source",
        1,
    ),
    "slab-thin-for-screw": Sentence(
        "EN 1995 wants {least:size} of wood for a screw this thick. Its value does not cover "
        "this slab.",
        "/fastener/diameter",
        "EN 1995-1-1 table 8.6 (memory)",
    ),
    "forces-weak": Sentence(
        "Forces of solid fixings are known within a factor of 2. Slip in the fixings would "
        "lessen them until they yield; it is left out.",
        "/bars",
        "judgement between published figures on set",
        weak="forces if fixed solid, to a factor of 2",
    ),
    "slot-rule": Sentence(
        "A slot is the shank, 1.25 times the movement still to come either way (or its 90th "
        "percentile, if that is more) and clearance at both ends. Washers snug only, never "
        "tight.",
        "/positions",
        "common practice, no source",
    ),
    "key-ties-only": Sentence(
        "A key ties the two sides of a check; it does not stop the wood from drying. What it "
        "holds back becomes tension that can split the wood elsewhere.",
        "/keys",
        "derived",
        1,
    ),
    "keys-untested": Sentence(
        "No published tests of butterfly keys were found. Their strength is worked out from "
        "clear wood and a perfect fit. Divide by 4.5 for what to rely on.",
        "/keys",
        "judgement",
        weak="the strength of keys (no tests found)",
    ),
    "load-across": Sentence(
        "Across the grain a slab is weak. A load on an edge bends it at the support by the same "
        "however far it stands out; stiffness along the grain spreads it.",
        "/overhang",
        "computed; isotropic plate Jaramillo 1950 (memory)",
        3,
    ),
    "clear-wood": Sentence(
        "The strength is that of clear wood, and a third of it is taken as safe. Knots, pith, "
        "checks and steep grain near the support make it weaker. By how much cannot be told from "
        "here.",
        "/slab",
        "judgement",
        1,
        short="Knots, pith, checks or steep grain near the support make it weaker than told.",
    ),
    "checked-overhang": Sentence(
        "A check runs along the overhang, and nobody knows how much wood is left: nothing is "
        "promised.",
        "/checked",
        "judgement",
        1,
    ),
    "sags-under-load": Sentence(
        "It gives more than {most:size} under the load.",
        "/overhang",
        "judgement",
    ),
    "holdings-usual": Sentence(
        "Other holdings are judged by usual sizes. Their travel must be 1.25 times the movement "
        "and 1 mm at least. Figure-eights are for tops up to 457 mm (18 in) wide. Glue only the "
        "middle peg of a breadboard end, or the middle 50 mm (2 in) of a batten. A sliding "
        "dovetail batten has all the travel it wants; stop it 15-25 mm (5/8-1 in) short of the "
        "edges.",
        "/positions",
        "common practice, no source; trade press (printed)",
    ),
    "key-pocket": Sentence(
        "Round the pocket's corners to 3 mm (1/8 in) or more, and drill a hole at the check's "
        "tip. Let the key in from the side that opens, a third to a half of the thickness deep. "
        "Deeper gains nothing in a free slab. Have it as dry as the slab will ever be. Where the "
        "sides of a check were closed and press on each other, a key bears some 1.7 times as "
        "much.",
        "/keys",
        "common practice, no source; plane finite elements (computed)",
    ),
    "key-pith-unknown": Sentence(
        "You did not say where the pith lies. It is taken as outside, where drying does not open "
        "a check of a free slab. With the pith inside, keys bear far more: look at the end.",
        "/slab/pith",
        "derived",
        1,
        short="You did not say where the pith lies. If it is inside, keys bear far more: look.",
    ),
    "boxed-heart-held": Sentence(
        "The pith is in the slab and the slab is held flat. Drying then asks ten times as much "
        "of the keys as in a free slab. Key it and leave it free to cup, or hold it flat and "
        "leave the check alone.",
        "/keys",
        "plane finite elements (computed)",
        1,
    ),
    "key-grain": Sentence(
        "The key's grain runs along the check, so it breaks at its waist like a biscuit. Turn it "
        "so that its grain crosses the check.",
        "/keys/grain",
        "common practice, no source",
        1,
    ),
    "key-strength-estimated": Sentence(
        "The strengths of these woods are not listed. They are predicted from specific gravity.",
        "/keys/species",
        "Wood Handbook FPL-GTR-190 Table 5-11a (memory)",
        weak="the woods' strength (not listed)",
    ),
    "bar-overloaded": Sentence(
        "The bars would bear {stress:megapascal}. Their usual kind bends for good or breaks at "
        "{yields:megapascal}. Take a heavier section, or more of them.",
        "/bars",
        "EN 10025-2, EN 755-2, EN 338 (memory)",
        1,
    ),
    "bars-slide": Sentence(
        "The bars must slide along the slab: fixings in slots, washers snug, no glue. Fixed "
        "solid they would split it.",
        "/bars",
        "common practice, no source",
        1,
    ),
    "bar-forces-weak": Sentence(
        "Moments and pulls are known within a factor of 2. They are largest in the first season. "
        "Then creep lets most of them go, and the cup with it.",
        "/bars",
        "judgement between published figures on set",
        weak="moments and pulls, to a factor of 2",
    ),
    "pull-by-contact": Sentence(
        "Pulls come from the slab lifting off the bar beside each fixing. The least they can be "
        "is three moments over the distance between the outermost fixings.",
        "/bars/fixings",
        "derived; fixing stiffness from European approvals of screws (memory)",
    ),
    "cupped-beyond-the-limit": Sentence(
        "The slab is cupped by more than the limit today. Bars packed out to the cup keep it as "
        "it is. Leave the packing out, or ask how to flatten it first.",
        "/limit",
        "derived",
        1,
    ),
    "bars-draw-flat": Sentence(
        "The bars are straight, so screwing them on draws today's cup toward flat. Wood and "
        "fixings bear that from the first day. Tighten from the middle outward, a little a week. "
        "Where the cup is to stay, pack the bars out (shimmed).",
        "/bars/shimmed",
        "derived; common practice",
        1,
        short="Straight bars draw today's cup flat: tighten from the middle, a little a week.",
    ),
    "bars-shimmed": Sentence(
        "The bars are packed out to today's cup. They bear only what it changes by.",
        "/bars/shimmed",
        "derived",
    ),
    "edge-beyond-fixing": Sentence(
        "The edge stands {beyond:size} beyond the last fixing and stays up by {rise:size}. With "
        "{farthest:size} or less it stays within half a millimetre (1/64 in).",
        "/bars/fixings",
        "derived",
        1,
    ),
    "thread-clipped": Sentence(
        "The thread is {thread:size} long, but only {wood:size} of wood is there to hold it.",
        "/fastener/thread",
        "geometry",
        1,
    ),
    "end-distance": Sentence(
        "The fixings nearest the end grain stand {end:size} from it. Keep {least:size} or more, "
        "or the end may split.",
        "/bars/along",
        "EN 1995-1-1 table 8.6 (memory); inserts by common practice",
        1,
    ),
    "en1995-not-along": Sentence(
        "EN 1995 covers screws at 30 degrees or more to the grain. It has no value for end grain.",
        "/fastener/grain",
        "EN 1995-1-1 8.7.2 (memory)",
    ),
    "bars-far-apart": Sentence(
        "The bars stand {apart:size} apart, but the hold of a bar fades over about {reach:size} "
        "of length. The middle between them is on its own.",
        "/bars/along",
        "derived; shear moduli of Wood Handbook Table 5-1",
        1,
    ),
    "groove-weakens": Sentence(
        "The grooves take {taken:.0f} % of the slab's stiffness across. They leave {rest:.0f} % "
        "of its strength along the grain where they cross: mind spans, and how you lift it.",
        "/bars/recess",
        "derived",
        1,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "structure": Sentence(
        "Structural or overhead use needs a licensed engineer. Where local codes ask for more, "
        "or for something else, they win.",
        rank=1,
        short="Structural or overhead use: only with a licensed engineer; local codes win.",
    ),
    "people": Sentence(
        "Keep people, glass and stone from under and over a slab that is being fixed, pulled "
        "flat or tried. A fixing or the wood can let go without warning.",
        rank=1,
        short="Keep people, glass and stone from under and over it: it can let go at once.",
    ),
    "clamps": Sentence(
        "Clamps, cauls and screws that pull a slab flat hold it like a spring. Tighten and "
        "release them little by little in turn, stand aside, and wear eye protection.",
        rank=1,
        short="Clamps hold like springs: ease them in turn, stand aside, protect your eyes.",
    ),
    "dust": Sentence(
        "Drilling and grooving make dust and chips: wear eye protection and a dust mask.",
        rank=3,
        short="Drilling and grooving: eye protection and a dust mask.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {}

# What parts of a sentence are called, by their codes.
PILOT: Final = {
    "lag-screw": "for the thread; the plain shank wants a hole of its own size; soap or wax it",
    "insert": "a guide only (practice): drill what its maker says",
    "nail": "to keep the wood from splitting",
    "dense-wood": "about 90 % of the root",
    "middling-wood": "about 70 % of the root",
    "soft-wood": "may be driven without one; a hole keeps it true",
}
FIRST: Final = {
    "wood-splits": "the wood splits",
    "wood-crushes": "the wood crushes",
    "fixings-sideways": "the fixings give way sideways",
    "fixings-pulled": "the fixings pull out",
    "keys-shear": "the keys shear",
}
YIELDS: Final = {
    "wood-crushes": "the wood crushes along the whole fixing",
    "plate-crushes": "the plate crushes",
    "rocks": "the fixing rocks in wood and plate",
    "bends-at-the-face": "the fixing bends at the wood's face",
    "bends-in-the-plate": "the fixing bends in the plate",
    "bends-twice": "the fixing bends twice",
}
WEAKEST: Final = {
    "key-parts": "the key parts at its waist",
    "wings-shear": "the key's wings shear off",
    "slab-shears": "the slab shears out beside the key",
    "slab-crushes": "the slab crushes under the key's flanks",
    "slab-splits": "the slab splits from the pocket's end",
}
# What other ways of holding are called, and what their size is.
HOLDING: Final = {
    "figure-eight-cross": ("figure-eight, rail across", "radius"),
    "figure-eight-along": ("figure-eight, rail along", "radius"),
    "clip-along": ("Z clip, rail along", "engagement"),
    "clip-cross": ("Z clip, slot in a rail across", "slot"),
    "button": ("button, rail along", "tongue"),
    "slotted-angle": ("slotted angle", "slot"),
    "wide-hole": ("wide hole, washer", "hole"),
    "breadboard": ("breadboard end, outer pegs", "slot"),
}
BEARS: Final = {
    "bears-it": "bears it",
    "not-at-a-corner": "not at a corner",
    "does-not": "does not bear it",
}
PART: Final = {
    "thread-draws": "the thread draws out of the wood",
    "edge-splits": "the wood splits toward the edge or end",
    "bolt-parts": "the bolt or the screw's core parts",
    "head-draws-through": "the head draws through the bar",
}
VERDICT: Final = {
    "hold": "holds",
    "without-margin": "holds without margin",
    "may-tear": "may tear loose",
    "will-tear": "will tear loose",
}
