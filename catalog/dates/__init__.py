"""EDTF dates: grammar, value, bounds, plain words in and out."""
