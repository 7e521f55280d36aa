"""What the components of a mixture believe has happened: a tree of events, shared where they agree.

A component that survives has few events among many readings. Only these are kept, each pointing to
the one before it, so that memory follows what is believed and not readings times components.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
TIDY_AFTER = 40_000


class EventTree:
    """Events of all living components; the first ``roots`` nodes stand for the static grid.

    Parameters
    ----------
    roots : int
        Number of pairs of the static grid.
    """

    def __init__(self, roots: int) -> None:
        self._roots = roots
        self._readings = [np.full(roots, -1, dtype=np.int32)]
        self._branches = [np.zeros(roots, dtype=np.int8)]
        self._parents = [np.full(roots, -1, dtype=np.intp)]
        self._size = roots
        self._tidy_at = TIDY_AFTER

    def grow(self, reading: int, branches: Indices, leaves: Indices) -> None:
        """Add one event for each component whose branch is not 0.

        Parameters
        ----------
        reading : int
            Index of the reading.
        branches : array (m,)
            Branch of each surviving component.
        leaves : array (m,)
            Last node of each; written over in place.
        """
        hit = branches.nonzero()[0]
        if not hit.size:
            return
        self._readings.append(np.full(hit.size, reading, dtype=np.int32))
        self._branches.append(branches[hit].astype(np.int8))
        self._parents.append(leaves[hit])
        leaves[hit] = np.arange(self._size, self._size + hit.size)
        self._size += hit.size
        if self._size > self._tidy_at:
            self._tidy(leaves)

    def _joined(self) -> tuple[NDArray[np.int32], NDArray[np.int8], Indices]:
        return (
            np.concatenate(self._readings),
            np.concatenate(self._branches),
            np.concatenate(self._parents),
        )

    def _tidy(self, leaves: Indices) -> None:
        """Forget the events of components that died."""
        readings, branches, parents = self._joined()
        alive = np.zeros(self._size, dtype=bool)
        alive[: self._roots] = True
        at = np.unique(leaves)
        while at.size:
            alive[at] = True
            at = np.unique(parents[at])
            at = at[at >= self._roots]
            at = at[~alive[at]]
        place = np.cumsum(alive) - 1
        kept = parents[alive]
        kept[self._roots :] = place[kept[self._roots :]]
        self._readings, self._branches = [readings[alive]], [branches[alive]]
        self._parents = [kept]
        self._size = kept.size
        self._tidy_at = self._size + TIDY_AFTER
        leaves[:] = place[leaves]

    def table(self, leaves: Indices) -> EventTable:
        """Return the events of every component as one table.

        Parameters
        ----------
        leaves : array (m,)
            Last node of each component.

        Returns
        -------
        EventTable
            Rows in no order that matters.
        """
        readings, branches, parents = self._joined()
        component = np.arange(leaves.size)
        at = leaves.copy()
        rows: list[tuple[Indices, NDArray[np.int32], NDArray[np.int8]]] = []
        roots = np.empty(leaves.size, dtype=np.intp)
        while at.size:
            root = at < self._roots
            roots[component[root]] = at[root]
            at, component = at[~root], component[~root]
            rows.append((component, readings[at], branches[at]))
            at = parents[at]
        return EventTable(
            roots=roots,
            component=np.concatenate([r[0] for r in rows]),
            reading=np.concatenate([r[1] for r in rows]).astype(np.intp),
            branch=np.concatenate([r[2] for r in rows]).astype(np.intp),
        )


@dataclass(frozen=True)
class EventTable:
    """Events of the components that survived.

    Attributes
    ----------
    roots : array (m,) of int
        Pair of the static grid of each component.
    component, reading, branch : array (r,) of int
        One row for each event: whose, at which reading, and which branch.
    """

    roots: Indices
    component: Indices
    reading: Indices
    branch: Indices

    def by_reading(self, weights: Floats, branches: tuple[int, ...], n: int) -> Floats:
        """Return the weight of some branches at each reading.

        Parameters
        ----------
        weights : array (m,)
            Weights of the components (share).
        branches : tuple of int
            Branches asked for.
        n : int
            Number of readings.

        Returns
        -------
        numpy.ndarray, shape (n,)
            Probabilities.
        """
        row = np.isin(self.branch, branches)
        found = np.bincount(self.reading[row], weights[self.component[row]], minlength=n)
        return np.asarray(found, dtype=float)

    def having(
        self, branches: tuple[int, ...], first: int = 0, last: int | None = None
    ) -> NDArray[np.bool_]:
        """Return which components have one of some branches within some readings.

        Parameters
        ----------
        branches : tuple of int
            Branches asked for.
        first, last : int, optional
            Index of the first and last reading looked at; all when left out.

        Returns
        -------
        numpy.ndarray, shape (m,)
            True where there is at least one.
        """
        row = np.isin(self.branch, branches) & (self.reading >= first)
        if last is not None:
            row &= self.reading <= last
        found = np.zeros(self.roots.size, dtype=bool)
        found[self.component[row]] = True
        return found
