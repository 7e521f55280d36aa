"""Floor 5: two kits on the same water."""
