"""Measurements that the figures in the documents come from; run as ``python -m``."""
