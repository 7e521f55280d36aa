"""Everything a tank folder holds, written for other programs, and read back cell for cell."""
