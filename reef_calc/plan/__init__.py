"""Floor 5: from a rate to what to do."""
