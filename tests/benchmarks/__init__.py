"""Figures that the pages may quote, each from one command."""
