"""Tests of the comparison of kits."""
