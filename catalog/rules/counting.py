"""Counts in words."""

from __future__ import annotations


def counted(number: int, what: str) -> str:
    """
    Return how many there are of a thing, whose plural is regular.

    >>> counted(1, "scan"), counted(0, "scan"), counted(12, "scan")
    ('1 scan', '0 scans', '12 scans')
    """
    return f"{number} {what}{'s' * (number != 1)}"
