"""Which change to make: aims, outlook, sizes, riding trims, candidates, the day ahead."""
