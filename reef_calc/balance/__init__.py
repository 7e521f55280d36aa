"""Floor 4: from a reading history to a rate."""
