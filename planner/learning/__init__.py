"""What is learned of how this car answers, and what the rest of the day may bring."""
