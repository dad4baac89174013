"""Rehearsal: a simulated car to try a day on, with physics of its own and its truth hidden.

It shares nothing with the planner's learning; the two meet in the formulas of `planner.chassis`
and in the rules file.
"""
