"""checker: points at the first step of a handwritten circuit reduction that does not follow."""

__version__ = "0.1.0"
