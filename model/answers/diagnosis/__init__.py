"""Why a slab moved: the moisture it must have had, what bent it, and what is still to come.

For every cause makers have there are stories: the history as told but for one thing.  Each is
followed by the course engine with everything that is not known drawn, and weighed by what was seen
of width, cup and moisture along the way.  For every draw the cup is also taken apart: what the
rings make of the mean moisture, what a wet core leaves in a slab planed unequally, what unlike
faces add, what stress locked in adds, and what holds it or is let go.

`history` is what is known, `formula` and `clues` what a width, a strip, a key or a look tell by
themselves; `stories` are the causes, `tried` the model of one, `posterior` how they are weighed;
`causes`, `to_come` and `measure` what is read from those that fit, and `diagnose` is the whole.
"""
