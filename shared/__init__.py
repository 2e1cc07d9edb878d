"""Calculations of the workshop: pure Python, no web framework, no database."""
