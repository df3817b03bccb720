"""The screens: a card index, one card at a time; opened by ``tiebeam browse``."""
