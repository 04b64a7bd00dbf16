"""Drawings for paper: plans, elevations, members, wiring; each a function from a plan to a neutral drawing."""
