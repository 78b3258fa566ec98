"""What the parts of an air disc brake do, as pure functions in SI units.

Every function takes floats or numpy arrays (shapes broadcast) and lets NaN, a value nobody measured, pass
through. Numbers that are nobody's law (lever ratio, specific wear, cooling) stand in frozen dataclasses
whose docstrings name their source and status; the functions themselves take them as arguments.

Modules
-------
domain, elementwise
    Ranges in which the formulas hold, and the few operations that floats and arrays share.
tilt, guide_pins, indicator, stroke
    Geometry of one wheel end: guide play and pad taper, wear indicator, stroke budget.
chamber, force, states
    From air pressure to force at the tyre, with the states a wheel end can be in.
axle_loads, braking, balance
    The vehicle: axle loads, braking rate, imbalance, capability left, tractor against trailer.
stopping, road_tests, descent
    Stopping distance with its range, figures of road tests, speed on a grade.
materials, cooling, rotor_heat (slab_modes, heat_run and heat_types inside), duty, duty_tests
    Heat in the rotor and the duties that bring it there.
drag, pad_wear
    Dragging brakes, and what heat and duty do to pad life.
"""
