"""Statements against the reference: which follow, which is the first that does not, and why."""

from checker.matching.judge import judge
from checker.matching.judgement import JudgedStatement, Judgement, Slip

__all__ = ["JudgedStatement", "Judgement", "Slip", "judge"]
