"""Axle definitions as data: what a build card holds, read from a text file, checked, and written back."""
