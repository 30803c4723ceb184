"""Parts of a question that several questions share, each read into the model's object.

`slab`, `moisture`, `faces`, `room`: what a maker tells of the wood and of where it stands;
`holding`: fixings, bars, keys, a cup; `evidence`: readings of meters, scales and ovens.
"""
