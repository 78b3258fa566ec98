"""Standard uncertainty, conformity with a limit, and planes through measured points.

The modules load numpy (all but ``rules``); import from them directly:

- ``wearline.uncertainty.gum``: combine and expand standard uncertainties.
- ``wearline.uncertainty.conformity``: within or beyond a limit, and with which risk.
- ``wearline.uncertainty.plane``: least squares and the plane through the four corners of a pad.
- ``wearline.uncertainty.rules``: sense of a limit and decision rule, without numpy.
- ``wearline.uncertainty.normal``: the normal distribution without loading a statistics library.
"""
