"""The science of Stillwood: air, sorption, rooms, transport, shape and what follows from them.

Conventions of every public function here: moisture content and relative humidity in percent,
temperature in degrees Celsius, pressure in pascal, lengths in metres, force in newton, stress in
pascal, time in days unless a name says otherwise.  Scalars or numpy arrays, broadcast together.
"""

MODEL_VERSION = "2.0.0"
