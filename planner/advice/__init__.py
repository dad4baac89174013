"""Which change to make: aims, outlook, riding trims, candidates, the day ahead."""
