"""The packing engine: whole numbers only, nothing of windows or units."""
