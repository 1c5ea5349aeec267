"""What the posterior, the readings and the events of one jar allow: go or wait, and why.

Limits, reasons and cautions each stand here once.
"""
