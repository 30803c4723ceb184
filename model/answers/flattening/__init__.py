"""What water, clamps and time make of a cup, beside the other ways of dealing with it."""
