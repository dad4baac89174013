"""Statics and physics of the car: one module a topic, pure functions, units in every docstring."""
