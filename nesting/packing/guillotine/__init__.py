"""Layouts cut across first: bands from edge to edge, columns within a band, pieces within a column.

Three stages of cuts, each from edge to edge of what is cut: across the strip, lengthwise within a band,
across within a column; a piece narrower than its column is then trimmed.
"""
