"""A day of which only the month is told."""

from datetime import date


class MonthOnly(date):
    """The first of a month, written as the month alone.

    >>> MonthOnly.of(date(2025, 3, 17)).isoformat()
    '2025-03'
    """

    @classmethod
    def of(cls, day: date) -> "MonthOnly":
        return cls(day.year, day.month, 1)

    def isoformat(self) -> str:
        return f"{self.year:04d}-{self.month:02d}"

    __str__ = isoformat
