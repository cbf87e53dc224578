from checker.problem.given import Problem, make_problem

__all__ = ["Problem", "make_problem"]
