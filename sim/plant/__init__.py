"""The plant: the line of water, its filters as processes, and the ledger."""

from sim.plant.records import Cause, Event, Figure, FilterRun, LogEntry, RunResult
from sim.plant.simulate import Plant, simulate

__all__ = ["Cause", "Event", "Figure", "FilterRun", "LogEntry", "Plant", "RunResult", "simulate"]
