"""The plan: its steps, the machine, the fold over the steps, moves and amendments."""
