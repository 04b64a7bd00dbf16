"""A bound that no plan of a building can beat: proven, from prices that the work at least costs.

The model and its proof are in README.md beside this file.
"""

from barnloom.routing.bound.bounding import Bound, lower_bound

__all__ = ["Bound", "lower_bound"]
