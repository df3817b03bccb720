"""Tiebeam: the catalogue of one photographer's film archive."""
