"""Pit-wall worksheets: one module a topic, pure functions from plain inputs to a `Worksheet`."""
