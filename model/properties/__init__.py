"""What things are: air, wood and its sorption, finishes, strength.

Belongs here: what is true of a thing wherever it stands and whatever is done to it.  Imports
nothing of the other floors.
"""
