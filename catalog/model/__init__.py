"""The nouns of the archive as mapped classes."""
