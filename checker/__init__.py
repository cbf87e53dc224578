"""checker: points at the first step of a handwritten circuit reduction that does not follow."""

from checker.submission import Checked, Upload, check

__all__ = ["Checked", "Upload", "check"]
__version__ = "0.1.0"
