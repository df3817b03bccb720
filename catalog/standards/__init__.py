"""Published metadata standards: bytes to plain values and back, with no notion of a catalogue."""
