"""Electrical rules as data and plain functions: conductors, boxes and their fill, loads, voltage drop."""
