"""Sentences on what holds a slab: fixings, bars, keys."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence

NOTES: Final[dict[str, Sentence]] = {
    "built-in-safety": Sentence(
        "The allowable withdrawal is 4.5 to 5.7 times below the mean of tests; the European "
        "characteristic value is what 95 of 100 exceed, before its own safety factors.",
        "/fastener",
        "NDS ch. 12; EN 1995-1-1 8.7.2",
        3,
    ),
    "insert-judged": Sentence(
        "No code covers threaded inserts: the wood-screw formula on the outer thread x 0.8 stands "
        "in. Pull one out of an offcut of the slab before you trust it.",
        "/fastener/kind",
        "judgement",
        1,
    ),
    "no-end-grain-withdrawal": Sentence(
        "The NDS gives no withdrawal value for this fixing in end grain: drive it into side grain, "
        "or use a lag screw or a cross-dowel.",
        "/fastener/grain",
        "NDS 12.2",
        1,
    ),
    "wet-service": Sentence(
        "Wood above {above:.0f} % when driven or in use: the value is cut to {wet:g} of the dry "
        "one.",
        "/moisture",
        "NDS table 11.3.3 (memory)",
    ),
    "thread-short": Sentence(
        "The thread in the slab is {thread:size}, less than the {diameters:g} diameters, "
        "{least:size}, the NDS asks for.",
        "/fastener/thread",
        "NDS 12.1 (memory)",
        1,
    ),
    "no-point-on-the-fixed-line": Sentence(
        "No fixing stands on the fixed line; the nearest is {off:size} away. Fix that one solid "
        "only if you ask again with the fixed line there: every slot counts from it.",
        "/fixed_at",
        "common practice, no source",
        1,
    ),
    "edge-distance": Sentence(
        "This fixing stands {edge:size} from the edge; at least {least:size} keeps the edge from "
        "splitting.",
        "/positions/{index}",
        "EN 1995-1-1 tables 8.2 and 8.6 (memory); the NDS asks for less",
        1,
    ),
    "through": Sentence("The hole comes out of the show face.", "/fastener/thread", "geometry", 1),
    "thin-under-show-face": Sentence(
        "Only {left:size} of wood is left under the show face; with less than {least:size} the "
        "hole may telegraph or break through.",
        "/fastener/thread",
        "common practice, no source",
        1,
    ),
    "slab-thin-for-screw": Sentence(
        "EN 1995 wants {least:size} of wood for a screw this thick in withdrawal; its value does "
        "not cover this slab.",
        "/fastener/diameter",
        "EN 1995-1-1 table 8.6 (memory)",
    ),
    "forces-weak": Sentence(
        "Forces of solid fixings are known within a factor of 2; slip in the fixings, which would "
        "lessen them until they yield, is left out.",
        "/bars",
        "judgement between published figures on set",
    ),
    "slot-rule": Sentence(
        "A slot is the shank, 1.25 times the movement still to come either way (or its 90th "
        "percentile, where that is more) and the clearance at both ends. Washers snug only, never "
        "tight.",
        "/positions",
        "common practice, no source",
    ),
    "key-ties-only": Sentence(
        "A key ties the two sides of a check; it does not stop the wood from drying. What it keeps "
        "from opening becomes tension that can split the wood elsewhere.",
        "/keys",
        "derived",
        1,
    ),
    "keys-untested": Sentence(
        "No published tests of butterfly keys were found: their capacity is worked out from the "
        "strength of clear wood, a perfect fit assumed; divide by 4.5 for what to rely on.",
        "/keys",
        "judgement",
    ),
    "load-across": Sentence(
        "Across the grain a slab is weak: a load on an edge bends it at the support by the same "
        "however far it stands out, spread along the grain by its stiffness there.",
        "/overhang",
        "computed; isotropic plate Jaramillo 1950 (memory)",
        3,
    ),
    "clear-wood": Sentence(
        "Strengths are those of clear wood, a third of them taken as safe: knots, pith, checks and "
        "steep grain near the support make it weaker by a share that cannot be told from here.",
        "/slab",
        "judgement",
        1,
    ),
    "checked-overhang": Sentence(
        "A check along the overhang leaves an unknown part of the thickness: nothing is promised.",
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
        "Other holdings are judged by usual sizes, travel at least 1.25 times the movement and "
        "1 mm; figure-eights for tops up to 457 mm wide only. A breadboard end's middle peg or a "
        "batten's middle 50 mm alone is glued; a sliding dovetail batten has all the travel it "
        "wants and stops 15-25 mm short of the edges.",
        "/positions",
        "common practice, no source; trade press (printed)",
    ),
    "key-pocket": Sentence(
        "Round the pocket's corners (3 mm and more), drill a hole at the check's tip, let the key "
        "in a third to a half of the thickness from the side that opens, as dry as the slab will "
        "ever be; deeper gains nothing in a free slab. In a check closed when keyed, whose sides "
        "press on each other, it bears some 1.7 times as much.",
        "/keys",
        "common practice, no source; plane finite elements (computed)",
    ),
    "key-pith-unknown": Sentence(
        "You did not say where the pith lies: taken as outside, where drying does not open "
        "a check of a free slab. With the pith inside, keys bear far more: look at the end.",
        "/slab/pith",
        "derived",
        1,
    ),
    "boxed-heart-held": Sentence(
        "The pith is in the slab and the slab is held flat: drying then asks ten times as much of "
        "the keys as in a free slab. Key it and leave it free to cup, or hold it flat and leave "
        "the check alone.",
        "/keys",
        "plane finite elements (computed)",
        1,
    ),
    "key-grain": Sentence(
        "The key's grain runs along the check: it breaks at its waist like a biscuit. Turn it so "
        "that its own grain crosses the check.",
        "/keys/grain",
        "common practice, no source",
        1,
    ),
    "key-strength-estimated": Sentence(
        "Strengths not listed for these woods are predicted from specific gravity.",
        "/keys/species",
        "Wood Handbook FPL-GTR-190 Table 5-11a (memory)",
    ),
    "bar-overloaded": Sentence(
        "The bars would bear {stress:megapascal}, more than the {yields:megapascal} that their "
        "usual kind bears without bending for good or breaking: take a heavier section, or more "
        "of them.",
        "/bars",
        "EN 10025-2, EN 755-2, EN 338 (memory)",
        1,
    ),
    "bars-slide": Sentence(
        "The bars are taken to slide along the slab: fixings in slots, washers snug, no glue. "
        "Fixed solid they would split it; see what a solid fixing would do.",
        "/bars",
        "common practice, no source",
        1,
    ),
    "bar-forces-weak": Sentence(
        "Moments and pulls are known within a factor of 2. They are largest in the first season; "
        "set lets most of them go, and the cup with it.",
        "/bars",
        "judgement between published figures on set",
    ),
    "pull-by-contact": Sentence(
        "Pulls come from the slab lifting off the bar beside each fixing; three moments over the "
        "distance between the outermost fixings is the least it can be.",
        "/bars/fixings",
        "derived; fixing stiffness from European approvals of screws (memory)",
    ),
    "cupped-beyond-the-limit": Sentence(
        "The slab is cupped by more than the limit today. Bars packed out to it keep it as it is; "
        "leave the packing out, or ask how to flatten it first.",
        "/limit",
        "derived",
        1,
    ),
    "bars-draw-flat": Sentence(
        "The bars are straight: screwing them on draws the cup of today toward flat, and wood and "
        "fixings bear that from the first day. Tighten from the middle outward, a little a week; "
        "pack them out (shimmed) where the cup is to stay.",
        "/bars/shimmed",
        "derived; common practice",
        1,
    ),
    "bars-shimmed": Sentence(
        "The bars are packed out to the cup of today: they bear only what it changes by.",
        "/bars/shimmed",
        "derived",
    ),
    "edge-beyond-fixing": Sentence(
        "The edge {beyond:size} beyond the last fixing stays up by {rise:size}; within "
        "{farthest:size} it stays within half a millimetre.",
        "/bars/fixings",
        "derived",
        1,
    ),
    "thread-clipped": Sentence(
        "The thread is {thread:size} long, but there are {wood:size} of wood: so much of it holds.",
        "/fastener/thread",
        "geometry",
        1,
    ),
    "end-distance": Sentence(
        "The fixings nearest the end grain stand {end:size} from it; at least {least:size} keeps "
        "the end from splitting.",
        "/bars/along",
        "EN 1995-1-1 table 8.6 (memory); inserts by common practice",
        1,
    ),
    "en1995-not-along": Sentence(
        "EN 1995 covers screws at 30 degrees and more to the grain: it has no value for end grain.",
        "/fastener/grain",
        "EN 1995-1-1 8.7.2 (memory)",
    ),
    "bars-far-apart": Sentence(
        "Bars {apart:size} apart leave the middle between them on its own: a bar's hold fades over "
        "about {reach:size} of length.",
        "/bars/along",
        "derived; shear moduli of Wood Handbook Table 5-1",
        1,
    ),
    "groove-weakens": Sentence(
        "The grooves take {taken:.0f} % of the slab's stiffness across and leave {rest:.0f} % of "
        "its bending strength along the grain where they cross: mind spans and how it is lifted.",
        "/bars/recess",
        "derived",
        1,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "structure": Sentence(
        "Not for structural or overhead use without a licensed engineer; where local codes ask for "
        "more or for something else, they win.",
        rank=1,
        short="Structural or overhead use: only with a licensed engineer; local codes win.",
    ),
    "people": Sentence(
        "Keep glass, stone and people from under and over a slab that is being fixed, pulled flat "
        "or tried: a fixing or the wood can let go without warning.",
        rank=1,
        short="Keep people, glass and stone from under and over it: it can let go at once.",
    ),
    "clamps": Sentence(
        "Clamps, cauls and screws that pull a slab flat hold it like a spring: tighten and release "
        "them little by little in turn, stand aside, wear eye protection.",
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
