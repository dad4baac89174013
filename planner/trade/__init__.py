"""The words of the trade: corners, units, knobs, figures, cautions, refusals."""
