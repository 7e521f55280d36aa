"""Floor 2: how a kit turns a raw reading into a level."""
