"""Foreign spreadsheets: reading any log of a keeper, showing what was understood, asking the rest."""
