"""The guided day: what a crew uses beside the car, one question at a time.

The plan file is the only truth: every answer that counts is stored through `planner.storage.plans`
at once, and where to go on is read from the plan each time. A draft beside it keeps a half-typed
run.
"""
