"""Floor 6: figures, pages and panels."""
