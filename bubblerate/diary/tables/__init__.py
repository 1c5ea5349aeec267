"""Imports tables as people keep them: reads headings, dates and cells, and makes visits."""
