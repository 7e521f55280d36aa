"""Atoms and molar masses of chemical formulas."""

from __future__ import annotations

from collections import Counter
from functools import cache

from reef_calc.errors import InputError


@cache
def _parsed(formula: str) -> tuple[dict[str, float], float]:
    # Imported at first use: ``import reef_calc`` must stay cheap.
    from periodictable import formula as parse

    # Split here because the library reads the point of CaCl2.2H2O as a decimal point: 2.2 Cl.
    parts = formula.replace("·", ".").split(".")
    try:
        parsed = [parse(part) for part in parts]
    except Exception as error:  # the parser raises a class of its own for every kind of slip
        raise _not_a_formula(formula) from error
    if not all(part.atoms for part in parsed):
        raise _not_a_formula(formula)
    atoms: Counter[str] = Counter()
    for part in parsed:
        atoms.update({str(atom): float(count) for atom, count in part.atoms.items()})
    return dict(atoms), sum(float(part.mass) for part in parsed)


def _not_a_formula(text: str) -> InputError:
    return InputError(
        "a chemical formula such as CaCl2.2H2O",
        text,
        "Write element symbols with numbers, water of crystallisation after a point.",
    )


def molar_mass(formula: str) -> float:
    """Return the mass of one mole of a formula.

    M = Σ n·A

    Parameters
    ----------
    formula : str
        Element symbols and numbers; water of crystallisation after a point. No charges.

    Returns
    -------
    float
        Molar mass (g/mol).

    Raises
    ------
    InputError
        If the text cannot be read as a formula.

    Notes
    -----
    Standard atomic weights hold for ordinary materials, not for enriched isotopes.

    Examples
    --------
    >>> round(molar_mass("CaO"), 3), round(molar_mass("CaCl2.2H2O"), 3)
    (56.077, 147.008)

    References
    ----------
    Prohaska et al. (2022), Standard atomic weights of the elements 2021, Pure Appl. Chem. 94, 573,
    abridged values, as the package periodictable carries them.
    """
    return _parsed(formula)[1]


def atom_counts(formula: str) -> dict[str, float]:
    """Return how many atoms of each element a formula holds.

    Parameters
    ----------
    formula : str
        Element symbols and numbers; water of crystallisation after a point. No charges.

    Returns
    -------
    dict of str to float
        Atoms per formula unit, by element symbol.

    Raises
    ------
    InputError
        If the text cannot be read as a formula.

    Examples
    --------
    >>> atom_counts("Ca(OH)2") == {"Ca": 1.0, "O": 2.0, "H": 2.0}
    True
    """
    return dict(_parsed(formula)[0])
