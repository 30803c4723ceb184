"""One question each: what it makes of a slab's behaviour, in figures and codes.

Belongs here: what one question alone works out.  No answer imports another.
"""
