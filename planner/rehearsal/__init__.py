"""Rehearsal: a simulated car to try a day on, with physics of its own and its truth hidden.

It shares nothing with the planner's learning or with the formulas of `planner.chassis`; the two
meet in the car file and in the rules file, by whose bands both go.

From the ground up: `slip` is force against slip of one tire, `gas` what air does to it, `tread` how
its tread takes load, `heat` where its heat goes. `stance` is the body on springs and tires,
`steady_turn` the balance of the turn, `pace` how hard the tires then work, `laps` what that makes
of them. `truth` is what is hidden, `good_setup` what a crew would find.
"""
