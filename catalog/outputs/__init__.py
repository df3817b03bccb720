"""Finished files to hand out."""
