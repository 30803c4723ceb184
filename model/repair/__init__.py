"""What to do about a slab that moved, or that is not in its room yet: steps in order.

`story` is what a maker tells, `happened` what probably lies behind it, `steps` the order of the
work as a table, `ways` how a cup that stays is dealt with; `plan` picks the steps and asks the
model of the other questions for their figures.  There is no physics here.
"""
