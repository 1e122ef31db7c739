"""Tapered roller bearings of pinion, carrier and hub: rotating torque, preload, end play."""
