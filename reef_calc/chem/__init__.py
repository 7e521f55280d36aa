"""Floor 1: units, substances and sea water."""
