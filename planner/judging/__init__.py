"""What the readings show: patterns, wear, recorded pressures, outcomes."""
