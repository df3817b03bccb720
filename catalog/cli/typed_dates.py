"""Dates as a person types them, for commands that take nothing else of the desk."""

from catalog.actions.typed import typed_date as typed_date
