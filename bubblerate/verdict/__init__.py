"""The verdict: go or wait on racking or bottling one jar, and why.

Each limit, reason and caution is here once.
"""
