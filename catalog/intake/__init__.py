"""Card indexes and scan folders become proposals; this room writes nothing."""
