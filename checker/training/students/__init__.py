"""Invented students: pages of circuit working, right or with one slip, and the truth about them."""

from checker.training.students.page import KINDS, REMARKS, StudentLine, StudentPage, page

__all__ = ["KINDS", "REMARKS", "StudentLine", "StudentPage", "page"]
