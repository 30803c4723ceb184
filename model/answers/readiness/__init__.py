"""When a slab will be ready, from dated readings or weights of it where it stands.

The present profile and the rate at which moisture moves are fitted together: least squares on the
transport model with a prior from the species, the Gauss-Newton posterior as a proposal, and draws
from it weighted by how well each reproduces the readings.  The draws are then followed on until
they are within the asked distance of where the slab is going.

`seen` is what is known, `fit` the fit, `ready` the whole.
"""
