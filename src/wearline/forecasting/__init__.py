"""Wear forecast: how fast pads wear, when a limit is met, how sure that is.

Modules
-------
nested
    Exact Gaussian model of effects inside effects, no matrices.
padsets, sites, wear_model, holdout
    Readings of pad sets, what they say of a set's rate, and the model of a whole fleet.
explanations, changes, telling
    Outliers and pad changes that nobody recorded, with their probability.
clocks, findings, spots, swaps, observations
    From kept inspections to a table; what is wrong with them, said and kept out.
prior, settings
    What is known before any reading.
remaining, other_clocks, outlook
    Distance to each limit with its range; which part decides.
intervals, comparing, life_data
    Inspection distance with a risk, groups against each other, lives of parts.
"""
