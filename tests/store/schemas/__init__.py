"""A small file of each released schema, as the statements that make it."""
