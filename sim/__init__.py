"""Simulation of filter runs: case files, feed and demand, the plant with its clock, studies of many runs."""
