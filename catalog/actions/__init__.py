"""The deeds: one function, one daybook entry."""
