"""Feed and demand series, made before a run."""

from sim.weather.forcing import Forcing, build_forcing

__all__ = ["Forcing", "build_forcing"]
