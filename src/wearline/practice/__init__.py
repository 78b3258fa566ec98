"""Wheel ends that do not exist, with a known truth: for drills, demonstrations and the proof of a diagnosis.

Every number that shapes a simulated reading is expert judgement unless its line in ``data/*.toml`` says
otherwise; none of them is a limit. What it does and what it leaves out: ``docs/explanation/simulator.md``.

Modules
-------
simulate, life, fleet
    The doors: one case, the life of one vehicle, the demonstration fleet.
specification, faults, recording, cases
    What a case says: vehicle, hidden causes, how readings are written down; typical and drawn cases.
parameters, numbers
    Numbers of the mechanisms and duties, from the data files.
layout, conditions, simulation
    Many vehicles as arrays: what never changes, mechanical quantities, time.
forces, work, wearing, wear_state
    How brakes share the work, what heat and drag follow, what wears.
appearance, tester, looks, gauging, slips, documents
    From the hidden state to an inspection file: true figures, words, gauges, slips of the pen.
"""
