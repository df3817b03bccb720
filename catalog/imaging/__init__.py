"""Scans as pictures: the facts of their pixels."""
