"""Where a slab stands: the calendar, air through time, climates, houses, rooms, logs.

Belongs here: what air surrounds the wood and when.  Stands on `properties`.
"""
