"""Tests of reef_calc; a package of its own, since other packages install one of the same name."""
