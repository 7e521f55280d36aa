"""Local times and their moments, with the days on which the clock was changed kept apart."""

from __future__ import annotations

import datetime as dt

from reef_calc.log.foreign.outcome import CellTime, Said

_SECOND_OF_OFFSET = dt.timedelta(minutes=1)


class LocalTimes:
    """Local times of one zone; offsets are looked up once a day.

    Parameters
    ----------
    zone : datetime.tzinfo
        The zone.

    Examples
    --------
    >>> from reef_calc.log.times import tank_zone
    >>> times = LocalTimes(tank_zone("Europe/Berlin"))
    >>> times.at(dt.datetime(2026, 2, 1, 14, 30)).iso
    '2026-02-01T14:30'
    """

    def __init__(self, zone: dt.tzinfo) -> None:
        self.zone = zone
        self._offsets: dict[dt.date, dt.timedelta | None] = {}
        self._dates: dict[dt.date, CellTime] = {}

    def day(self, day: dt.date) -> CellTime:
        """Return a day without a time of day.

        Parameters
        ----------
        day : datetime.date
            The day.

        Returns
        -------
        CellTime
            Its moment is 12:00.

        Examples
        --------
        >>> LocalTimes(dt.UTC).day(dt.date(2026, 2, 1)).iso
        '2026-02-01'
        """
        found = self._dates.get(day)
        if found is None:
            noon = dt.datetime.combine(day, dt.time(12), self.zone).astimezone(dt.UTC)
            found = self._dates[day] = CellTime(day.isoformat(), noon, True)
        return found

    def at(self, local: dt.datetime) -> CellTime:
        """Return a local time without an offset.

        Parameters
        ----------
        local : datetime.datetime
            Without a zone.

        Returns
        -------
        CellTime
            Where the clock showed that time twice, without ``iso``; where it never did, with the
            offset from before the change, flagged.

        Examples
        --------
        >>> from reef_calc.log.times import tank_zone
        >>> times = LocalTimes(tank_zone("Europe/Berlin"))
        >>> times.at(dt.datetime(2026, 3, 29, 2, 30)).iso, times.at(dt.datetime(2026, 10, 25, 2, 30)).iso
        ('2026-03-29T02:30+01:00', '')
        """
        day = local.date()
        offset = self._offsets[day] if day in self._offsets else self._offset(day)
        if offset is not None:
            return CellTime(_iso(local), (local - offset).replace(tzinfo=dt.UTC))
        first, second = (local.replace(tzinfo=self.zone, fold=fold) for fold in (0, 1))
        before, after = first.utcoffset() or dt.timedelta(), second.utcoffset() or dt.timedelta()
        if before == after:
            return CellTime(_iso(local), (local - before).replace(tzinfo=dt.UTC))
        if before > after:
            return CellTime()
        moved = first.astimezone(dt.UTC).astimezone(self.zone)
        reason = (
            f"The clock went forward on {local.date().isoformat()} and never showed "
            f"{local:%H:%M}. It is kept as if the clock had not been changed yet."
        )
        said = Said(
            "flagged",
            "MISSING_HOUR",
            reason,
            "Check the time.",
            likely=_iso(moved.replace(tzinfo=None)),
        )
        return self.at_offset(local, before, (said,))

    def folded(self, local: dt.datetime, second: bool) -> CellTime:
        """Return a time that the clock showed twice.

        Parameters
        ----------
        local : datetime.datetime
            Without a zone.
        second : bool
            Whether it was shown the second time, after the clock went back.

        Returns
        -------
        CellTime
            With its offset.

        Examples
        --------
        >>> from reef_calc.log.times import tank_zone
        >>> LocalTimes(tank_zone("Europe/Berlin")).folded(dt.datetime(2026, 10, 25, 2, 30), True).iso
        '2026-10-25T02:30+01:00'
        """
        aware = local.replace(tzinfo=self.zone, fold=int(second))
        return self.at_offset(local, aware.utcoffset() or dt.timedelta(), ())

    def at_offset(
        self, local: dt.datetime, offset: dt.timedelta, said: tuple[Said, ...]
    ) -> CellTime:
        """Return a local time, written with its offset.

        Parameters
        ----------
        local : datetime.datetime
            Without a zone.
        offset : datetime.timedelta
            From UTC, in whole seconds.
        said : tuple of Said
            What is said of it.

        Returns
        -------
        CellTime
            In UTC where the offset has seconds, as before the time of zones.

        Examples
        --------
        >>> times = LocalTimes(dt.UTC)
        >>> times.at_offset(dt.datetime(2026, 2, 1, 14), dt.timedelta(hours=1), ()).iso
        '2026-02-01T14:00+01:00'
        """
        utc = (local - offset).replace(tzinfo=dt.UTC)
        if offset % _SECOND_OF_OFFSET:
            return CellTime(f"{_iso(utc.replace(tzinfo=None))}Z", utc, said=said)
        minutes = round(offset.total_seconds() / 60)
        sign, size = ("-", -minutes) if minutes < 0 else ("+", minutes)
        return CellTime(f"{_iso(local)}{sign}{size // 60:02d}:{size % 60:02d}", utc, said=said)

    def of_moment(self, utc: dt.datetime) -> CellTime:
        """Return a moment on the tank's clock.

        Parameters
        ----------
        utc : datetime.datetime
            In UTC.

        Returns
        -------
        CellTime
            With an offset only where the clock showed that time twice.

        Examples
        --------
        >>> from reef_calc.log.times import tank_zone
        >>> moment = dt.datetime(2026, 2, 1, 13, 30, tzinfo=dt.UTC)
        >>> LocalTimes(tank_zone("Europe/Berlin")).of_moment(moment).iso
        '2026-02-01T14:30'
        """
        aware = utc.astimezone(self.zone)
        local = aware.replace(tzinfo=None, fold=0)
        plain = self.at(local)
        if plain.iso:
            return plain
        return self.at_offset(local, aware.utcoffset() or dt.timedelta(), ())

    def _offset(self, day: dt.date) -> dt.timedelta | None:
        if day not in self._offsets:
            start = dt.datetime.combine(day, dt.time(0), self.zone)
            end = (start + dt.timedelta(days=1)).utcoffset()
            same = start.utcoffset() == start.replace(fold=1).utcoffset() == end
            self._offsets[day] = start.utcoffset() if same else None
        return self._offsets[day]


def _iso(local: dt.datetime) -> str:
    if local.microsecond:
        return local.isoformat()
    return local.isoformat(timespec="seconds" if local.second else "minutes")
