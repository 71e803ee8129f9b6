"""A second formulation of the least number of hoopings, for comparison."""
