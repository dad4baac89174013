"""Treadgate: reads a stock car's tire temperatures and plans the next change.

The rooms, from the door to the foundations. A module imports from its own room and from those
below it, never from one above; ``tests/test_rooms.py`` reads this list.

==============  ===================================================================
``commands``    the command line: options in, exit status out
``guide``       the guided day, one question at a time
``report``      HTML and printed pages: the day, the run sheet
``screen``      terminal views
``export``      the status object, CSV, JSON and its schema, next day's car file
``worksheets``  the calculators: what is asked, the equation, what comes out
``rehearsal``   the simulated car, and crews that drive it
``storage``     plans on disk: read, locked, saved, mended
``words``       facts into sentences, once
``review``      the day looked back on: its timeline, two runs, what it has taught
``plan``        steps, machine, fold, moves, amendments
``advice``      aims, outlook, sizes, riding trims, candidates, the day ahead
``judging``     faults expected, patterns, wear, recorded pressures, outcomes
``learning``    beliefs, response, noise of readings, what earlier days taught
``rulebook``    the rules file: read, checked, bands
``car``         the car file, its doubts, what it says of a change
``chassis``     formulas alone, one module a topic
``run``         one run as recorded: readings, cooling, laps, slips; typed or from a file
``files``       file names, whole files, TOML into records
``trade``       corners, knobs, units, figures, cautions, refusals
==============  ===================================================================
"""

import os

__version__ = "0.1.0"

# The matrices here are small: with several threads numpy only waits for itself, most of all on a
# busy machine, and starts later. Must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
