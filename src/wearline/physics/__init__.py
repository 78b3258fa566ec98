"""What the parts of an air disc brake do, as pure functions in SI units.

Every function takes floats or numpy arrays (shapes broadcast) and lets NaN, a value nobody measured, pass
through. Numbers that are nobody's law (lever ratio, specific wear, cooling) stand in frozen dataclasses
whose docstrings name their source and status; the functions themselves take them as arguments.

Modules
-------
domain, elementwise
    Ranges in which the formulas hold, and the few operations that floats and arrays share.
tilt, indicator, stroke
    Geometry of one wheel end: guide play and pad taper, wear indicator, stroke budget.
chamber, force
    From air pressure to force at the tyre, with the states a wheel end can be in.
braking, stopping, descent
    The vehicle: braking rate, balance, stopping distance, speed on a grade.
rotor_heat, duty, drag, pad_wear
    Heat in the rotor, duty cycles, dragging brakes and what heat does to pad life.
"""
