"""Notices: a reach list frozen, what it stops, who is told, and what is still open."""
