"""Lessons with exact truth, scores against it, and a baseline: ``python -m tests.evaluation.run``."""
