"""Sections, bending, torsion, angles, straightness and lengths of an axle's tubes and shafts.

Strength results are for an engineer to sign; nobody at a station edits them.
"""
