"""Why a slab moved: the moisture it must have had, what bent it, and what is still to come.

The slab's history is followed by the course engine with everything that is not known as a
parameter; width, cup and moisture seen along the way decide between them (least squares with
priors, then draws).  For every draw the cup is taken apart: what the rings make of the mean
moisture, what a wet core or gradient leaves in a slab planed unequally, what unlike faces add, and
what stress locked in or held in adds last.

`history` is what is known, `formula` and `clues` what a width, a strip or a key tell by themselves;
`tried` and `fit` are the histories that are tried, `causes`, `to_come` and `measure` what is read
from those that fit, and `diagnose` is the whole.
"""
