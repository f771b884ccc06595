"""Lengths on hand: several strips of fixed length, optional parts, objectives one after the other."""
