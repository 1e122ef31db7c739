"""Drawings of the axle and of its readings: pure functions from small frozen values to SVG text."""
