"""Composes the stages; reuses what is on disk while the inputs' hashes hold.

Nothing that is slow to import is imported before it is needed: a run that finds everything on disk loads no model.
"""
