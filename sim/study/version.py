"""The program's name and version, the only place where either is written."""

PROGRAM = "filterrun"
VERSION = "0.1.0"
