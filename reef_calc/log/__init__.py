"""Floor 3: the tank folder."""
