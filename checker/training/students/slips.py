"""Every kind of slip that can be made on purpose."""

from checker.training.students import slips_reducing, slips_walking_back, slips_writing
from checker.training.students.fault import MAKERS, Fault

MODULES = (slips_reducing, slips_walking_back, slips_writing)  # their makers are in MAKERS now
KINDS: tuple[str, ...] = (*MAKERS, "wrong-elements")

__all__ = ["KINDS", "MAKERS", "Fault"]
