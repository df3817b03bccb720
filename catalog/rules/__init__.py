"""What follows from the facts, as plain functions over plain values."""
