"""What a slab does there: moisture through it, its size and shape, stress, what holds it.

Belongs here: the engine, whatever more than one question follows.  Stands on `surroundings` and
`properties`; never imports an answer.
"""
