"""Treadgate: reads a stock car's tire temperatures and plans the next change."""

__version__ = "0.1.0"
