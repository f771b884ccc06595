"""A finished plan as data: what to buy, where every piece lies, and how it is cut in order."""
